"""The sides of an outline, straight or an arc, at any level: how far out a curve runs.

The level of a curve is the distance at which it passes south of the centre, m; a curve that runs d further
in, everywhere, has a level less by d. A side is described for level 0, with `extra` as its own distance or
radius there, so that a curve of the outline is made of sides of one level.
"""

import cmath
import math
from typing import TypeAlias

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP
from coilgen.geometry.point import Point, direction, dot


@dataclass(frozen=True, kw_only=True)
class Straight:
    """A straight side, travelled along `heading`; its distance from the centre is the level and `extra`, m.

    turning: angle to the next side, rad, where that is straight too. askew: angle from the direction in
    which the sides of a regular polygon would run, rad. half: of its length, m, where its neighbours are
    tangent to it. Places are told by their distance along the heading from the foot of the centre.
    """

    heading: Point
    extra: float = 0.0
    turning: float = math.nan
    askew: float = 0.0
    half: float = math.nan

    def place(self, along: float, level: float) -> Point:
        """The point of the side at a level, so far along it."""
        return self.heading * complex(along, -(level + self.extra))

    def along(self, point: Point, level: float) -> float:
        """How far along the side a point has its foot."""
        return dot(point, self.heading)

    def foot(self, point: Point, level: float) -> Point:
        """The nearest point of the side at a level."""
        return self.place(self.along(point, level), level)

    def onto(self, point: Point, level: float) -> Point:
        """A point that tells a piece of the side where to begin or end: its foot."""
        return self.foot(point, level)

    def level(self, point: Point) -> float:
        """Of the curve through a point beside the side."""
        outward = self.heading * complex(0.0, -1.0)
        return point.real * outward.real + point.imag * outward.imag - self.extra

    def ends(self, level: float) -> tuple[float, float]:
        """How far along the side its tangent neighbours begin."""
        return -self.half, self.half

    def angle(self, along: float, level: float, outward: Point) -> float:
        """From an outward direction to a place as seen from the centre, rad."""
        return math.atan2(along, level + self.extra) + self.askew

    def heading_at(self, point: Point) -> Point:
        """Of travel."""
        return self.heading

    def stretch(self, chord: float, level: float) -> float:
        """Length along the side over the chord that it spans."""
        return 1.0

    def reaching(self, aside: float, level: float) -> float:
        """Length along the side to a point that lies so far from the normal it begins on."""
        return aside

    def segment(self, facing: float, level: float, begin: Point | None, finish: Point | None) -> Line:
        """Between two points of the side, its tangent ends where none is told."""
        least, most = self.ends(level)
        start = self.place(least, level) if begin is None else begin
        return Line(start, self.place(most, level) if finish is None else finish)

    def run(
        self, begin: tuple[float, Point], finish: tuple[float, Point], last: "Side", level: float
    ) -> Line:
        """Between two points of the side, either way."""
        return Line(begin[1], finish[1])

    def carrier(self, number: int, level: float) -> object:
        """What neighbouring sides share that make one piece: nothing."""
        return number

    def exists(self, level: float) -> bool:
        """Whether anything of the side can be left at a level."""
        return True


@dataclass(frozen=True, kw_only=True)
class Bend:
    """An arc about `centre`; its radius is the level and `extra`, m, or `extra` less the level when hollow.

    spoke: direction of its middle from the centre. half: angle from its middle to its tangent neighbours,
    rad. hollow: the outline lies outside of the circle, and is travelled clockwise about its centre. Places
    are told by the length of arc from the middle.
    """

    centre: Point
    spoke: Point
    extra: float = 0.0
    half: float = math.nan
    hollow: bool = False

    @property
    def sense(self) -> int:
        """Of travel about the centre: 1 counter-clockwise, -1 clockwise."""
        return -1 if self.hollow else 1

    def radius(self, level: float) -> float:
        """At a level, m; not over 0 where the side has vanished."""
        return self.extra - level if self.hollow else level + self.extra

    def place(self, along: float, level: float) -> Point:
        """The point of the side at a level, so far along it."""
        radius = self.radius(level)
        return self.centre + self.spoke * radius * direction(self.sense * along / radius)

    def along(self, point: Point, level: float) -> float:
        """How far along the side at a level a point has its foot."""
        return self.sense * self._off_middle(point) * self.radius(level)

    def foot(self, point: Point, level: float) -> Point:
        """The nearest point of the side at a level."""
        return self.place(self.along(point, level), level)

    def onto(self, point: Point, level: float) -> Point:
        """A point that tells a piece of the side where to begin or end: any on the way to the centre."""
        return point

    def level(self, point: Point) -> float:
        """Of the curve through a point beside the side."""
        return self.sense * (abs(point - self.centre) - self.extra)

    def ends(self, level: float) -> tuple[float, float]:
        """How far along the side its tangent neighbours begin."""
        reach = self.radius(level) * self.half
        return -reach, reach

    def angle(self, along: float, level: float, outward: Point) -> float:
        """From an outward direction to a place as seen from the centre of the outline, rad."""
        if not self.centre:
            return along / self.radius(level)
        return cmath.phase(self.place(along, level) / outward)

    def heading_at(self, point: Point) -> Point:
        """Of travel at a point of the side."""
        spoke = point - self.centre
        return self.sense * 1j * spoke / abs(spoke)

    def stretch(self, chord: float, level: float) -> float:
        """Length along the side over the chord that it spans; infinite for a chord over the diameter."""
        half = chord / (2 * self.radius(level))
        return math.asin(half) / half if 0 < half < 1 else math.inf

    def reaching(self, aside: float, level: float) -> float:
        """Length along the side to a point that lies so far from the radius it begins on."""
        radius = self.radius(level)
        return radius * math.asin(aside / radius) if aside < radius else math.inf

    def segment(self, facing: float, level: float, begin: Point | None, finish: Point | None) -> Arc:
        """Between two points of the side, its tangent ends where none is told.

        facing: direction in which the side faces, rad, counting on from turn to turn.
        """
        start = self._turned(facing, begin, -1)
        return Arc(self.centre, self.radius(level), start, self._turned(facing, finish, 1) - start)

    def run(self, begin: tuple[float, Point], finish: tuple[float, Point], last: "Side", level: float) -> Arc:
        """From a point of the side to one of it or of a last one on the same circle, either way.

        Each point comes with the direction in which its side faces, rad.
        """
        assert isinstance(last, Bend), "arcs share their circle with arcs"
        start, end = self._turned(begin[0], begin[1], 0), last._turned(finish[0], finish[1], 0)
        return Arc(self.centre, self.radius(level), start, end - start)

    def carrier(self, number: int, level: float) -> object:
        """The circle: neighbouring sides that share it make one piece."""
        return self.centre, self.radius(level), self.hollow

    def exists(self, level: float) -> bool:
        """Whether anything of the side can be left at a level."""
        return self.radius(level) > 0

    def _turned(self, facing: float, point: Point | None, hand: int) -> float:
        """Angle of a point, or of the tangent end towards a hand, where the side faces some way, rad."""
        middle = facing + math.pi if self.hollow else facing
        return middle + (hand * self.sense * self.half if point is None else self._off_middle(point))

    def _off_middle(self, point: Point) -> float:
        return cmath.phase((point - self.centre) / self.spoke)


Side: TypeAlias = Straight | Bend


def meeting(before: Side, level: float, after: Side, next_level: float) -> Point | None:
    """The corner at which a side of one level gives way to the next one of another; None for none.

    Corners turn to the left, which tells the one of two places where a line and a circle meet.
    """
    if isinstance(before, Straight) and isinstance(after, Straight):
        return _lines_meet(before, level, after, next_level)
    if isinstance(before, Straight):
        return _line_meets(before, level, after, next_level, 1) if isinstance(after, Bend) else None
    if isinstance(after, Straight):
        return _line_meets(after, next_level, before, level, -1)
    raise ValueError("bends of a winding run into each other: no two meet in a corner")


def _lines_meet(before: Straight, level: float, after: Straight, next_level: float) -> Point:
    cosine, sine = math.cos(before.turning), math.sin(before.turning)
    along = (next_level + after.extra - (level + before.extra) * cosine) / sine
    return before.place(along, level)


def _line_meets(line: Straight, level: float, bend: Bend, bend_level: float, hand: int) -> Point | None:
    """hand: 1 where the line comes first, -1 where it follows."""
    foot, radius = line.foot(bend.centre, level), bend.radius(bend_level)
    square = radius**2 - abs(foot - bend.centre) ** 2
    if radius <= 0 or square <= 0:
        return None
    return foot + line.heading * hand * bend.sense * math.sqrt(square)


def runs_on(side: Side, piece: Line | Arc) -> bool:
    """Whether a piece of a side has some length in the sense of travel."""
    if isinstance(piece, Line):
        return isinstance(side, Straight) and dot(piece.end - piece.start, side.heading) > LARGEST_GAP
    return isinstance(side, Bend) and side.sense * piece.sweep * piece.radius > LARGEST_GAP
