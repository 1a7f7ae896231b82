"""DXF of everything the board is made of: closed outlines of the copper, holes, openings, pocket, profile."""

from coilgen.artwork.art import Art
from coilgen.artwork.copper_area import trace_outlines
from coilgen.exports.layout_files._dxf import (
    Sheet,
    add_circle,
    add_closed,
    add_lines,
    copper_name,
    flex_layers,
    net_told,
    nets_told,
    new_sheet,
    written,
)
from coilgen.result.export import Export
from coilgen.result.result import Result

HOLES = {True: "holes plated", False: "holes unplated"}
OPENINGS = {"top": "mask openings top", "bottom": "mask openings bottom"}
POCKET = "core pocket"
PROFILE = "board profile"
STIFFENERS = {"top": "stiffener top", "bottom": "stiffener bottom"}
BENDS = "bends"


def files(result: Result) -> dict[str, bytes]:
    """One file: each trace a closed LWPOLYLINE with bulges, each pad, hole and opening a CIRCLE.

    Copper of several windings stands on a layer for each of their nets.
    """
    art = result.art
    layers = range(1, art.copper_layers + 1)
    copper = [copper_name(layer, art.copper_layers, net) for layer in layers for net in nets_told(result)]
    sheet = new_sheet(
        [*copper, *HOLES.values(), *OPENINGS.values(), POCKET, PROFILE, *flex_layers(art, STIFFENERS, BENDS)]
    )
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
    for hole in art.holes:
        add_circle(sheet, hole.at, hole.diameter, HOLES[hole.plated])
    for opening in art.openings:
        if opening.window is not None:
            add_closed(sheet, opening.window, OPENINGS[opening.side])
        else:
            add_circle(sheet, opening.at, opening.diameter, OPENINGS[opening.side])
    for pocket in art.pockets:
        add_closed(sheet, pocket, POCKET)
    if art.outline is not None:
        add_closed(sheet, art.outline, PROFILE)
    for stiff in art.stiffeners:
        add_closed(sheet, stiff.path, STIFFENERS[stiff.side])
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
