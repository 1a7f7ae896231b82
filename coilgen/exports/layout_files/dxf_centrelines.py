"""DXF of the traces as centre lines, one layer for each copper layer and width."""

from coilgen.exports.layout_files._dxf import (
    add_arc,
    add_line,
    copper_name,
    millimetres,
    net_told,
    new_sheet,
    written,
)
from coilgen.geometry.line import Line
from coilgen.layout.coil import Trace
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file of LINE and ARC, in current order on each layer; the layer's name tells the width."""
    layers = result.art.copper_layers
    traces = sorted(result.art.traces, key=lambda trace: trace.layer)
    names = [layer_name(trace, layers, net_told(result, trace.net)) for trace in traces]
    sheet = new_sheet(dict.fromkeys(names))
    for trace, name in zip(traces, names, strict=True):
        for segment in trace.path.segments:
            if isinstance(segment, Line):
                add_line(sheet, segment.start, segment.end, name)
            else:
                add_arc(sheet, segment, name)
    return {f"{result.design.name}-centrelines.dxf": written(sheet, result.art)}


def layer_name(trace: Trace, layers: int, net: str = "") -> str:
    """Which copper layer, of several windings whose, and how wide a trace follows the line."""
    return f"{copper_name(trace.layer, layers, net)} - width {millimetres(trace.width):.6g} mm"


EXPORT = Export(
    name="dxf_centrelines",
    says="DXF: the traces as centre lines, one layer for each copper layer and trace width",
    reader="layout",
    paths=("<name>-centrelines.dxf",),
    files=files,
    drawn=True,
)
