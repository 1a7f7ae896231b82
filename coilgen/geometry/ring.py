"""Rings between two closed curves: how far they lie over one another, and over an edge; discs over it."""

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.geometry.region import region

if TYPE_CHECKING:
    import shapely

_CHORDS = 1e-5
"""m, largest distance between a curve and the polygon in its place: as much of an overlap counts as none."""


@dataclass(frozen=True)
class Ring:
    """What lies between an outer and an inner closed curve."""

    outer: Path
    inner: Path

    def moved(self, isometry: Isometry) -> "Ring":
        """The image of the ring."""
        return Ring(self.outer.moved(isometry), self.inner.moved(isometry))

    @cached_property
    def area(self) -> "shapely.Geometry":
        """As a polygon of chords."""
        return region(self.outer, _CHORDS) - region(self.inner, _CHORDS)


def overlap(one: Ring, other: Ring) -> float:
    """Area, m², that two rings have in common; 0 where they overlap by less than their chords tell."""
    common = one.area & other.area
    return 0.0 if common.buffer(-_CHORDS).is_empty else float(common.area)


def way_apart(one: Ring, other: Ring, towards: Point) -> float:
    """How far to move the other ring in a direction until it lies wholly beyond the first, m.

    Enough in any case; exact where both are round and the direction is that of their centres.
    """
    along = towards / abs(towards)
    return max(0.0, _reach(one, along) + _reach(other, -along))


def _reach(ring: Ring, along: Point) -> float:
    """Farthest that a ring lies in a direction from the origin, m."""
    import shapely

    points = shapely.get_coordinates(ring.area)
    return float((points @ np.array([along.real, along.imag])).max())


def over(ring: Ring, edge: Path) -> float:
    """How far a ring reaches over a closed edge at most, m; 0 where it lies within."""
    import shapely

    board = region(edge, _CHORDS)
    outside = shapely.get_coordinates(ring.area - board.buffer(_CHORDS))
    if not len(outside):
        return 0.0
    return float(shapely.distance(shapely.points(outside), board).max())


def disc_over(at: Point, radius: float, edge: Path) -> float:
    """How far a disc reaches over a closed edge, m; 0 where it lies within.

    >>> from coilgen.geometry.closed import rectangle
    >>> [round(disc_over(x + 0j, 1.0, rectangle(10.0, 6.0, 0.0)), 9) for x in (3.0, 4.5, 7.0)]
    [0.0, 0.5, 3.0]
    """
    import shapely

    board, centre = region(edge, _CHORDS), shapely.Point(at.real, at.imag)
    away = float(shapely.distance(board.exterior, centre))
    return max(0.0, radius - away) if board.covers(centre) else radius + away


def apart(one: Ring, other: Ring) -> float:
    """Distance between what two rings hold with all inside them, m; 0 where they overlap. To the chords."""
    import shapely

    return float(shapely.distance(region(one.outer, _CHORDS), region(other.outer, _CHORDS)))
