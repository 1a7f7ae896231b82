"""Corners between the sides of an outline: sharp, chamfered or rounded."""

import math

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point, dot
from coilgen.layout.sides import Side, Straight, meeting


@dataclass(frozen=True)
class Corner:
    """How corners are made: kind "sharp", "chamfered" (size: cut along each side, m) or "rounded" (size:
    radius of the centre line, m)."""

    kind: str
    size: float


SHARP = Corner("sharp", 0.0)


@dataclass(frozen=True)
class MadeCorner:
    """Where a path leaves a side and arrives on the next one, with what it travels between."""

    leaves_at: Point
    arrives_at: Point
    pieces: tuple[Segment, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Legs:
    """Two sides, each at its level, that meet in a vertex."""

    before: Side
    level: float
    after: Side
    next_level: float
    vertex: Point


def made(legs: Legs, corner: Corner) -> MadeCorner | None:
    """The corner of two legs; None where they have no room for its radius."""
    if corner.kind == "sharp":
        return MadeCorner(legs.vertex, legs.vertex)
    if isinstance(legs.before, Straight) and isinstance(legs.after, Straight):
        return _between_lines(legs, corner)
    return _chamfered(legs, corner.size) if corner.kind == "chamfered" else _rounded(legs, corner.size)


def turning(before: Side, vertex: Point, after: Side) -> float:
    """Angle by which travel turns in a vertex, rad."""
    along = dot(before.heading_at(vertex), after.heading_at(vertex))
    return math.acos(max(-1.0, min(1.0, along)))


def _between_lines(legs: Legs, corner: Corner) -> MadeCorner:
    before, after = legs.before.heading_at(legs.vertex), legs.after.heading_at(legs.vertex)
    cut = corner.size
    if corner.kind == "rounded":
        cut *= math.tan(math.acos(max(-1.0, min(1.0, dot(before, after)))) / 2)
    leaves_at, arrives_at = legs.vertex - before * cut, legs.vertex + after * cut
    if corner.kind == "chamfered":
        return MadeCorner(leaves_at, arrives_at, (Line(leaves_at, arrives_at),))
    centre = leaves_at + before * 1j * corner.size
    return MadeCorner(leaves_at, arrives_at, (_arc(centre, corner.size, leaves_at, arrives_at),))


def _chamfered(legs: Legs, size: float) -> MadeCorner:
    """Cut by its size along each side, be it straight or an arc."""
    before, after = legs.before, legs.after
    leaves_at = before.place(before.along(legs.vertex, legs.level) - size, legs.level)
    arrives_at = after.place(after.along(legs.vertex, legs.next_level) + size, legs.next_level)
    return MadeCorner(leaves_at, arrives_at, (Line(leaves_at, arrives_at),))


def _rounded(legs: Legs, radius: float) -> MadeCorner | None:
    """By the arc whose centre lies its radius inside of both sides."""
    centre = meeting(legs.before, legs.level - radius, legs.after, legs.next_level - radius)
    if centre is None:
        return None
    leaves_at = legs.before.foot(centre, legs.level)
    arrives_at = legs.after.foot(centre, legs.next_level)
    return MadeCorner(leaves_at, arrives_at, (_arc(centre, radius, leaves_at, arrives_at),))


def _arc(centre: Point, radius: float, start: Point, end: Point) -> Arc:
    start_angle = math.atan2((start - centre).imag, (start - centre).real)
    end_angle = math.atan2((end - centre).imag, (end - centre).real)
    return Arc(centre, radius, start_angle, (end_angle - start_angle) % math.tau)
