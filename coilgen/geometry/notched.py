"""Closed paths with hollow corners: a polygon, or a circle, that a strip leaves southward with rounded roots.

Counter-clockwise.
"""

import cmath
import math
from collections.abc import Sequence
from itertools import pairwise

from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, cross, dot


def filleted(corners: Sequence[Point], radii: Sequence[float]) -> Path:
    """The polygon through counter-clockwise corners, each rounded by its radius, hollow ones too.

    ValueError when a side is too short.

    >>> hook = [0j, 4 + 0j, 4 + 4j, 3 + 4j, 3 + 1j, 0 + 1j]
    >>> path = filleted(hook, [0, 0, 0, 0, 0.5, 0])
    >>> round(path.swept_area - 7, 9) == round(0.25 * (1 - math.pi / 4), 9)
    True
    """
    cuts = [
        _cut(corners[k - 1], at, corners[(k + 1) % len(corners)], radius)
        for k, (at, radius) in enumerate(zip(corners, radii, strict=True))
    ]
    segments: list[Segment] = []
    for (_, _, leave), (after, arc, _), side in zip(
        cuts, [*cuts[1:], cuts[0]], pairwise([*corners, corners[0]]), strict=True
    ):
        entry = after if arc is None else arc.start
        way = side[1] - side[0]
        if dot(entry - leave, way) < -LARGEST_GAP * abs(way):
            raise ValueError(f"rounded corners do not fit a side of {abs(way)} m")
        if abs(entry - leave) > LARGEST_GAP:
            segments.append(Line(leave, entry))
        if arc is not None:
            segments.append(arc)
    return Path(tuple(segments))


def _cut(before: Point, at: Point, after: Point, radius: float) -> tuple[Point, Arc | None, Point]:
    """Where a corner begins, the arc that rounds it, where it ends."""
    if radius <= 0:
        return at, None, at
    incoming, outgoing = (at - before) / abs(at - before), (after - at) / abs(after - at)
    turning = math.atan2(cross(incoming, outgoing), dot(incoming, outgoing))
    hand = math.copysign(1.0, turning)
    entry = at - incoming * radius * math.tan(abs(turning) / 2)
    arc = Arc(
        entry + incoming * 1j * hand * radius, radius, cmath.phase(incoming) - hand * math.pi / 2, turning
    )
    return arc.start, arc, arc.end


def circle_with_strip(
    centre: Point, radius: float, strip: tuple[float, float], end: float, root: float, corner: float
) -> Path:
    """A circle that a strip between two x leaves southward to a y; its roots and outer corners rounded, m.

    >>> path = circle_with_strip(0j, 5.0, (-1.0, 1.0), -15.0, 0.5, 0.2)
    >>> path.closed, 97 < path.swept_area < 99.5
    (True, True)
    """
    west, east = strip
    first, last = _root(centre, radius, west - root, root), _root(centre, radius, east + root, root)
    out, back = centre + (first - centre) * radius / abs(first - centre), (last - centre)
    into = centre + back * radius / abs(back)
    left = complex(west, first.imag) if root else out
    right = complex(east, last.imag) if root else into
    tip = _tip(left, right, end, corner)
    turn = math.tau - (cmath.phase((into - centre) / (out - centre)) % math.tau)
    begin = cmath.phase(into - centre)
    rounds: list[Segment] = [
        Arc(centre, radius, begin, turn / 2),
        Arc(centre, radius, begin + turn / 2, turn / 2),
    ]
    if not root:
        return Path((*tip, *rounds))
    down = Arc(first, root, cmath.phase(out - first), _clockwise(out - first, 1 + 0j))
    up = Arc(last, root, math.pi, _clockwise(-1 + 0j, into - last))
    return Path((down, *tip, up, *rounds))


def _root(centre: Point, radius: float, x: float, root: float) -> Point:
    """Centre of the arc that touches the circle from outside, at an x; ValueError when it misses it."""
    aside, reach = x - centre.real, radius + root
    if abs(aside) >= reach:
        raise ValueError(f"a strip {abs(aside)} m aside misses a circle of radius {radius} m")
    return complex(x, centre.imag - math.sqrt(reach**2 - aside**2))


def _tip(left: Point, right: Point, end: float, corner: float) -> list[Segment]:
    """Down the west side, along the end, up the east side."""
    low_left, low_right = complex(left.real, end), complex(right.real, end)
    _, first, after_first = _cut(left, low_left, low_right, corner)
    _, second, after_second = _cut(low_left, low_right, right, corner)
    found: list[Segment] = [Line(left, low_left if first is None else first.start)]
    found += [] if first is None else [first]
    found.append(Line(after_first, low_right if second is None else second.start))
    found += [] if second is None else [second]
    return [*found, Line(after_second, right)]


def _clockwise(start: Point, end: Point) -> float:
    """Angle from a direction clockwise to another, rad, below zero."""
    return -((cmath.phase(start) - cmath.phase(end)) % math.tau)
