"""The upright rectangle that just holds a path."""

import math
from collections.abc import Iterator

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point, direction


def extent(path: Path) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle around a path's centre line, m; exact on arcs.

    >>> extent(Path((Arc(1 + 0j, 2.0, 0.0, 3.0), )))[1]
    (3+2j)
    """
    points = [point for segment in path.segments for point in _outermost(segment)]
    across, up = [point.real for point in points], [point.imag for point in points]
    return complex(min(across), min(up)), complex(max(across), max(up))


def _outermost(segment: Segment) -> Iterator[Point]:
    """The ends, and the points of an arc where it runs parallel to an axis."""
    yield segment.start
    yield segment.end
    if isinstance(segment, Arc):
        first, last = sorted((segment.start_angle, segment.end_angle))
        quarter = math.pi / 2
        for number in range(math.ceil(first / quarter), math.floor(last / quarter) + 1):
            yield segment.centre + segment.radius * direction(number * quarter)
