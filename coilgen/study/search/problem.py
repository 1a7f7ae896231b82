"""What a search is to solve: points of a space of keys, each a design, with goal and margins to limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from coilgen.design.as_made import as_made
from coilgen.design.design import Design
from coilgen.design.optimizing import Goal, Limit, Search, Span, refuse_crossed
from coilgen.design.sweeping import Axis, Choice
from coilgen.errors import DesignError, Fault
from coilgen.study.evaluator import RememberedCase, as_told, rules_broken
from coilgen.study.margins import room_inside
from coilgen.study.memory import Memory
from coilgen.study.search.makeable import unmakeable
from coilgen.study.search.start import own_value
from coilgen.study.search.wanted import Wanted, value_in, wanted
from coilgen.units import readable

T = TypeVar("T")
U = TypeVar("U")

RULES = "rules of the shop"
FORCES = ("force_on_magnet", "force_reversed", "force_at_rest", "force_constant", "pull_on_target")
"""Figures whose size counts where nothing else is told: their sign is a direction."""

_NEARLY = 0.05
"""How far beyond a quick limit a design is still computed whole: estimates near the limit learn from it."""

Point = tuple[Choice, ...]


@dataclass(frozen=True, kw_only=True)
class Bound:
    """A limit in the figure's unit: at least (side -1) or at most (side 1) that much."""

    of: Wanted
    side: int
    limit: float
    sure: bool

    @property
    def says(self) -> str:
        """The limit as a person reads it, here and wherever it is told."""
        end = "at most" if self.side > 0 else "at least"
        sure = " within tolerances" if self.sure else ""
        return f"{self.of.name} {end} {readable(self.limit, self.of.unit, 4)}{sure}"

    @property
    def scale(self) -> float:
        """What a margin is counted in; temperatures in tens of degrees."""
        return 10.0 if self.of.unit == "degC" else abs(self.limit) or 1.0

    def excess(self, value: float) -> float:
        """How far a value is beyond the limit, in the scale; negative within."""
        return self.side * (value - self.limit) / self.scale


@dataclass(frozen=True, kw_only=True)
class Tried:
    """An exact run: goals' values (None where they do not apply), values that limits judge, rules broken.

    in_part: it is so far beyond limits that what needs cores or target solved was left out, None too.
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

        Minus infinity where keys contradict one another, negative where the opening is too small.
        """
        key = repr(point)
        if key not in self._rooms:
            self._rooms[key] = point, self._room(point)
        return self._rooms[key][1]

    def _room(self, point: Point) -> float:
        try:
            return room_inside(self.built(point))
        except DesignError:
            return -math.inf

    def run(self, point: Point) -> Tried:
        """The exact figures of a point, computed once."""
        key = repr(point)
        if key not in self._runs:
            self._runs[key] = self._computed(point)
        return self._runs[key]

    def _computed(self, point: Point) -> Tried:
        try:
            case = self.case(point)
            sure = self.case(point, tolerances=True) if any(b.sure for b in self.bounds) else case
            return self._in_part(point, case, sure) or Tried(
                point=point,
                rules_broken=rules_broken(case),
                goals=tuple(_sized(goal, each.read(case)) for goal, each in self.goals),
                judged=tuple(_judged(bound, sure if bound.sure else case) for bound in self.bounds),
            )
        except DesignError as error:
            return Tried(point=point, fault=error)

    def _in_part(self, point: Point, case: RememberedCase, sure: RememberedCase) -> Tried | None:
        """A design with cores or target by rules and quick limits alone, where it is far beyond these."""
        if not (case.design.core or case.design.target):
            return None
        judged = tuple(
            None if bound.of.solves_bodies else _judged(bound, sure if bound.sure else case)
            for bound in self.bounds
        )
        pairs = zip(self.bounds, judged, strict=True)
        far = any(value is not None and bound.excess(value) > _NEARLY for bound, value in pairs)
        broken = rules_broken(case)
        if not (far or broken):
            return None
        nothing = (None,) * len(self.goals)
        return Tried(point=point, rules_broken=broken, goals=nothing, judged=judged, in_part=True)

    def case(self, point: Point, *, tolerances: bool = False) -> RememberedCase:
        """A point's figures, with their bands only where tolerances count."""
        design = as_made(self.built(point))
        return RememberedCase(design if tolerances else as_told(design), self._memory)

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


def _sized(goal: Goal, value: float | None) -> float | None:
    return abs(value) if value is not None and is_sized(goal) else value


def is_sized(goal: Goal) -> bool:
    """Whether the size of a goal's figure counts, not its sign."""
    return goal.figure in FORCES if goal.magnitude is None else goal.magnitude


def _judged(bound: Bound, case: RememberedCase) -> float | None:
    """The value, or the far end of its band. A force's size is meant by a limit on it."""
    value = bound.of.read(case)
    if value is None:
        return None
    ends = (bound.of.band(case) if bound.sure else None) or (value, value)
    low, high = size(*ends) if bound.of.figure in FORCES else ends
    return high if bound.side > 0 else low


def size(low: float, high: float) -> tuple[float, float]:
    """Least and largest size within a band."""
    sizes = abs(low), abs(high)
    return (0.0 if low < 0 < high else min(sizes)), max(sizes)


def problem(design: Design) -> Problem:
    """The search of a design's [optimize] table. DesignError with every fault of goals and limits."""
    search = design.optimize
    if search is None:
        says = "not given; add an [optimize] table with a goal and what may vary"
        raise DesignError.at("optimize", says)
    if design.windings:
        says = (
            f"searches boards of one winding, here are {len(design.windings)}; `coilgen sweep` varies "
            "several windings, or search each in a file of its own"
        )
        raise DesignError.at("optimize", says)
    base = design.changed({"variant": None, "sweep": None, "optimize": None})
    goals, of_goals = _gathered(_goal, search.goals)
    bounds, of_bounds = _gathered(_bounds, search.limits)
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


def _goal(goal: Goal) -> tuple[Goal, Wanted]:
    return goal, wanted(goal.figure, f"optimize.{goal.sense}")


def _bounds(limit: Limit) -> list[Bound]:
    """One or both ends of a limit."""
    key = f"optimize.limits.{limit.name}"
    of = wanted(limit.name, key)
    if limit.sure and of.steps:
        says = "a table's cell has no band; leave sure out, or limit a figure of one value"
        raise DesignError.at(f"{key}.sure", says)
    least, most = (value_in(getattr(limit, end), of.unit, f"{key}.{end}") for end in ("least", "most"))
    refuse_crossed(limit.name, least, most)
    ends = ((-1, least), (1, most))
    return [Bound(of=of, side=side, limit=end, sure=limit.sure) for side, end in ends if end is not None]
