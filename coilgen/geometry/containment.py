"""Which points lie inside a closed path, exact on arcs."""

from collections.abc import Iterable, Sequence

import numpy as np

from coilgen.geometry.arc import Arc
from coilgen.geometry.distance import Mask, Points, Reals
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path


def contains(boundary: Path, points: Points) -> Mask:
    """Whether each point lies inside a closed path, whatever its direction; undefined on the path itself.

    By the winding number: the angle that the path sweeps as seen from the point, in whole turns.

    >>> circle = Path((Arc(0j, 2.0, 0.0, 6.283185307179586),))
    >>> contains(circle, np.array([1 + 1j, 2 + 2j])).tolist()
    [True, False]
    """
    lines = [segment for segment in boundary.segments if not isinstance(segment, Arc)]
    arcs = [segment for segment in boundary.segments if isinstance(segment, Arc)]
    step = max(1, _AT_ONCE // len(boundary.segments))
    portions = (points[k : k + step] for k in range(0, len(points), step))
    swept = [_swept_by_lines(lines, some) + _swept_by_arcs(arcs, some) for some in portions]
    inside: Mask = np.not_equal(np.rint(np.concatenate([np.zeros(0), *swept]) / (2 * np.pi)), 0)
    return inside


def _column(values: Iterable[complex]) -> Points:
    return np.array([*values], complex)[:, None]


_PARTS = 4
_AT_ONCE = 20_000
"""Segments seen from points, to keep the arrays in the cache."""


def _swept_by_lines(lines: Sequence[Line], points: Points) -> Reals:
    """Angle that lines sweep as seen from each point, rad."""
    starts, ends = _column(each.start for each in lines), _column(each.end for each in lines)
    swept: Reals = _between(starts, ends, points).sum(0)
    return swept


def _swept_by_arcs(arcs: Sequence[Arc], points: Points) -> Reals:
    """Angle that arcs sweep as seen from each point, rad; by quarters, each sweeping less than a turn."""
    if not arcs:
        return np.zeros(len(points))
    ends = np.array([[arc.at(part / _PARTS) for part in range(_PARTS + 1)] for arc in arcs])[..., None]
    shorter = _between(ends[:, :-1], ends[:, 1:], points)  # (arcs, quarters, points)
    inside = np.abs(points - _column(arc.centre for arc in arcs)) < _column(arc.radius for arc in arcs).real
    sense = np.sign(_column(arc.sweep for arc in arcs).real)[..., None]
    # Seen from inside its circle an arc turns one way only, by up to a whole turn.
    swept: Reals = np.where(inside[:, None], sense * np.mod(sense * shorter, 2 * np.pi), shorter).sum((0, 1))
    return swept


def _between(start: Points, end: Points, points: Points) -> Reals:
    """Angle from a start to an end as seen from each point, rad, in (-pi, pi]; broadcast together."""
    angles: Reals = np.angle((end - points) * np.conj(start - points))
    return angles
