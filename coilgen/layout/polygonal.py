"""Spirals of straight sides: what all regular polygons share.

Every side of a turn has the same apothem and the next turn's is one pitch less, so the copper lengths the
same across every pair of flats, parallel sides of successive turns are exactly one pitch apart, and a
winding of N turns lengths N widths and N - 1 spacings from its outer to its inner edge. The step is taken
at the corner before the side on which the spiral starts.
"""

import math
from functools import partial
from itertools import pairwise

from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, direction, dot
from coilgen.layout.shape import Anchor, Corner, Shape


def polygonal(name: str, sides: int) -> Shape:
    """The shape of a regular polygon with one side facing south."""
    return Shape(
        name=name,
        says=f"spiral of {sides} straight sides a turn",
        sides=sides,
        first_apothem=_first_apothem,
        apothem=partial(_apothem, sides),
        centre_offset=_no_offset,
        spiral=partial(_spiral, sides),
        place=partial(_place, sides),
        reach=partial(_reach, sides),
        largest_corner=partial(_largest_corner, sides),
        turns=partial(_turns, sides),
        loop=partial(_loop, sides),
    )


def heading(sides: int, side: int) -> Point:
    """Direction of counter-clockwise travel along a side; quarter turns come out exact."""
    quarters, rest = divmod(4 * (side % sides), sides)
    exact = (1 + 0j, 1j, -1 + 0j, -1j)[quarters]
    return exact * direction(math.tau * rest / (4 * sides)) if rest else exact


def _first_apothem(outer_size: float, width: float, pitch: float) -> float:
    return (outer_size - width) / 2


def _apothem(sides: int, first: float, pitch: float, steps: int) -> float:
    return first - pitch * (steps // sides)


def _no_offset(pitch: float) -> float:
    return 0.0


def _spiral(sides: int, first: float, pitch: float, start: Anchor, end: Anchor, corner: Corner) -> Path:
    foot, *vertices, last = _stops(sides, first, pitch, start, end)
    return Path(_through(foot, vertices, last, corner))


def _stops(sides: int, first: float, pitch: float, start: Anchor, end: Anchor) -> list[Point]:
    """Foot, vertices and foot of a spiral, in the sense of travel."""
    steps = end.side - start.side
    apothems = [_apothem(sides, first, pitch, step) for step in range(steps + 1)]
    vertices = [
        _vertex(sides, start.side + step, apothems[step], apothems[step + 1]) for step in range(steps)
    ]
    return [_foot(sides, start, apothems[0]), *vertices, _foot(sides, end, apothems[-1])]


def _largest_corner(sides: int, first: float, pitch: float, start: Anchor, end: Anchor, kind: str) -> float:
    stops = _stops(sides, first, pitch, start, end)
    lengths = [
        dot(beyond - at, heading(sides, start.side + side))
        for side, (at, beyond) in enumerate(pairwise(stops))
    ]
    # The first and the last side have one corner, those between have two.
    room = min([lengths[0], lengths[-1], *(length / 2 for length in lengths[1:-1])])
    taken = corner_cut(Corner(kind, 1.0), math.tau / sides)
    return room / taken if taken else math.copysign(math.inf, room)


def _loop(sides: int, apothem: float, start: Anchor, end: Anchor) -> tuple[Segment, ...]:
    if (end.side, _along(sides, end)) < (start.side, _along(sides, start)):
        return tuple(piece.reversed() for piece in reversed(_loop(sides, apothem, end, start)))
    vertices = [_vertex(sides, side, apothem, apothem) for side in range(start.side, end.side)]
    first, last = _foot(sides, start, apothem), _foot(sides, end, apothem)
    return () if abs(last - first) <= LARGEST_GAP else _through(first, vertices, last, Corner("sharp", 0.0))


def _along(sides: int, anchor: Anchor) -> float:
    return dot(anchor.at, heading(sides, anchor.side))


def _foot(sides: int, anchor: Anchor, apothem: float) -> Point:
    return _place(sides, anchor.side, _along(sides, anchor), apothem)


def _place(sides: int, side: int, along: float, apothem: float) -> Point:
    return heading(sides, side) * complex(along, -apothem)


def _vertex(sides: int, side: int, apothem: float, next_apothem: float) -> Point:
    """Where a side meets the next one."""
    angle = math.tau / sides
    along = (next_apothem - apothem * math.cos(angle)) / math.sin(angle)
    return _place(sides, side, along, apothem)


def _reach(sides: int, apothem: float, corner: Corner, inward: float) -> float:
    half_side, turning = apothem * math.tan(math.pi / sides), math.tau / sides
    straight = half_side - corner_cut(corner, turning)
    if corner.kind == "chamfered":
        straight -= inward * math.tan(turning / 4)
    return min(straight, half_side - inward * math.tan(turning / 2))


def _turns(sides: int, side: int, along: float, apothem: float) -> float:
    return side / sides + math.atan2(along, apothem) / math.tau


def corner_cut(corner: Corner, turning: float) -> float:
    """How much of each side a corner takes, m, where the path turns by `turning` rad."""
    if corner.kind == "rounded":
        return corner.size * math.tan(turning / 2)
    return corner.size if corner.kind == "chamfered" else 0.0


def _through(start: Point, vertices: list[Point], end: Point, corner: Corner) -> tuple[Segment, ...]:
    """Lines from start to end through vertices, each made as `corner` says."""
    segments: list[Segment] = []
    at = start
    for vertex, beyond in zip(vertices, [*vertices, end][1:], strict=True):
        before, after = _unit(vertex - at), _unit(beyond - vertex)
        cut = corner_cut(corner, math.acos(max(-1.0, min(1.0, dot(before, after)))))
        segments.append(_line(at, vertex - before * cut, before))
        at = vertex + after * cut
        segments.extend(_corner_piece(corner, segments[-1].end, at, before))
    segments.append(_line(at, end, _unit(end - at)))
    return tuple(segments)


def _corner_piece(corner: Corner, start: Point, end: Point, before: Point) -> tuple[Segment, ...]:
    if corner.kind == "chamfered":
        return (Line(start, end),)
    if corner.kind == "rounded":
        centre = start + before * 1j * corner.size
        start_angle = math.atan2((start - centre).imag, (start - centre).real)
        end_angle = math.atan2((end - centre).imag, (end - centre).real)
        return (Arc(centre, corner.size, start_angle, (end_angle - start_angle) % math.tau),)
    return ()


def _line(start: Point, end: Point, along: Point) -> Line:
    if dot(end - start, along) <= 0:
        raise ValueError(f"a side of {abs(end - start)} m is too short for its corners")
    return Line(start, end)


def _unit(vector: Point) -> Point:
    return vector / abs(vector)
