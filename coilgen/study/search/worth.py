"""What a step of each limit that binds is worth: a short walk with that limit moved, by exact runs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coilgen.study.search.judge import best_of
from coilgen.study.search.problem import Bound, Problem, Tried
from coilgen.study.search.walk import Clock, Walk

BINDS = 0.005
"""A limit binds where less than this is left to it, in its scale."""
_RUNS = 8
"""Exact runs for each limit."""
_KELVINS, _SHARE = 10.0, 0.05
"""A step of a temperature, and of another limit as a share of it."""


@dataclass(frozen=True, kw_only=True)
class Worth:
    """Of a limit how far it was moved, and by which share the goal is better then."""

    bound: Bound
    step: float
    gain: float


def worth_of_steps(asked: Problem, best: Tried, clock: Clock, most: int) -> tuple[Worth, ...]:
    """What a step of each binding limit is worth, as many as runs are left for. best: the best run so far.

    Gains are told at the end: runs for one limit may better the best, or what another limit's step gives.
    """
    eased: list[tuple[Bound, float, Problem]] = []
    for k, bound in enumerate(asked.bounds):
        if _binds(bound, best.judged[k]) and not clock.is_over and asked.spent < most:
            step = _step(bound)
            eased.append((bound, step, _eased(asked, k, step)))
            Walk(eased[-1][2], clock, most=min(most, asked.spent + _RUNS)).go(spread=False)
    return tuple(Worth(bound=bound, step=step, gain=_gain(asked, other)) for bound, step, other in eased)


def _binds(bound: Bound, value: float | None) -> bool:
    return value is not None and bound.excess(value) >= -BINDS


def _step(bound: Bound) -> float:
    """How far a limit is moved outward."""
    size = _KELVINS if bound.of.unit == "degC" else _SHARE * (abs(bound.limit) or 1.0)
    return bound.side * size


def _eased(asked: Problem, k: int, step: float) -> Problem:
    """The problem with a limit moved; it has the runs in common with the other."""
    bound = asked.bounds[k]
    moved = replace(bound, limit=bound.limit + step)
    return replace(asked, bounds=(*asked.bounds[:k], moved, *asked.bounds[k + 1 :]))


def _gain(asked: Problem, eased: Problem) -> float:
    """By which share the best of a wider problem is better."""
    best, other = best_of(asked), best_of(eased)
    assert best is not None and other is not None, "what keeps a limit keeps a wider one"
    return (asked.cost(best) - asked.cost(other)) / (abs(asked.cost(best)) or 1.0)
