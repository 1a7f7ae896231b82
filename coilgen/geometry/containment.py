"""Which points lie inside a closed path, exact on arcs."""

from itertools import pairwise

import numpy as np

from coilgen.geometry.arc import Arc
from coilgen.geometry.distance import Mask, Points, Reals
from coilgen.geometry.path import Path
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
        swept += (
            _swept_by_arc(segment, points)
            if isinstance(segment, Arc)
            else _between(segment.start, segment.end, points)
        )
    inside: Mask = np.not_equal(np.rint(swept / (2 * np.pi)), 0)
    return inside


_PARTS = 4


def _swept_by_arc(arc: Arc, points: Points) -> Reals:
    """Angle an arc sweeps as seen from each point, rad; by quarters, each sweeping less than a turn."""
    inside = np.abs(points - arc.centre) < arc.radius
    sense = np.sign(arc.sweep)
    swept = np.zeros(len(points))
    for start, end in pairwise(arc.at(part / _PARTS) for part in range(_PARTS + 1)):
        shorter = _between(start, end, points)
        # Seen from inside its circle an arc turns one way only, by up to a whole turn.
        swept += np.where(inside, sense * np.mod(sense * shorter, 2 * np.pi), shorter)
    return swept


def _between(start: Point, end: Point, points: Points) -> Reals:
    """Angle from a start to an end as seen from each point, rad, in (-pi, pi]."""
    angles: Reals = np.angle((end - points) * np.conj(start - points))
    return angles
