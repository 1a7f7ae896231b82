"""Estimates of goal, limits and room from all that was computed, and of each point how bad it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from coilgen.study.search.forms import Forms
from coilgen.study.search.problem import Point, Problem, Tried, is_finite
from coilgen.study.search.space import Space
from coilgen.study.search.surface import Surface, surface

Array = np.ndarray[Any, np.dtype[np.float64]]
FAR = 1e6
"""Badness from which on a point is held to break a limit."""
_ROOMS = 200
"""Points whose room is estimated from, those looked at last."""
_CLOSED = 200
"""Points that cannot be built which are learned from, those met last."""
_MOST_CAUTION = 0.9
_MILLIMETRE = 1e-3
_LEAST = 4
"""Runs that estimates need. Where fewer tell the goal, as what takes long is left out far beyond limits, it
counts for nothing, and estimates lead to the limits alone."""


class Judge:
    """Estimates of points that were not run.

    of: closed forms that they learn over besides the keys; back_off: how far off limits is held to be within;
    caution: how sure it must be that a point keeps rules and can be built, from 0 (likelier than not) to 1.
    """

    def __init__(
        self, asked: Problem, space: Space, of: Forms | None, back_off: float, caution: float
    ) -> None:
        self.asked, self.space, self.forms = asked, space, of
        self.back_off, self.caution = back_off, min(caution, _MOST_CAUTION)
        built = [run for run in asked.known if run.fault is None]
        costs = _with_goal(asked)
        enough = len(costs) >= _LEAST
        self.scale = float(np.median([abs(asked.cost(run)) for run in costs])) or 1.0 if enough else 1.0
        self.goal = self._through([(run.point, asked.cost(run)) for run in costs]) if enough else None
        self.limits = [
            self._through([(run.point, run.judged[k]) for run in built]) for k in range(len(asked.bounds))
        ]
        self.other: Surface | None = None
        if math.isfinite(asked.level):
            self.other = self._through([(run.point, asked.cost(run, 1 - asked.first)) for run in costs])
        self._look_at_what_fails()

    def _look_at_what_fails(self) -> None:
        rooms, runs = self.asked.rooms, self.asked.runs
        built = [run for run in runs if run.fault is None]
        closed = [point for point, room in rooms if math.isinf(room)]
        self.open = self._dividing(
            [run.point for run in built],
            [*(run.point for run in runs if run.fault is not None), *closed[-_CLOSED:]],
        )
        sound, unsound = ([run.point for run in built if run.sound is one] for one in (True, False))
        self.sound = self._dividing(sound, unsound)
        counts = [(run.point, float(run.rules_broken)) for run in built]
        self.broken = None if sound else self._through(counts, plain=True)
        finite = [(point, room) for point, room in rooms if math.isfinite(room)]
        self.room = self._through(finite[-_ROOMS:], plain=True)

    def _dividing(self, above: Sequence[Point], below: Sequence[Point]) -> Surface | None:
        """A surface of 1 at some points and -1 at others; None where there are none of these."""
        signs = [*((point, 1.0) for point in above), *((point, -1.0) for point in below)]
        return self._through(signs, plain=True) if below else None

    def _through(self, told: Sequence[tuple[Point, float | None]], *, plain: bool = False) -> Surface | None:
        """A surface through all values that are known; None where there is none."""
        known = [(point, value) for point, value in told if value is not None and math.isfinite(value)]
        if not known:
            return None
        points, values = zip(*known, strict=True)
        rows = self._rows([*points])
        features = self.space.features(rows) if plain else self._learned_over(rows)
        return surface(features, np.array(values), plain=plain)

    def _learned_over(self, rows: Array) -> Array:
        """Keys, and closed forms where there are any, (n, features)."""
        keys = self.space.features(rows)
        return keys if self.forms is None else np.concatenate([keys, self.forms.at(rows)], axis=1)

    def badness(self, rows: Array) -> Array:
        """What is to be made least, (n,): the goal within limits, else how far beyond they are.

        What breaks a rule is worse than all that only break limits, and what cannot be built worse than both:
        among designs that are alike in these, limits and goal lead on.
        """
        features, keys = self._learned_over(rows), self.space.features(rows)
        cost = self.goal.at(features) / self.scale if self.goal is not None else np.zeros(len(rows))
        beyond = self._beyond(features)
        told: Array = np.where(beyond > 0, FAR * (1 + beyond) + cost, cost)
        return told + FAR**2 * self._broken(keys) + FAR**3 * self._missing(keys)

    def _broken(self, keys: Array) -> Array:
        """Rules that are broken, (n,): how many where no run keeps all, else 1 for any; 0 for none."""
        if self.broken is not None:
            return np.maximum(0.0, np.rint(self.broken.at(keys)))
        broken = np.zeros(len(keys))
        if self.sound is not None:
            broken[self.sound.at(keys) < self.caution] = 1.0
        return broken

    def _missing(self, keys: Array) -> Array:
        """What it lacks to be built, (n,): room in millimetres, and 1 for all else that is in the way."""
        missing = np.zeros(len(keys))
        if self.open is not None:
            missing += self.open.at(keys) < self.caution
        if self.room is not None:
            missing += np.maximum(0.0, -self.room.at(keys) / _MILLIMETRE)
        return missing

    def _beyond(self, features: Array) -> Array:
        """The worst excess over limits and level, (n,), each in its own scale."""
        excess = np.full(len(features), -1.0)
        for bound, of in zip(self.asked.bounds, self.limits, strict=True):
            if of is not None:
                beyond = bound.side * (of.at(features) - bound.limit) / bound.scale
                excess = np.maximum(excess, beyond + self.back_off)
        if self.other is not None:
            level = self.asked.level
            beyond = (self.other.at(features) - level) / (abs(level) or 1.0)
            excess = np.maximum(excess, beyond + self.back_off)
        return excess

    def _rows(self, points: list[Point]) -> Array:
        return np.stack([self.space.row(point) for point in points])


def judge(asked: Problem, space: Space, of: Forms | None, back_off: float, caution: float) -> Judge | None:
    """Estimates, where enough is known for any."""
    built = [run for run in asked.known if run.fault is None]
    return Judge(asked, space, of, back_off, caution) if len(built) >= _LEAST else None


def _with_goal(asked: Problem) -> list[Tried]:
    """What is known of the goal that is sought."""
    built = (run for run in asked.known if run.fault is None)
    return [run for run in built if is_finite(run.goals[asked.first])]


def best_of(asked: Problem) -> Tried | None:
    """The best run that keeps all limits."""
    return min((run for run in asked.runs if asked.kept(run)), key=asked.cost, default=None)


def nearest_of(asked: Problem) -> Tried | None:
    """The run that can be built and breaks least: rules of the shop first, then its worst limit."""
    built = (run for run in asked.runs if run.fault is None)
    return min(built, key=lambda run: breach(asked, run), default=None)


def breach(asked: Problem, run: Tried) -> tuple[bool, int, float]:
    """How far a run that can be built is from keeping everything, to be compared in this order.

    Whether it breaks rules or lacks a figure, at how many places, and how far it is beyond its worst limit.
    """
    return not run.sound, run.rules_broken, asked.excess(run)
