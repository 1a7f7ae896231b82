"""Exact distances between lines, arcs and points, many pairs at once, with the closest points."""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point

Points: TypeAlias = NDArray[np.complex128]
Reals: TypeAlias = NDArray[np.float64]
Index: TypeAlias = NDArray[np.intp]
Mask: TypeAlias = NDArray[np.bool_]
ClosestPair: TypeAlias = tuple[Points, Points]

_CONCENTRIC = 1e-12  # centres nearer than this share of the radii count as one: far under a nanometre


@dataclass(frozen=True, eq=False)
class Pieces:
    """n pieces as arrays of n. A line has radius 0; a point is a line whose ends agree.

    start, end, centre: m. radius: m. sweep: rad, signed. middle: unit vector from an arc's centre to its
    middle.
    """

    start: Points
    end: Points
    centre: Points
    radius: Reals
    sweep: Reals
    middle: Points

    def __len__(self) -> int:
        return len(self.start)

    @property
    def curved(self) -> Mask:
        """Which pieces are arcs."""
        return self.radius > 0

    @property
    def length(self) -> Reals:
        """Lengths, m."""
        return np.where(self.curved, self.radius * np.abs(self.sweep), np.abs(self.end - self.start))

    @property
    def start_heading(self) -> Points:
        """Direction of travel at the start; 0 for a point."""
        return self._heading(self.start)

    @property
    def end_heading(self) -> Points:
        """Direction of travel at the end; 0 for a point."""
        return self._heading(self.end)

    def _heading(self, at: Points) -> Points:
        along: Points = np.where(
            self.curved, 1j * np.sign(self.sweep) * (at - self.centre), self.end - self.start
        )
        length = np.abs(along)
        return np.divide(along, np.where(length == 0, 1.0, length), dtype=np.complex128)

    def take(self, index: Index) -> "Pieces":
        """The pieces at an index, in its order; the same piece may be taken many times."""
        return Pieces(
            self.start[index],
            self.end[index],
            self.centre[index],
            self.radius[index],
            self.sweep[index],
            self.middle[index],
        )


@dataclass(frozen=True, eq=False)
class Distances:
    """n distances, m, and where they are taken: a point on each first and each second piece."""

    value: Reals
    on_first: Points
    on_second: Points


def pieces(shapes: Sequence[Segment | Point]) -> Pieces:
    """Lines, arcs and points as arrays."""
    curved = np.array([isinstance(shape, Arc) for shape in shapes], dtype=bool)
    arcs = [shape for shape in shapes if isinstance(shape, Arc)]
    ends = [
        (shape, shape) if isinstance(shape, complex) else (shape.start, shape.end)
        for shape in shapes
        if not isinstance(shape, Arc)
    ]
    centre, radius = np.zeros(len(shapes), complex), np.zeros(len(shapes))
    first, sweep = np.zeros(len(shapes)), np.zeros(len(shapes))
    centre[curved] = [arc.centre for arc in arcs]
    radius[curved] = [arc.radius for arc in arcs]
    first[curved] = [arc.start_angle for arc in arcs]
    sweep[curved] = [arc.sweep for arc in arcs]
    start = centre + radius * np.exp(1j * first)
    end = centre + radius * np.exp(1j * (first + sweep))
    straight = np.array(ends, dtype=complex).reshape(-1, 2)
    start[~curved], end[~curved] = straight[:, 0], straight[:, 1]
    return Pieces(start, end, centre, radius, sweep, np.exp(1j * (first + sweep / 2)))


def stacked(parts: Sequence[Pieces]) -> Pieces:
    """Several sets of pieces one after the other."""
    return Pieces(
        np.concatenate([part.start for part in parts]),
        np.concatenate([part.end for part in parts]),
        np.concatenate([part.centre for part in parts]),
        np.concatenate([part.radius for part in parts]),
        np.concatenate([part.sweep for part in parts]),
        np.concatenate([part.middle for part in parts]),
    )


def distance(a: Segment | Point, b: Segment | Point) -> float:
    """Smallest distance between two shapes, m; 0 where they cross.

    >>> distance(Arc(0j, 2.0, 0.0, 1.0), 5 + 0j)
    3.0
    """
    return float(distances(pieces([a]), pieces([b])).value[0])


def distances(a: Pieces, b: Pieces) -> Distances:
    """Smallest distance of each first piece from the second of the same place, m.

    Every candidate is a pair of points that lie on the pieces, so none is too small; the candidates hold
    every local minimum (ends, common normals, crossings), so the smallest is the distance.
    """
    on_a, on_b = np.empty(len(a), complex), np.empty(len(a), complex)
    for kind in range(4):
        index = np.flatnonzero(2 * a.curved + b.curved == kind)
        if len(index):
            on_a[index], on_b[index] = _CLOSEST[kind](a.take(index), b.take(index))
    return Distances(np.abs(on_a - on_b), on_a, on_b)


def nearest_on(shape: Pieces, points: Points) -> Points:
    """The point of each piece that is nearest to the point of the same place, m."""
    on_line = _nearest_on_lines(shape, points)
    return np.where(shape.curved, _nearest_on_arcs(shape, points), on_line) if shape.curved.any() else on_line


def _between_lines(a: Pieces, b: Pieces) -> ClosestPair:
    along_a, along_b = a.end - a.start, b.end - b.start
    turn = _cross(along_a, along_b)
    reached = _cross(b.start - a.start, along_b) / np.where(turn == 0, 1.0, turn)
    crossing = a.start + np.clip(reached, 0.0, 1.0) * along_a
    return _closest_of(*_from_ends(a, b), (crossing[None], _nearest_on_lines(b, crossing)[None]))


def _line_and_arc(line: Pieces, arc: Pieces) -> ClosestPair:
    along = line.end - line.start
    length = np.abs(along)
    unit = along / np.where(length == 0, 1.0, length)
    foot = line.start + _dot(arc.centre - line.start, unit) * unit
    half_chord = _root(arc.radius**2 - _square(foot - arc.centre))
    crossings = _nearest_on_lines(line, foot + np.array([[0.0], [1.0], [-1.0]]) * half_chord * unit)
    return _closest_of(*_from_ends(line, arc), (crossings, _nearest_on_arcs(arc, crossings)))


def _arc_and_line(arc: Pieces, line: Pieces) -> ClosestPair:
    on_line, on_arc = _line_and_arc(line, arc)
    return on_arc, on_line


def _between_arcs(a: Pieces, b: Pieces) -> ClosestPair:
    apart = np.abs(b.centre - a.centre)
    # Concentric arcs have no line of centres, and need none: where they face, an end of one faces the other.
    concentric = apart <= _CONCENTRIC * (a.radius + b.radius)
    safe = np.where(concentric, a.radius + b.radius, apart)
    unit = np.where(concentric, 1.0, (b.centre - a.centre) / safe)
    forward = (apart**2 + a.radius**2 - b.radius**2) / (2 * safe)
    aside = _root(a.radius**2 - forward**2)
    seeds = np.stack([a.radius, -a.radius, forward + 1j * aside, forward - 1j * aside])
    on_a = _nearest_on_arcs(a, a.centre + unit * seeds)
    return _closest_of(*_from_ends(a, b), (on_a, _nearest_on_arcs(b, on_a)))


_CLOSEST = (_between_lines, _line_and_arc, _arc_and_line, _between_arcs)


def _from_ends(a: Pieces, b: Pieces) -> tuple[ClosestPair, ClosestPair]:
    """Each piece's ends with the nearest points of the other, (2, n) each."""
    ends_a, ends_b = np.stack([a.start, a.end]), np.stack([b.start, b.end])
    return (ends_a, _nearest_of_kind(b, ends_a)), (_nearest_of_kind(a, ends_b), ends_b)


def _nearest_of_kind(shape: Pieces, points: Points) -> Points:
    return _nearest_on_arcs(shape, points) if shape.radius[0] > 0 else _nearest_on_lines(shape, points)


def _closest_of(*candidates: ClosestPair) -> ClosestPair:
    """Of candidates (k, n) on either piece the closest, (n,); of equal ones the first."""
    on_a, on_b = (np.concatenate(points) for points in zip(*candidates, strict=True))
    best = np.argmin(_square(on_a - on_b), axis=0)[None]
    return np.take_along_axis(on_a, best, 0)[0], np.take_along_axis(on_b, best, 0)[0]


def _nearest_on_lines(line: Pieces, points: Points) -> Points:
    """Of each line's points the nearest to its own point, or to each of several (k, n)."""
    along = line.end - line.start
    square = _square(along)
    fraction = _dot(points - line.start, along) / np.where(square == 0, 1.0, square)
    inside: Points = line.start + np.clip(fraction, 0.0, 1.0) * along
    return np.where(fraction >= 1, line.end, inside)


def _nearest_on_arcs(arc: Pieces, points: Points) -> Points:
    """As of lines."""
    spoke = points - arc.centre
    length = np.sqrt(_square(spoke))
    facing = (np.abs(np.angle(spoke * np.conj(arc.middle))) <= np.abs(arc.sweep) / 2) & (length > 0)
    projected = arc.centre + spoke * (arc.radius / np.where(length == 0, 1.0, length))
    nearer_end = _square(points - arc.end) < _square(points - arc.start)
    return np.where(facing, projected, np.where(nearer_end, arc.end, arc.start))


def _dot(a: Points, b: Points) -> Reals:
    return a.real * b.real + a.imag * b.imag


def _cross(a: Points, b: Points) -> Reals:
    return a.real * b.imag - a.imag * b.real


def _square(a: Points) -> Reals:
    return a.real**2 + a.imag**2


def _root(a: Reals) -> Reals:
    return np.sqrt(np.maximum(a, 0.0))
