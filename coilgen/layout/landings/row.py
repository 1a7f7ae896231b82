"""A row of pads to be filled: where places may stand in it, and what they keep clear of."""

from collections.abc import Iterable, Iterator
from functools import cached_property

from coilgen.frozen import dataclass
from coilgen.geometry.closed import holds
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point
from coilgen.layout.landings.landing import Landing
from coilgen.layout.lengths import ON_ARC, Lengths
from coilgen.layout.sides import Bend

ROUNDING = 1e-12
"""m, and of a turn: what sums of lengths and turns may be off."""


@dataclass(frozen=True)
class Keepout:
    """Copper or a cut-out to stay away from.

    `edge` m of it on the far side of its line or point, plus a gap.
    """

    body: tuple[Segment, ...] | Point
    edge: float
    drill: float | None = None

    def distance(self, point: Point) -> float:
        """From a point to the line or point, m."""
        if isinstance(self.body, complex):
            return abs(point - self.body)
        return min(segment.distance(point) for segment in self.body)


@dataclass(frozen=True, kw_only=True)
class Row:
    """A row to be filled: its level and the spiral's, the pads' half size, how many in a place.

    onward: level at which a lead goes on from its places round the winding; None where none does.
    before_fall, after_fall: sides of a turn on which spirals that run inward end, or outward begin, next to
    where the turn before has fallen by a pitch already.
    """

    lengths: Lengths
    level: float
    spiral: float
    half: float
    drill: float
    count: int = 1
    onward: float | None = None
    before_fall: frozenset[int] = frozenset()
    after_fall: frozenset[int] = frozenset()

    def span(self, side: int) -> float:
        """Of a place's parallel pads, from centre to centre along the row."""
        if self.count == 1:
            return 0.0
        side_of_row, chord = self.lengths.outline.side(side), self.lengths.via_step
        least = 1 + ON_ARC if isinstance(side_of_row, Bend) else 1.0
        return (self.count - 1) * chord * max(least, side_of_row.stretch(chord, self.level))

    def room(self, side: int) -> tuple[float, float]:
        """Least and largest distance along a side of the middle of a place: with its feet on the spiral's
        side, and itself on the row's. The first is more where there is none."""
        count = self.lengths.outline.count
        return self._rooms[side % count]

    @cached_property
    def _rooms(self) -> tuple[tuple[float, float], ...]:
        reaches = [self._reach(side) for side in range(self.lengths.outline.count)]
        spans = [self.span(side) for side in range(self.lengths.outline.count)]
        return tuple(
            (low + span / 2, high - span / 2) for (low, high), span in zip(reaches, spans, strict=True)
        )

    def _reach(self, side: int) -> tuple[float, float]:
        """Where pads may stand along a side; a lead that goes on keeps its spacing from itself at corners."""
        m, outline = self.lengths, self.lengths.outline
        low, high = m.reach(side, self.spiral, self.level)
        begin, end = outline.apart(side, self.spiral, m.corner)
        low = max(low, begin) if side in self.after_fall else low
        high = min(high, end) if side in self.before_fall else high
        if self.onward is None or outline.tangent:
            return low, high
        across = max(abs(self.onward - self.spiral), abs(self.onward - self.level))
        begin, end = outline.beside_lead(side, self.onward, across, m.width, m.gap)
        return max(low, begin), min(high, end)

    def place(self, side: int, along: float) -> Landing:
        """The place that begins a distance along a side, m."""
        outline = self.lengths.outline
        step = self.span(side) / max(1, self.count - 1)
        return Landing(
            side, tuple(outline.place(side, along + k * step, self.level) for k in range(self.count))
        )

    @cached_property
    def step(self) -> float:
        """Least distance between the nearest pads of two places: by copper and by holes."""
        holes = self.drill + self.lengths.hole_gap if self.drill else 0.0
        curved = self.lengths.outline.curved
        return max(2 * self.half + self.lengths.gap, holes * (1 + ON_ARC if curved else 1.0))

    def traces(self, place: Landing) -> tuple[Segment, ...]:
        """From the feet on the spirals to the first and the last pad of a place, and from pad to pad."""
        outline, ends = self.lengths.outline, dict.fromkeys((place.points[0], place.points[-1]))
        stubs = (Line(outline.side(place.side).foot(end, self.spiral), end) for end in ends)
        return (*stubs, *outline.through(place.side, place.points))

    def clear(self, place: Landing, keepouts: list[Keepout], pocket: Keepout | None) -> bool:
        """Whether a place and its traces keep clear of all that stands beside it, and of the pocket."""
        return all(
            all(self._clears(point, keepout) for keepout in keepouts)
            and (pocket is None or self._clears_pocket(point, pocket))
            for point in place.points
        ) and self._traces_clear(self.traces(place), keepouts)

    def _traces_clear(self, traces: tuple[Segment, ...], keepouts: list[Keepout]) -> bool:
        """Of pads; round a corner they may come nearer to one than their own pads do.

        Those of other places are on other layers, and so is a lead but their own.
        """
        m = self.lengths
        beside = [(keepout.body, keepout.edge) for keepout in keepouts if isinstance(keepout.body, complex)]
        return all(
            trace.distance(at) >= half + m.width / 2 + m.gap - ROUNDING
            for trace in traces
            for at, half in beside
        )

    def _clears(self, point: Point, keepout: Keepout) -> bool:
        need = keepout.edge + self.half + self.lengths.gap
        if keepout.drill and self.drill:
            holes = (keepout.drill + self.drill) / 2 + self.lengths.hole_gap
            need = max(need, holes)
        return keepout.distance(point) >= need - ROUNDING

    def _clears_pocket(self, point: Point, pocket: Keepout) -> bool:
        rules, outline = self.lengths.design.rules, self.lengths.pocket
        need = max(
            self.half + rules.limit("copper_to_pocket"), self.drill / 2 + rules.limit("hole_to_pocket")
        )
        outside = outline is not None and not holds(outline, point)
        return outside and pocket.distance(point) >= need - ROUNDING


def pads(row: Row, filled: Iterable[Landing]) -> list[Keepout]:
    """The pads of places of a row and their traces, as others see them."""
    return [keepout for place in filled for keepout in _seen(row, place)]


def _seen(row: Row, place: Landing) -> Iterator[Keepout]:
    for point in place.points:
        yield Keepout(point, row.half, row.drill)
    yield Keepout(row.traces(place), row.lengths.width / 2)
