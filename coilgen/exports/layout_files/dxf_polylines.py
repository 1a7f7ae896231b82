"""DXF for importers that ignore bulges or circles: straight segments only, one union of copper a layer."""

from typing import TYPE_CHECKING

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_area import CHORD_ERROR, copper_union, net_union, polygons
from coilgen.exports.layout_files._board_shapes import BENDS, Disc, board_layers, board_shapes
from coilgen.exports.layout_files._dxf import (
    Sheet,
    add_chords,
    add_lines,
    level,
    nets_told,
    new_sheet,
    written,
)
from coilgen.geometry.region import region
from coilgen.result.export import Export
from coilgen.result.result import Result

if TYPE_CHECKING:
    import shapely
    from shapely.geometry.base import BaseGeometry


def files(result: Result) -> dict[str, bytes]:
    """One file of closed LWPOLYLINEs without bulges; a loop inside another of its layer is a hole in it.

    No chord strays more than 5 um from its arc.
    """
    art = result.art
    layers = range(1, art.copper_layers + 1)
    copper = {
        layer_name(layer, art.copper_layers, net): _copper(result, layer, net)
        for layer in layers
        for net in nets_told(result)
    }
    sheet = new_sheet([*copper, *map(_hyphened, board_layers(art))])
    for name, union in copper.items():
        for piece in polygons(union):
            _add(sheet, piece, name)
    _add_board(sheet, art)
    return {f"{result.design.name}-polylines.dxf": written(sheet, art)}


def _copper(result: Result, layer: int, net: str) -> "BaseGeometry":
    """A net's copper on a layer, or all of it on a board of one winding."""
    return net_union(result.art, layer, net) if result.windings else copper_union(result.art, layer)


def layer_name(layer: int, layers: int, net: str = "") -> str:
    """Which copper layer, and whose, in 31 letters, figures and hyphens at most, which old importers take.

    >>> layer_name(2, 4), layer_name(1, 2, "sense")
    ('copper-2-inner', 'copper-1-top-sense')
    """
    return f"copper-{layer}-{level(layer, layers)}" + (f"-{net}" if net else "")


def _add_board(sheet: Sheet, art: Art) -> None:
    for layer, shape in board_shapes(art):
        path = shape.path if isinstance(shape, Disc) else shape
        _add(sheet, region(path, CHORD_ERROR), _hyphened(layer))
    for bend in art.bends:
        add_lines(sheet, bend.path, _hyphened(BENDS))


def _hyphened(layer: str) -> str:
    """A layer's name for importers that take no spaces."""
    return layer.replace(" ", "-")


def _add(sheet: Sheet, piece: "shapely.Polygon", layer: str) -> None:
    """The outer loop of a piece, then its holes."""
    for ring in (piece.exterior, *piece.interiors):
        add_chords(sheet, np.asarray(ring.coords)[:-1], layer)


EXPORT = Export(
    name="dxf_polylines",
    says="DXF of straight segments: one union of copper for each layer, holes as inner loops",
    reader="layout",
    paths=("<name>-polylines.dxf",),
    files=files,
    drawn=True,
)
