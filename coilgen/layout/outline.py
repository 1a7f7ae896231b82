"""The outline of a winding: curves made of sides at any level, spirals between them, places beside them.

All is drawn in one frame: the coil's centre at the origin, counter-clockwise travel. Side 0 faces south, and
side numbers count on from turn to turn.
"""

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import groupby, pairwise

from coilgen.frozen import dataclass
from coilgen.geometry.closed import circle
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, direction
from coilgen.layout.corner import SHARP, Corner, Legs, MadeCorner, made, turning
from coilgen.layout.sides import Bend, Side, meeting, runs_on

_MIRROR = Isometry(mirrored=True)
_NOTHING = (math.inf, -math.inf)
_ROUNDING = 1e-9
_FACING = math.radians(60) + _ROUNDING
"""Corners up to which a trace that leaves a side inward only moves on, rad."""


@dataclass(frozen=True)
class Anchor:
    """A point beside side `side` of the winding: a spiral starts or ends at its foot on that side."""

    side: int
    at: Point

    def mirrored(self) -> "Anchor":
        """The image under x -> -x."""
        return Anchor(-self.side, _MIRROR.point(self.at))


def heading(sides: int, side: int) -> Point:
    """Direction of travel along a side of a regular polygon; quarter turns come out exact."""
    quarters, rest = divmod(4 * (side % sides), sides)
    exact = (1 + 0j, 1j, -1 + 0j, -1j)[quarters]
    return exact * direction(math.tau * rest / (4 * sides)) if rest else exact


def _folded(turning: float, width: float, gap: float) -> float:
    """From a corner to the middle of a trace that leaves the side after it at right angles, m."""
    if not _FACING < turning < math.pi / 2 - _ROUNDING:
        return 0.0
    return width / 2 * (1 + math.tan(turning / 2)) + gap / math.sin(turning)


def _crossing(turning: float, across: float, width: float, gap: float) -> float:
    """From a corner to the middle of a trace that crosses from a lead's level before it, m."""
    apart = width + gap
    if turning > math.pi / 2 + _ROUNDING:
        return max(apart, (apart - across * math.cos(turning)) / math.sin(turning))
    return max(apart, _folded(turning, width, gap))


@dataclass(frozen=True, kw_only=True)
class Outline:
    """The sides of a turn, the level of its outermost centre line (see sides.py) and the pitch, m.

    tangent: neighbouring sides run into each other, and a spiral's level falls evenly from side to side; else
    they meet in corners, and it falls by a pitch at the corner before the side on which the spiral starts.
    wound: the sides as a spiral has them, where those have their centres aside of the outline's.
    stray: how far aside, m.
    """

    sides: tuple[Side, ...]
    first: float
    pitch: float
    tangent: bool = False
    wound: tuple[Side, ...] = ()
    stray: float = 0.0

    @property
    def count(self) -> int:
        """Sides of a turn."""
        return len(self.sides)

    @property
    def circular(self) -> bool:
        """Whether all sides are of one circle."""
        return len({side.carrier(number, self.first) for number, side in enumerate(self.sides)}) == 1

    @property
    def curved(self) -> bool:
        """Whether any side is an arc."""
        return any(isinstance(side, Bend) for side in self.sides)

    def side(self, number: int) -> Side:
        """Counting on from turn to turn."""
        return self.sides[number % self.count]

    def level(self, steps: int) -> float:
        """Of the side reached after so many of an inward spiral, m."""
        if self.tangent:
            return self.first - self.pitch * steps / self.count
        return self.first - self.pitch * (steps // self.count)

    def exists(self, level: float) -> bool:
        """Whether every side has some length left at a level."""
        ends = [self.ends(number, level) for number in range(self.count)]
        return all(side.exists(level) for side in self.sides) and all(low < high for low, high in ends)

    def place(self, side: int, along: float, level: float) -> Point:
        """The point `along` m counter-clockwise of the middle of a side at a level."""
        return self.side(side).place(along, level)

    def foot_of_first_turn(self, side: int) -> Point:
        """The middle of a side of a spiral's first turn."""
        return (self.wound or self.sides)[side].place(0.0, self.level(side))

    def turns(self, side: int, places: Sequence[float], level: float) -> list[float]:
        """Angles from south of places so far along a side at a level, in turns, counting on with the side."""
        own, outward, before = self.side(side), -1j * heading(self.count, side), side / self.count
        return [before + own.angle(along, level, outward) / math.tau for along in places]

    def ends(self, side: int, level: float) -> tuple[float, float]:
        """Where a side begins and ends at a level, told along it, m; the first is more where none is left."""
        own = self.side(side)
        if self.tangent:
            return own.ends(level)
        begin, end = (self._vertex(number, level, level) for number in (side - 1, side))
        if begin is None or end is None:
            return _NOTHING
        return own.along(begin, level), own.along(end, level)

    def apart(self, side: int, level: float, corner: Corner) -> tuple[float, float]:
        """Between which distances along a side at a level its neighbours of that level, and what corners take
        of them, are a pitch away: where the corners of a turn inside of them would begin."""
        if self.tangent:
            return self.side(side).ends(level)
        inside = level - self.pitch
        begin, end = self._made(side - 1, (inside, level), corner), self._made(side, (level, inside), corner)
        if begin is None or end is None:
            return _NOTHING
        own = self.side(side)
        return own.along(begin.arrives_at, level), own.along(end.leaves_at, level)

    def reach(self, side: int, level: float, corner: Corner, row: float) -> tuple[float, float]:
        """Least and largest distance along a side, told at the level of a row of places, of one that has its
        foot on what corners leave of the side at a level, and that, inside of it, is no nearer to other sides
        and corners."""
        inward = max(0.0, level - row)
        low, high = self.ends(side, level - inward)
        if self.tangent or not low < high:
            return low, high
        corners = [self._made(number, (level, level), corner) for number in (side - 1, side)]
        if corners[0] is None or corners[1] is None:
            return _NOTHING
        own = self.side(side)
        slack = inward * math.tan(self._turning(side, level) / 4) if corner.kind == "chamfered" else 0.0
        begin, end = own.along(corners[0].arrives_at, row), own.along(corners[1].leaves_at, row)
        return (max(low, begin + slack), min(high, end - slack)) if inward else (begin, end)

    def unfolded(self, side: int, level: float, width: float, gap: float) -> tuple[float, float]:
        """Between which distances along a side at a level a trace may leave it inward, and keep a gap from
        the side's neighbours: after a corner of over 60 degrees it faces them, and of 90 and more it keeps
        off them anyway, as its pad does."""
        low, high = self.ends(side, level)
        if self.tangent:
            return low, high
        before, after = (self._turning(number, level) for number in (side - 1, side))
        return low + _folded(before, width, gap), high - _folded(after, width, gap)

    def beside_lead(
        self, side: int, level: float, across: float, width: float, gap: float
    ) -> tuple[float, float]:
        """Between which distances along a side a trace may cross `across` m from a lead at a level, and keep
        a gap from that lead where it goes on beyond the side's corners."""
        low, high = self.ends(side, level)
        if self.tangent:
            return low, high
        own = self.side(side)
        before, after = (
            _crossing(self._turning(number, level), across, width, gap) for number in (side - 1, side)
        )
        return low + own.reaching(before, level), high - own.reaching(after, level)

    def spiral(self, start: Anchor, end: Anchor, corner: Corner) -> Path:
        """Inward and counter-clockwise from foot to foot; ValueError where a side is too short for it."""
        pieces = self._spiral(start, end, corner)
        if pieces is None:
            raise ValueError("a side is too short for its corners")
        return Path(pieces)

    def fits(self, start: Anchor, end: Anchor, corner: Corner) -> bool:
        """Whether a spiral between these anchors keeps something of every side."""
        return self._spiral(start, end, corner) is not None

    def loop(self, level: float, start: Anchor, end: Anchor) -> tuple[Segment, ...]:
        """Round the winding at a constant level between the feet of two anchors, either way."""
        way = 1 if end.side >= start.side else -1
        numbers = range(start.side, end.side + way, way)
        feet = [self.side(anchor.side).foot(anchor.at, level) for anchor in (start, end)]
        if len(numbers) == 1 and abs(feet[1] - feet[0]) <= LARGEST_GAP:
            return ()
        first, last = (self.side(anchor.side).onto(anchor.at, level) for anchor in (start, end))
        stops = [first, *(self._joint(min(pair), level) for pair in pairwise(numbers)), last]
        return tuple(self._along(list(zip(numbers, pairwise(stops), strict=True)), level))

    def through(self, side: int, points: Sequence[Point]) -> tuple[Segment, ...]:
        """Along a side through points beside it, all of the level of the first."""
        level = self.side(side).level(points[0])
        return tuple(
            segment
            for start, end in pairwise(points)
            for segment in self.loop(level, Anchor(side, start), Anchor(side, end))
        )

    def closed(self, level: float, corner: Corner = SHARP) -> Path:
        """The whole curve of a level, counter-clockwise; ValueError where a side is too short for it."""
        numbers = range(-1, self.count - 1)
        if self.circular:
            return circle(2 * level)
        if self.tangent:
            return Path(tuple(self._piece(number, level, None, None) for number in numbers))
        pieces: list[Segment] = []
        corners = [self._made(number, (level, level), corner) for number in (-2, *numbers)]
        for number, (before, after) in zip(numbers, pairwise(corners), strict=True):
            if before is None or after is None:
                raise ValueError("a side is too short for its corners")
            pieces.append(self._piece(number, level, before.arrives_at, after.leaves_at))
            pieces.extend(after.pieces)
        return Path(tuple(pieces))

    def _piece(self, number: int, level: float, begin: Point | None, finish: Point | None) -> Segment:
        return self.side(number).segment(self._facing(number), level, begin, finish)

    def _along(self, runs: Sequence[tuple[int, tuple[Point, Point]]], level: float) -> Iterator[Segment]:
        """Pieces of sides between points; neighbours on one circle are one piece."""
        for _, group in groupby(runs, key=lambda run: self.side(run[0]).carrier(run[0], level)):
            same = list(group)
            (number, (begin, _)), (onward, (_, finish)) = same[0], same[-1]
            yield self.side(number).run(
                (self._facing(number), begin), (self._facing(onward), finish), self.side(onward), level
            )

    def _joint(self, side: int, level: float) -> Point:
        """Where a side meets the next one at the same level."""
        if self.tangent:
            return self.place(side, self.side(side).ends(level)[1], level)
        vertex = self._vertex(side, level, level)
        if vertex is None:
            raise ValueError("a curve has no such side")
        return vertex

    def _vertex(self, side: int, level: float, next_level: float) -> Point | None:
        return meeting(self.side(side), level, self.side(side + 1), next_level)

    def _turning(self, side: int, level: float) -> float:
        vertex = self._vertex(side, level, level)
        return 0.0 if vertex is None else turning(self.side(side), vertex, self.side(side + 1))

    def _made(self, side: int, levels: tuple[float, float], corner: Corner) -> MadeCorner | None:
        """The corner after a side of one level where the next is at another."""
        own, onward = levels
        before, vertex = self._vertex(side - 1, own, own), self._vertex(side, own, onward)
        beyond = self._vertex(side + 1, onward, onward)
        if before is None or vertex is None or beyond is None:
            return None
        return made(self._legs(side, levels, vertex), corner)

    def _legs(self, side: int, levels: tuple[float, float], vertex: Point) -> Legs:
        return Legs(
            before=self.side(side),
            level=levels[0],
            after=self.side(side + 1),
            next_level=levels[1],
            vertex=vertex,
        )

    def _facing(self, side: int) -> float:
        """Direction in which a side of a regular polygon faces, rad, counting on from turn to turn."""
        return (side - self.count / 4) * math.tau / self.count

    def _spiral(self, start: Anchor, end: Anchor, corner: Corner) -> tuple[Segment, ...] | None:
        asked = start, end, corner
        if asked not in self._spirals:
            pieces = self._tangent(start, end) if self.tangent else self._cornered(start, end, corner)
            self._spirals[asked] = None if pieces is None else tuple(pieces)
        return self._spirals[asked]

    @cached_property
    def _spirals(self) -> dict[tuple[Anchor, Anchor, Corner], tuple[Segment, ...] | None]:
        """Those found so far: one is asked whether it fits before it is drawn."""
        return {}

    def _tangent(self, start: Anchor, end: Anchor) -> list[Segment] | None:
        pieces: list[Segment] = []
        for step, number in enumerate(range(start.side, end.side + 1)):
            side, level = (self.wound or self.sides)[number % self.count], self.level(step)
            begin = side.onto(start.at, level) if number == start.side else None
            finish = side.onto(end.at, level) if number == end.side else None
            pieces.append(side.segment(self._facing(number), level, begin, finish))
            if not runs_on(side, pieces[-1]):
                return None
        return pieces

    def _cornered(self, start: Anchor, end: Anchor, corner: Corner) -> list[Segment] | None:
        steps = end.side - start.side
        levels = [self.level(step) for step in range(steps + 1)]
        inner = [self._vertex(start.side + step, levels[step], levels[step + 1]) for step in range(steps)]
        last = self.side(end.side).foot(end.at, levels[-1])
        stops = [point for point in (*inner, last) if point is not None]
        if len(stops) <= steps:
            return None
        at, pieces = self.side(start.side).foot(start.at, levels[0]), list[Segment]()
        for step in range(steps):
            number = start.side + step
            legs = self._legs(number, (levels[step], levels[step + 1]), stops[step])
            turned = made(legs, corner)
            if turned is None or not self._lay(pieces, number, levels[step], at, turned.leaves_at):
                return None
            pieces.extend(turned.pieces)
            at = turned.arrives_at
        return pieces if self._lay(pieces, end.side, levels[-1], at, last) else None

    def _lay(self, pieces: list[Segment], number: int, level: float, begin: Point, finish: Point) -> bool:
        """Adds a piece of a side; False where it has no length in the sense of travel."""
        pieces.append(self._piece(number, level, begin, finish))
        return self.side(number).exists(level) and runs_on(self.side(number), pieces[-1])
