"""Which points lie inside a closed path, exact on arcs."""

from itertools import pairwise

import numpy as np

from coilgen.geometry.arc import Arc
from coilgen.geometry.distance import Mask, Points, Reals
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point


def contains(boundary: Path, points: Points) -> Mask:
    """Whether each point lies inside a closed path, whatever its direction; undefined on the path itself.

    By the winding number: the angle that the path sweeps as seen from the point, in whole turns.

    >>> circle = Path((Arc(0j, 2.0, 0.0, 6.283185307179586),))
    >>> contains(circle, np.array([1 + 1j, 2 + 2j])).tolist()
    [True, False]
    """
    swept = np.zeros(len(points))
    for segment in boundary.segments:
        for start, end in _chords(segment):
            swept += np.angle((end - points) * np.conj(start - points))
        if isinstance(segment, Arc):
            swept += _beyond_chords(segment, points)
    inside: Mask = np.not_equal(np.rint(swept / (2 * np.pi)), 0)
    return inside


_PARTS = 4


def _chords(segment: Segment) -> list[tuple[Point, Point]]:
    """The segment as one chord, an arc as four, each over at most a quarter turn of it."""
    if not isinstance(segment, Arc):
        return [(segment.start, segment.end)]
    ends = [segment.at(part / _PARTS) for part in range(_PARTS + 1)]
    return list(pairwise(ends))


def _beyond_chords(arc: Arc, points: Points) -> Reals:
    """By how much, rad, an arc sweeps more than its chords: a turn for points between it and one of them."""
    inside = np.abs(points - arc.centre) < arc.radius
    left = np.sign(arc.sweep)
    turns = np.zeros(len(points))
    for start, end in _chords(arc):
        across = ((points - start) * np.conj(end - start)).imag
        turns += np.where(inside & (across * left < 0), 2 * np.pi * left, 0.0)
    return turns
