"""One walk of a search: exact runs all over the space, then where estimates learned from them lead.

Estimates only choose what is run next. All that is drawn at random is drawn from the same numbers each time,
so the same problem gives the same runs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from coilgen.errors import DesignError, Fault
from coilgen.study.search.forms import forms
from coilgen.study.search.judge import FAR, Judge, best_of, breach, judge, nearest_of
from coilgen.study.search.problem import Point, Problem, Tried
from coilgen.study.search.space import Space

Array = np.ndarray[Any, np.dtype[np.float64]]
_FIRST, _FIRST_AT_MOST, _FIRST_LOOKS = 6, 60, 512
"""Runs spread over the space before estimates begin, for each key, at most, and points looked at for them."""
_ROWS = 1200
"""Rows estimated in each batch."""
_REACHES = (0.3, 0.1, 0.03, 0.01, 0.003, 0.001)
"""How far batches about the best row reach, in widths of the space."""
_WIDE = 3
"""Each so many steps one begins all over the space, with other choices than the best run's."""
_LOOKS = 12
"""Points without room that are passed over in a step; the next step's estimates know of them."""
_IN_VAIN = 8
"""Steps one after another that find no point with room, after which the walk ends."""
_CAUTION = 0.15
"""How much surer than before, from -1 to 1, each of those is that what it looks at can be built."""
_PATIENCE = 14
"""Runs without a gain after which the walk ends."""
_GAIN = 2e-4
"""A run that betters the best by less than this share is no gain."""
_BACK_OFF, _LEAST_BACK_OFF, _MOST_BACK_OFF, _FAR_OFF = 0.01, 1e-4, 0.02, 0.01
"""What estimates stay off limits: at first, at least, at most, and at least where far from the best run."""


@dataclass(kw_only=True)
class Clock:
    """When to stop (a time of the monotonic clock, None for never), and whom to tell of each run.

    sought: whose best is told, whatever is walked beside it. stopped: whether time ran out with work left.
    """

    sought: Problem
    until: float | None = None
    told: Callable[[int, Tried | None], None] | None = None
    stopped: bool = False

    def stops(self) -> bool:
        """Whether work that is left must stay undone. Once it is so, all that follows does, too."""
        self.stopped = self.stopped or (self.until is not None and time.monotonic() > self.until)
        return self.stopped


class Walk:
    """Runs of a problem until nothing is gained. most: exact runs of the problem at which it ends.

    held, were: runs that proved estimates held to keep all limits, and how many of them did. proved: whether
    estimates were right the last time.
    """

    def __init__(self, asked: Problem, clock: Clock, *, most: int) -> None:
        self.asked, self.space, self.clock, self.most = asked, Space(asked.axes), clock, most
        self.forms = forms(asked, self.space)
        self.generator = np.random.default_rng(20)
        self.held, self.were = 0, 0
        self.proved = False
        self.idle, self.back_off = 0, _BACK_OFF
        self.best, self.nearest = best_of(asked), nearest_of(asked)

    def go(self, *, spread: bool) -> Walk:
        """Walks to the end. spread: with runs all over the space first."""
        self._run(self.asked.start)
        for point, promised in self._points(spread):
            if self.clock.stops():
                break
            self._learn(self._run(point), promised)
        _refuse_inapplicable(self.asked)
        return self

    def _run(self, point: Point) -> Tried:
        tried = self.asked.run(point)
        self.idle = 0 if self._gains(tried) else self.idle + 1
        self.best, self.nearest = best_of(self.asked), nearest_of(self.asked)
        if self.clock.told is not None:
            self.clock.told(self.asked.spent, best_of(self.clock.sought))
        return tried

    def _gains(self, tried: Tried) -> bool:
        """Whether a run betters the best one, or breaks less where none keeps rules and limits."""
        if tried.fault is not None:
            return False
        if self.best is None:
            if self.nearest is None:
                return True
            *others, beyond = breach(self.asked, tried)
            *least, excess = breach(self.asked, self.nearest)
            return (others, beyond + _GAIN) < (least, excess)
        before = self.asked.cost(self.best)
        return self.asked.kept(tried) and before - self.asked.cost(tried) > _GAIN * abs(before)

    def _learn(self, tried: Tried, promised: bool) -> None:
        """Estimates stay farther off limits where they were wrong, nearer where they were right.

        Only what estimates promise that were right the last time is held to keep the limits: the first ones
        rest on runs spread over the space alone, and each run corrects them.
        """
        if promised:
            kept = self.asked.kept(tried)
            if self.proved:
                self.held, self.were = self.held + 1, self.were + kept
            self.proved = kept
            other = self.back_off / 1.5 if kept else 3 * self.back_off
            self.back_off = min(_MOST_BACK_OFF, max(_LEAST_BACK_OFF, other))

    def _points(self, spread: bool) -> Iterator[tuple[Point, bool]]:
        """What to run next, and whether estimates promise that it keeps all limits."""
        if spread:
            yield from ((point, False) for point in self._spread())
            if self._is_closed():
                return
        _refuse_inapplicable(self.asked)
        self.idle = 0
        step, in_vain = 0, 0
        while self.asked.spent < self.most and self.idle < _PATIENCE and in_vain < _IN_VAIN:
            step += 1
            found = self._next(wide=step % _WIDE == 0, caution=_CAUTION * in_vain)
            in_vain = in_vain + 1 if found is None else 0
            if found is not None:
                yield found

    def _spread(self) -> Iterator[Point]:
        """Points all over the space that have room, spread evenly (Sobol's sequence, scrambled alike)."""
        from scipy.stats import qmc

        axes = len(self.asked.axes)
        left = min(_FIRST_AT_MOST, _FIRST * axes + _FIRST - 2, self.most - self.asked.spent)
        rows = self.space.filled(qmc.Sobol(axes, scramble=True, seed=7).random(_FIRST_LOOKS))
        for point in map(self.space.point, rows):
            if left > 0 and self._is_open(point):
                left -= 1
                yield point

    def _is_closed(self) -> bool:
        """Whether keys contradict one another wherever it was looked at: then they do so everywhere."""
        rooms = [room for _, room in self.asked.rooms]
        return len(rooms) >= _FIRST_LOOKS // 2 and all(math.isinf(room) for room in rooms)

    def _is_open(self, point: Point) -> bool:
        return not self.asked.was_run(point) and self.asked.room(point) >= 0

    def _next(self, *, wide: bool, caution: float) -> tuple[Point, bool] | None:
        """The most promising point that was not run and has room; None where there is none left."""
        back_off = max(self.back_off, _FAR_OFF) if wide else self.back_off
        estimates = judge(self.asked, self.space, self.forms, back_off, caution)
        if estimates is None:
            points = map(self.space.point, self.space.random(self.generator, _ROWS))
            return next(((point, False) for point in points if self._is_open(point)), None)
        rows = np.unique(self._candidates(estimates, wide), axis=0)
        badness = self._badness(estimates, rows, wide)
        order = np.argsort(badness, kind="stable")
        return self._first_open((self.space.point(rows[k]), bool(badness[k] < FAR)) for k in order)

    def _candidates(self, estimates: Judge, wide: bool) -> Array:
        """Rows ever nearer about the best one, (n, axes)."""
        begin = self.best or self.nearest
        if wide or begin is None:
            rows = self.space.random(self.generator, _ROWS)
        else:
            rows = self.space.row(begin.point)[None]
        gathered = [rows]
        for reach in _REACHES:
            best = rows[np.argmin(self._badness(estimates, rows, wide))]
            rows = np.concatenate([best[None], self.space.around(self.generator, best, reach, _ROWS)])
            gathered.append(rows)
        return np.concatenate(gathered)

    def _badness(self, estimates: Judge, rows: Array, wide: bool) -> Array:
        """As estimated, (n,). Wide steps leave the best run's choices to the others."""
        badness = estimates.badness(rows)
        if wide and self.best is not None and self.space.listed.any():
            own = self.space.row(self.best.point)
            alike = (rows == own)[:, self.space.listed].all(axis=1)
            badness = np.where(alike, np.inf, badness)
        return badness

    def _first_open(self, ranked: Iterator[tuple[Point, bool]]) -> tuple[Point, bool] | None:
        """The first that has room, of the next few that nothing is known of."""
        looked = 0
        for point, promised in ranked:
            if self.asked.is_known(point) and not self._is_open(point):
                continue
            if self._is_open(point):
                return point, promised
            looked += 1
            if looked >= _LOOKS:
                return None
        return None


def _refuse_inapplicable(asked: Problem) -> None:
    """DesignError for goals and limits on figures that apply to no design that was run."""
    built = [run for run in asked.runs if run.fault is None and not run.in_part]
    keys = [f"optimize.{goal.sense}" for goal, _ in asked.goals]
    keys += [f"optimize.limits.{bound.of.name}" for bound in asked.bounds]
    wanted = [*(of for _, of in asked.goals), *(bound.of for bound in asked.bounds)]
    faults = [
        Fault(key=key, says=f"{of.name} applies to none of the designs; add what it needs, or name another")
        for k, (key, of) in enumerate(zip(keys, wanted, strict=True))
        if built and all((*run.goals, *run.judged)[k] is None for run in built)
    ]
    if faults:
        raise DesignError(faults)
