"""The winding and its board seen from the top, and how far each warms."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.artwork.art import copper_extent
from coilgen.frozen import dataclass
from coilgen.geometry.closed import rectangle
from coilgen.geometry.containment import contains
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.layout.coil import Trace
from coilgen.layout.seen import copper_edges
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.outline import Outline

_LOSS = 40.0
"""W/(m² K), convection and radiation of both faces of a small hot board, for its fin length alone."""


@dataclass(frozen=True, kw_only=True)
class Ring:
    """The winding seen from the top: areas that its inner and outer edge enclose m², their lengths m, and
    the height on the board m."""

    inner: float
    outer: float
    inner_edge: float
    outer_edge: float
    height: float

    @property
    def area(self) -> float:
        """Of the ring, m²."""
        return self.outer - self.inner


def outline_is_winding(case: Case) -> bool:
    """Whether no board is told, or one too small for its winding, so that the winding's edge is taken."""
    path = _edge(case)
    return path is None or path.swept_area < winding_ring(case).outer


def _edge(case: Case) -> Path | None:
    """Of the board, of one with a tail the winding's part alone."""
    return case.coil.tail.head if case.coil.tail else case.art.outline


def winding_ring(case: Case) -> Ring:
    """The winding's edges."""
    return case.once("heat ring", lambda: _ring(case))


def _ring(case: Case) -> Ring:
    outer, inner = copper_edges(case.design)
    low, high = extent(outer)
    return Ring(
        inner=inner.swept_area,
        outer=outer.swept_area,
        inner_edge=inner.length,
        outer_edge=outer.length,
        height=(high - low).imag,
    )


def whole_outline(case: Case) -> "Outline":
    """Of the board, round the winding alone where none is told; of a board with a tail, without it."""
    from coilgen.physics.heat.outline import Outline

    if case.windings:
        edge = edge_of_several(case)
        low, high = extent(edge)
        return Outline(area=edge.swept_area, perimeter=edge.length, height=(high - low).imag)
    ring, path = winding_ring(case), _edge(case)
    if path is None or outline_is_winding(case):
        return Outline(area=ring.outer, perimeter=ring.outer_edge, height=ring.height)
    low, high = extent(path)
    return Outline(area=path.swept_area, perimeter=path.length, height=(high - low).imag)


def edge_of_several(case: Case) -> Path:
    """The edge of a board of several windings; a rectangle round the copper where that is not all inside."""
    ends = np.array([end for trace in case.art.traces for end in _corners(trace)])
    if case.art.outline is not None and contains(case.art.outline, ends).all():
        return case.art.outline
    low, high = copper_extent(case.art)
    size = high - low
    return rectangle(size.real, size.imag, 0.0).moved(Isometry(shift=(low + high) / 2))


def _corners(trace: Trace) -> tuple[complex, ...]:
    """Of the rectangle that holds a trace."""
    low, high = extent(trace.path)
    half = complex(trace.width, trace.width) / 2
    low, high = low - half, high + half
    return low, high, complex(low.real, high.imag), complex(high.real, low.imag)


def warm(outline: "Outline", radius: float) -> "Outline":
    """A body cut down to one of its own shape with the area of a circle of a radius, m."""
    if radius >= outline.radius:
        return outline
    size = radius / outline.radius
    return replace(
        outline,
        area=outline.area * size**2,
        perimeter=outline.perimeter * size,
        height=outline.height * size,
    )


def fin_length(sheet: float) -> float:
    """Over which a sheet's warmth fades by a factor e, m; conductivity times thickness in W/K."""
    return math.sqrt(sheet / _LOSS)


def reach(ring: Ring, fin: float) -> float:
    """Radius of the circle whose area is the winding's and that of a strip of a fin length along its edge, m.

    Longer edges lead more away, as a better conductor would through those of circles: its fin is longer.
    """
    return math.sqrt(ring.outer / math.pi) + fin * lengthening(ring.outer, ring.outer_edge)


def lengthening(area: float, edge: float) -> float:
    """Of an edge over the circle of its area."""
    return max(1.0, edge / (2 * math.sqrt(math.pi * area)))
