"""Closed convex paths about a centre at the origin: circles, regular polygons, rectangles.

Counter-clockwise.
"""

import math

from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, cross, direction


def circle(diameter: float) -> Path:
    """A circle as two half arcs.

    >>> round(circle(2.0).swept_area, 12)
    3.14159265359
    """
    return Path((Arc(0j, diameter / 2, 0.0, math.pi), Arc(0j, diameter / 2, math.pi, math.pi)))


def regular_polygon(sides: int, across_flats: float, corner_radius: float = 0.0) -> Path:
    """A polygon with one flat facing south, its corners rounded.

    >>> round(regular_polygon(4, 2.0).swept_area, 12)
    4.0
    """
    circumradius = across_flats / 2 / math.cos(math.pi / sides)
    first = -math.pi / 2 - math.pi / sides
    corners = [circumradius * direction(first + math.tau * k / sides) for k in range(sides)]
    return rounded(corners, corner_radius)


def rectangle(width: float, height: float, corner_radius: float = 0.0) -> Path:
    """A rectangle with rounded corners.

    >>> rectangle(3.0, 2.0).length
    10.0
    """
    x, y = width / 2, height / 2
    return rounded([complex(-x, -y), complex(x, -y), complex(x, y), complex(-x, y)], corner_radius)


def rounded(corners: list[Point], radius: float) -> Path:
    """The convex polygon through counter-clockwise corners, each rounded.

    ValueError when a side is too short.
    """
    segments: list[Segment] = []
    n = len(corners)
    cuts = [_corner(corners[k - 1], corners[k], corners[(k + 1) % n], radius) for k in range(n)]
    for k in range(n):
        entry, arc = cuts[k]
        leave = cuts[k - 1][1].end if radius > 0 else corners[k - 1]
        side = corners[k] - corners[k - 1]
        if ((entry - leave) * side.conjugate()).real < -LARGEST_GAP * abs(side):
            raise ValueError(f"corners of radius {radius} m do not fit sides of {abs(side)} m")
        if abs(entry - leave) > LARGEST_GAP:
            segments.append(Line(leave, entry))
        if radius > 0:
            segments.append(arc)
    return Path(tuple(segments))


def capsule(start: Point, end: Point, width: float) -> Path:
    """A straight strip with half-round ends, centred at two points.

    >>> round(capsule(0j, 2 + 0j, 1.0).swept_area, 9) == round(2 + math.pi / 4, 9)
    True
    """
    way, half = (end - start) / abs(end - start), width / 2
    aside = way * 1j * half
    turned = math.atan2(way.imag, way.real)
    return Path(
        (
            Line(start - aside, end - aside),
            Arc(end, half, turned - math.pi / 2, math.pi),
            Line(end + aside, start + aside),
            Arc(start, half, turned + math.pi / 2, math.pi),
        )
    )


def holds(path: Path, point: Point) -> bool:
    """Whether a counter-clockwise path has a point inside or on it; it is convex but for hollow arcs.

    >>> [holds(rectangle(4.0, 4.0, corner_radius=1.0), at) for at in (1.9 + 0j, 1.8 + 1.8j)]
    [True, False]
    """
    return all(_on_left(segment, point) for segment in path.segments)


def _on_left(segment: Segment, point: Point) -> bool:
    """Whether a point is on a line's left, or not beyond an arc as seen from the arc's centre."""
    if isinstance(segment, Line):
        return cross(segment.end - segment.start, point - segment.start) >= 0
    if segment.sweep < 0:
        return abs(point - segment.centre) >= segment.radius
    return not segment.faces(point) or abs(point - segment.centre) <= segment.radius


def _corner(before: Point, at: Point, after: Point, radius: float) -> tuple[Point, Arc]:
    """Where the side before a corner ends and the arc that rounds it."""
    incoming = (at - before) / abs(at - before)
    outgoing = (after - at) / abs(after - at)
    turning = math.atan2(cross(incoming, outgoing), (incoming * outgoing.conjugate()).real)
    entry = at - incoming * radius * math.tan(turning / 2)
    start_angle = math.atan2(incoming.imag, incoming.real) - math.pi / 2
    return entry, Arc(entry + incoming * 1j * radius, radius, start_angle, turning)
