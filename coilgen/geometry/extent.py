"""The upright rectangle that just holds a path."""

import math

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point

_QUARTER = math.pi / 2
_QUARTERS = (1 + 0j, 1j, -1 + 0j, -1j)


def extent(path: Path) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle around a path's centre line, m; exact on arcs.

    >>> extent(Path((Arc(1 + 0j, 2.0, 0.0, 3.0), )))[1]
    (3+2j)
    """
    points = [path.end]
    for segment in path.segments:  # each begins where the last ends
        points.append(segment.start)
        if isinstance(segment, Arc):
            points += _parallel(segment)
    across, up = [point.real for point in points], [point.imag for point in points]
    return complex(min(across), min(up)), complex(max(across), max(up))


def _parallel(arc: Arc) -> list[Point]:
    """Where an arc runs parallel to an axis."""
    first, last = arc.start_angle, arc.end_angle
    if first > last:
        first, last = last, first
    numbers = range(math.ceil(first / _QUARTER), math.floor(last / _QUARTER) + 1)
    return [arc.centre + arc.radius * _QUARTERS[number % 4] for number in numbers]
