"""DXF of everything the board is made of: closed outlines of the copper, holes, openings, pocket, profile."""

from coilgen.artwork.art import Art
from coilgen.artwork.copper_area import trace_outlines
from coilgen.exports.layout_files._board_shapes import BENDS, Disc, board_layers, board_shapes
from coilgen.exports.layout_files._dxf import (
    Sheet,
    add_circle,
    add_closed,
    add_lines,
    copper_name,
    net_told,
    nets_told,
    new_sheet,
    written,
)
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file: each trace a closed LWPOLYLINE with bulges, each pad, hole and opening a CIRCLE.

    Copper of several windings stands on a layer for each of their nets.
    """
    art = result.art
    layers = range(1, art.copper_layers + 1)
    copper = [copper_name(layer, art.copper_layers, net) for layer in layers for net in nets_told(result)]
    sheet = new_sheet([*copper, *board_layers(art)])
    for layer in layers:
        _add_copper(sheet, result, layer)
    _add_board(sheet, art)
    return {f"{result.design.name}.dxf": written(sheet, art)}


def _add_copper(sheet: Sheet, result: Result, layer: int) -> None:
    art = result.art

    def name(net: str) -> str:
        return copper_name(layer, art.copper_layers, net_told(result, net))

    for trace, outlines in zip(art.traces, trace_outlines(art), strict=True):
        for outline in outlines if trace.layer == layer else ():
            add_closed(sheet, outline, name(trace.net))
    for pad in art.pads_on(layer):
        if pad.span:
            add_closed(sheet, pad.path, name(pad.net))
        else:
            add_circle(sheet, pad.at, pad.diameter, name(pad.net))


def _add_board(sheet: Sheet, art: Art) -> None:
    for layer, shape in board_shapes(art):
        if isinstance(shape, Disc):
            add_circle(sheet, shape.at, shape.diameter, layer)
        else:
            add_closed(sheet, shape, layer)
    for bend in art.bends:
        add_lines(sheet, bend.path, BENDS)


EXPORT = Export(
    name="dxf_outlines",
    says="DXF: closed outlines of the copper of each layer, holes, mask openings, pocket, board profile",
    reader="layout",
    paths=("<name>.dxf",),
    files=files,
    drawn=True,
)
