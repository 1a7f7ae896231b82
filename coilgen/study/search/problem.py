"""What a search is to solve: points of a space of keys, each a design, with goal and margins to limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TYPE_CHECKING, TypeVar

from coilgen.design.as_made import as_made
from coilgen.design.design import Design
from coilgen.design.optimizing import Goal, Limit, Search, Span, refuse_crossed
from coilgen.design.sweeping import Axis, Choice
from coilgen.errors import DesignError, Fault
from coilgen.job import case_of, draw_copper
from coilgen.study.evaluator import RememberedCase, as_told, rules_broken
from coilgen.study.margins import room_inside
from coilgen.study.memory import Memory
from coilgen.study.search.bound import Bound, reached
from coilgen.study.search.makeable import unmakeable
from coilgen.study.search.one_value import NoSuchValueError
from coilgen.study.search.start import own_value
from coilgen.study.search.value_told import value_in
from coilgen.study.search.wanted import Wanted, wanted

if TYPE_CHECKING:
    from coilgen.result.figure import Case

T = TypeVar("T")
U = TypeVar("U")

RULES = "rules of the shop"
_NEARLY = 0.05
"""How far beyond a quick limit a design is still computed whole: estimates near the limit learn from it."""

Point = tuple[Choice, ...]


@dataclass(frozen=True, kw_only=True)
class Tried:
    """An exact run: goals' values (None where they do not apply), values that limits judge, rules broken.

    in_part: it is so far beyond limits that what takes long was left out, None too.
    fault: why it cannot be built.
    """

    point: Point
    goals: tuple[float | None, ...] = ()
    judged: tuple[float | None, ...] = ()
    rules_broken: int = 0
    in_part: bool = False
    fault: DesignError | None = None

    @property
    def whole(self) -> bool:
        """Whether it can be built and has all figures."""
        return self.fault is None and all(is_finite(value) for value in (*self.goals, *self.judged))

    @property
    def sound(self) -> bool:
        """Whether it keeps the shop's rules and has all figures that were not left out."""
        return not self.rules_broken and (self.whole or (self.in_part and self.fault is None))


def is_finite(value: float | None) -> bool:
    """Whether there is a number."""
    return value is not None and math.isfinite(value)


@dataclass(kw_only=True)
class Problem:
    """A design with its search, read: figures known, limits in their units. Remembers what it has run.

    first: number of the goal that is sought, from 0. level: what the other may cost, for a point of a front.
    elsewhere: exact runs of problems beside this one that count as its own. hints: runs that estimates may
    learn from besides its own.
    """

    design: Design
    search: Search
    goals: tuple[tuple[Goal, Wanted], ...]
    bounds: tuple[Bound, ...]
    first: int = 0
    level: float = math.inf
    elsewhere: int = 0
    hints: tuple[Tried, ...] = ()
    _runs: dict[str, Tried] = field(default_factory=dict)
    _rooms: dict[str, tuple[Point, float]] = field(default_factory=dict)
    _memory: Memory = field(default_factory=Memory)
    _banded: Memory = field(default_factory=Memory)
    _last: tuple[str, Case] | None = None

    @property
    def axes(self) -> tuple[Axis | Span, ...]:
        """The keys that vary."""
        return self.search.axes

    def changes(self, point: Point) -> Mapping[str, Choice]:
        """Keys and values of a point."""
        return dict(zip((axis.key for axis in self.axes), point, strict=True))

    def built(self, point: Point) -> Design:
        """The design of a point; DesignError where its keys contradict one another."""
        return self.design.changed(self.changes(point))

    @property
    def runs(self) -> tuple[Tried, ...]:
        """All exact runs so far, in their order."""
        return tuple(self._runs.values())

    @property
    def known(self) -> tuple[Tried, ...]:
        """What estimates learn from: hints, but where the same was run, and all exact runs."""
        return (*(hint for hint in self.hints if not self.was_run(hint.point)), *self.runs)

    @property
    def rooms(self) -> tuple[tuple[Point, float], ...]:
        """All points whose room was looked at, with it."""
        return tuple(self._rooms.values())

    @property
    def spent(self) -> int:
        """Exact runs so far, those of problems beside this one too."""
        return len(self._runs) + self.elsewhere

    def is_known(self, point: Point) -> bool:
        """Whether a point was run, or its room looked at."""
        return repr(point) in self._runs or repr(point) in self._rooms

    def was_run(self, point: Point) -> bool:
        """Whether a point was run."""
        return repr(point) in self._runs

    def room(self, point: Point) -> float:
        """What the winding's opening has more than pads and pocket need, m; no run is needed for it.

        Minus infinity where keys contradict one another or something else has no room, as a tail's fingers;
        negative where the opening is too small.
        """
        key = repr(point)
        if key not in self._rooms:
            self._rooms[key] = point, self._room(point)
        return self._rooms[key][1]

    def _room(self, point: Point) -> float:
        try:
            design = self.built(point)
            own = {id(each.design): each.design for each in design.windings}  # coils of an array share one
            room = min(map(room_inside, own.values() or [design]))
            if room >= 0:
                self._drawn(point)
        except DesignError:
            return -math.inf
        return room

    def _drawn(self, point: Point) -> Case:
        """A point's case with its copper drawn, the last one kept: what has room is run next."""
        if self._last is None or self._last[0] != repr(point):
            case = self.case(point, tolerances=any(bound.sure for bound in self.bounds))
            if isinstance(case, RememberedCase):
                _ = case.drawn
            self._last = repr(point), case
        return self._last[1]

    def run(self, point: Point) -> Tried:
        """The exact figures of a point, computed once."""
        key = repr(point)
        if key not in self._runs:
            self._runs[key] = self._computed(point)
        return self._runs[key]

    def _computed(self, point: Point) -> Tried:
        try:
            case = self._drawn(point)
            return self._in_part(point, case) or Tried(
                point=point,
                rules_broken=rules_broken(case),
                goals=tuple(reached(goal, of, case) for goal, of in self.goals),
                judged=tuple(bound.judged(case) for bound in self.bounds),
            )
        except NoSuchValueError:
            raise
        except DesignError as error:
            return Tried(point=point, fault=error)

    def _in_part(self, point: Point, case: Case) -> Tried | None:
        """By rules and quick limits alone, where a design is far beyond these and the others take long."""
        if not any(of.is_slow(case) for of in self.wanted):
            return None
        quick = [None if bound.of.is_slow(case) else bound for bound in self.bounds]
        broken = rules_broken(case)
        judged = tuple(None if bound is None else bound.judged(case) for bound in quick)
        pairs = zip(self.bounds, judged, strict=True)
        far = any(value is not None and bound.excess(value) > _NEARLY for bound, value in pairs)
        if not (far or broken):
            return None
        goals = tuple(None if of.is_slow(case) else reached(goal, of, case) for goal, of in self.goals)
        return Tried(point=point, rules_broken=broken, goals=goals, judged=judged, in_part=True)

    @property
    def wanted(self) -> Iterator[Wanted]:
        """All figures that goals and limits read."""
        yield from (of for _, of in self.goals)
        yield from (bound.of for bound in self.bounds)

    def case(self, point: Point, *, tolerances: bool = False) -> Case:
        """A point's figures, with their bands only where tolerances count."""
        design = self.built(point)
        if design.windings:  # shares nothing with others
            told = design if tolerances else as_told(design)
            return case_of(told, *draw_copper(told))
        made = as_made(design)
        if tolerances:
            return RememberedCase(made, self._banded, values_only=False)
        return RememberedCase(as_told(made), self._memory)

    def excess(self, tried: Tried) -> float:
        """How far beyond its worst limit a sound run is; negative where it keeps all."""
        pairs = zip(self.bounds, tried.judged, strict=True)
        excess = [bound.excess(value) for bound, value in pairs if value is not None]
        if math.isfinite(self.level) and not tried.in_part:
            excess.append((self.cost(tried, 1 - self.first) - self.level) / (abs(self.level) or 1.0))
        return max(excess, default=-1.0)

    def kept(self, tried: Tried) -> bool:
        """Whether a run keeps all limits and rules, by its exact figures."""
        return tried.sound and not tried.in_part and self.excess(tried) <= 0

    def cost(self, tried: Tried, goal: int | None = None) -> float:
        """What is to be made least, of the goal that is sought or of one by its number."""
        goal = self.first if goal is None else goal
        value = tried.goals[goal]
        assert value is not None, "only sound runs are compared"
        return value if self.goals[goal][0].sense == "smallest" else -value

    @cached_property
    def start(self) -> Point:
        """The design's own values, brought into what may vary."""
        return tuple(own_value(axis, self.design) for axis in self.axes)


def problem(design: Design) -> Problem:
    """The search of a design's [optimize] table. DesignError with every fault of goals and limits."""
    search = design.optimize
    if search is None:
        says = "not given; add an [optimize] table with a goal and what may vary"
        raise DesignError.at("optimize", says)
    base = design.changed({"variant": None, "sweep": None, "optimize": None})
    goals, of_goals = _gathered(partial(_goal, base), search.goals)
    bounds, of_bounds = _gathered(partial(_bounds, base), search.limits)
    found = [*of_goals, *of_bounds, *unmakeable(base, search.axes)]
    if found:
        raise DesignError(found)
    return Problem(design=base, search=search, goals=goals, bounds=tuple(b for both in bounds for b in both))


def _gathered(read: Callable[[T], U], told: Iterable[T]) -> tuple[tuple[U, ...], list[Fault]]:
    """Everything read, and all faults met on the way."""
    found: list[U] = []
    faults: list[Fault] = []
    for each in told:
        try:
            found.append(read(each))
        except DesignError as error:
            faults += error.faults
    return tuple(found), faults


def _goal(design: Design, goal: Goal) -> tuple[Goal, Wanted]:
    side = 1 if goal.sense == "smallest" else -1
    return goal, wanted(goal.figure, f"optimize.{goal.sense}", design, side)


def _bounds(design: Design, limit: Limit) -> list[Bound]:
    """One or both ends of a limit."""
    key = f"optimize.limits.{limit.name}"
    of = {side: wanted(limit.name, key, design, side) for side in (-1, 1)}
    if limit.sure and not of[1].has_band:
        says = "this value of many has no band; leave sure out, or limit a figure of one value"
        raise DesignError.at(f"{key}.sure", says)
    least, most = (value_in(getattr(limit, end), of[1].unit, f"{key}.{end}") for end in ("least", "most"))
    refuse_crossed(limit.name, least, most)
    return [
        Bound(of=of[side], side=side, limit=end, sure=limit.sure)
        for side, end in ((-1, least), (1, most))
        if end is not None
    ]
