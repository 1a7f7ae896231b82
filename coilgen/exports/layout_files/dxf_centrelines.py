"""DXF of the traces as centre lines, one layer for each copper layer and width."""

import math

from ezdxf.layouts.layout import Modelspace

from coilgen.exports.layout_files._dxf import copper_name, millimetres, net_told, new_document, written, xy
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.layout.coil import Trace
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file of LINE and ARC, in current order on each layer; the layer's name tells the width."""
    layers = result.art.copper_layers
    traces = sorted(result.art.traces, key=lambda trace: trace.layer)
    names = [layer_name(trace, layers, net_told(result, trace.net)) for trace in traces]
    document = new_document(dict.fromkeys(names))
    space = document.modelspace()
    for trace, name in zip(traces, names, strict=True):
        for segment in trace.path.segments:
            _add(space, segment, name)
    return {f"{result.design.name}-centrelines.dxf": written(document, result.art)}


def layer_name(trace: Trace, layers: int, net: str = "") -> str:
    """Which copper layer, of several windings whose, and how wide a trace follows the line."""
    return f"{copper_name(trace.layer, layers, net)} - width {millimetres(trace.width):.6g} mm"


def _add(space: Modelspace, segment: Segment, name: str) -> None:
    """An ARC of DXF runs counter-clockwise from its start angle to its end angle, in degrees."""
    on_layer = {"layer": name}
    if isinstance(segment, Line):
        space.add_line(xy(segment.start), xy(segment.end), dxfattribs=on_layer)
        return
    first, last = sorted((segment.start_angle, segment.end_angle))
    space.add_arc(
        xy(segment.centre),
        millimetres(segment.radius),
        _degrees(first),
        _degrees(last),
        dxfattribs=on_layer,
    )


def _degrees(angle: float) -> float:
    return round(math.degrees(angle) % 360.0, 12)


EXPORT = Export(
    name="dxf_centrelines",
    says="DXF: the traces as centre lines, one layer for each copper layer and trace width",
    reader="layout",
    paths=("<name>-centrelines.dxf",),
    files=files,
)
