"""The copper of a layer as areas: one union of traces and pads, whose size shows a wrong import."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from coilgen.artwork.art import Art, Pad
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.artwork.last_asked import for_last
from coilgen.geometry.offset import outlines
from coilgen.geometry.path import Path
from coilgen.geometry.region import region
from coilgen.layout.coil import Trace

if TYPE_CHECKING:
    import shapely
    from shapely.geometry.base import BaseGeometry

CHORD_ERROR = 5e-6
"""Largest distance of a chord from its arc, m: a trace keeps its area to 1e-3, pads exactly."""
_TRACES = 32
"""Whose outlines are remembered: of boards of few traces that are tried one after another most stay."""
_TOUCHING = 1e-12
"""m: pieces of copper nearer than this overlap."""


def copper_areas(art: Art) -> tuple[float, ...]:
    """Area of each copper layer from the top, m2: traces and pads as one, holes not taken out."""
    return tuple(_area(art, layer) for layer in range(1, art.copper_layers + 1))


def _area(art: Art, layer: int) -> float:
    """Of `copper_union`, m2: what pads share with traces is found near each, not by one union of all."""
    import shapely

    strokes = np.array(_strokes(art, layer), dtype=object)
    pads = shapely.union_all(_discs(art, layer))
    one, other = shapely.STRtree(strokes).query(strokes, predicate="intersects")
    traces = shapely.union_all(strokes) if (one != other).any() else shapely.multipolygons(strokes)
    shared = sum(_near(traces, pad).intersection(pad).area for pad in shapely.get_parts(pads))
    return float(traces.area + pads.area - shared)


def _near(traces: BaseGeometry, pad: BaseGeometry) -> BaseGeometry:
    """The traces within a rectangle about a pad; edges that cutting leaves twice are mended."""
    import shapely

    cut = shapely.clip_by_rect(traces, *pad.buffer(CHORD_ERROR).bounds)
    return cut if cut.is_valid else shapely.make_valid(cut)


@lru_cache(maxsize=16)  # of each layer of a board
def copper_union(art: Art, layer: int) -> BaseGeometry:
    """All copper of a layer as polygons without overlap, in chords; holes are left to the drill.

    Net by net: nets that keep apart, as of coils side by side, need no union with one another.
    """
    import shapely

    named = [*(trace.net for trace in art.traces_on(layer)), *(pad.net for pad in art.pads_on(layer))]
    nets = [net_union(art, layer, net) for net in dict.fromkeys(named)]
    one, other = shapely.STRtree(nets).query(nets, predicate="intersects")
    if (one != other).any():
        return shapely.union_all(nets)
    return shapely.multipolygons([part for net in nets for part in shapely.get_parts(net)])


def net_union(art: Art, layer: int, net: str) -> BaseGeometry:
    """A net's copper on a layer, as `copper_union`: long traces meet the pads once, as one."""
    import shapely

    traces, pads = _strokes(art, layer, net), _discs(art, layer, net)
    return shapely.union(shapely.union_all(traces), shapely.union_all(pads))


def facing_area(art: Art, upper: int, above: str, below: str, margin: float) -> float:
    """Area over which a net's copper on a layer faces another's on the next, both grown by a margin, m²."""
    one, other = _grown(art, upper, above, margin), _grown(art, upper + 1, below, margin)
    return float(one.intersection(other).area)


@lru_cache(maxsize=64)  # of each net with every other
def _grown(art: Art, layer: int, net: str, margin: float) -> BaseGeometry:
    return net_union(art, layer, net).buffer(margin)


def _strokes(art: Art, layer: int, net: str | None = None) -> list[shapely.Polygon]:
    """The traces of a layer, of all nets or one."""
    stroked = zip(art.traces, _stroked(art), strict=True)
    chosen = (areas for trace, areas in stroked if trace.layer == layer and net in (None, trace.net))
    return [area for areas in chosen for area in areas]


@for_last
def _stroked(art: Art) -> list[list[shapely.Polygon]]:
    areas = [list(_regions(trace.path, trace.width)) for trace in art.traces]
    if len(unjoined_gaps(copper(art), _TOUCHING)):  # a short that a rule finds, perhaps with itself
        return [_plain(trace, own) for trace, own in zip(art.traces, areas, strict=True)]
    return areas


def _plain(trace: Trace, areas: list[shapely.Polygon]) -> list[shapely.Polygon]:
    """The areas of a trace, piece by piece where one overlaps itself, which no union takes."""
    if all(area.is_valid for area in areas):
        return areas
    pieces = (outlines(Path((piece,)), trace.width) for piece in trace.path.segments)
    return [region(outline, CHORD_ERROR) for told in pieces for outline in told]


@for_last
def trace_outlines(art: Art) -> list[tuple[Path, ...]]:
    """Of each trace the closed outlines of its copper, in the board's order; figures and files share them."""
    return [_outlined(trace.path, trace.width) for trace in art.traces]


@lru_cache(maxsize=_TRACES)
def _outlined(path: Path, width: float) -> tuple[Path, ...]:
    return outlines(path, width)


@lru_cache(maxsize=_TRACES)
def _regions(path: Path, width: float) -> tuple[shapely.Polygon, ...]:
    return tuple(region(outline, CHORD_ERROR) for outline in _outlined(path, width))


def _discs(art: Art, layer: int, net: str | None = None) -> list[shapely.Polygon]:
    """The pads of a layer, of all nets or one."""
    return [_disc(pad) for pad in art.pads_on(layer) if net in (None, pad.net)]


def _disc(pad: Pad) -> shapely.Polygon:
    """In chords that cross the edge by a part of their error, so that the area is the pad's own."""
    import shapely

    inside = region(pad.path, CHORD_ERROR)
    middle, growth = np.array([pad.at.real, pad.at.imag]), math.sqrt(pad.area / inside.area)
    return shapely.transform(inside, lambda corners: middle + growth * (corners - middle))


def polygons(union: BaseGeometry) -> tuple[shapely.Polygon, ...]:
    """The pieces of copper, the largest first; none of an empty layer."""
    import shapely

    pieces = [piece for piece in shapely.get_parts(union) if piece.area > 0]
    return tuple(sorted(pieces, key=lambda piece: (-piece.area, piece.bounds)))
