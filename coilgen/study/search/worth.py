"""What a step of each limit that binds is worth, and the next finer shop: short walks by exact runs."""

from __future__ import annotations

from dataclasses import replace

from coilgen.frozen import dataclass
from coilgen.study.search.bound import Bound
from coilgen.study.search.finer import finer
from coilgen.study.search.judge import best_of
from coilgen.study.search.problem import Problem, Tried
from coilgen.study.search.walk import Clock, Walk
from coilgen.units import readable

BINDS = 0.005
"""A limit binds where less than this is left to it, in its scale."""
_RUNS, _RUNS_OF_SHOP = 8, 16
"""Exact runs for each limit, and for the finer shop: its ranges are new."""
_KELVINS, _SHARE = 10.0, 0.05
"""A step of a temperature, and of another limit as a share of it."""


@dataclass(frozen=True, kw_only=True)
class Worth:
    """What is eased, in words, and by which share the goal is better then."""

    says: str
    gain: float


def worth_of_steps(asked: Problem, best: Tried, clock: Clock, most: int) -> tuple[Worth, ...]:
    """What easing each binding limit and the shop is worth, as many as runs are left for. best: so far.

    Gains are told at the end: runs for one limit may better the best, or what another limit's step gives.
    """
    eased: list[tuple[str, Problem]] = []
    finest = finer(asked, best)
    for k, bound in enumerate(asked.bounds):
        left = most - (_RUNS_OF_SHOP if finest else 0) - asked.spent
        if _binds(bound, best.judged[k]) and left > 0 and not clock.stops():
            step = _step(bound)
            eased.append((_step_text(bound, step), _eased(asked, k, step)))
            _walk(eased[-1][1], clock, min(_RUNS, left))
    if finest is not None and not clock.stops():
        eased.append((finest.says, finest.of(asked)))
        _walk(eased[-1][1], clock, _RUNS_OF_SHOP)
    return tuple(Worth(says=says, gain=_gain(asked, other)) for says, other in eased if best_of(other))


def _walk(eased: Problem, clock: Clock, runs: int) -> None:
    Walk(eased, clock, most=eased.spent + runs).go(spread=False)


def _binds(bound: Bound, value: float | None) -> bool:
    return value is not None and bound.excess(value) >= -BINDS


def _step(bound: Bound) -> float:
    """How far a limit is moved outward."""
    size = _KELVINS if bound.of.unit == "degC" else _SHARE * (abs(bound.limit) or 1.0)
    return bound.side * size


def _step_text(bound: Bound, step: float) -> str:
    """A step of a limit in words, as `temperature 10 K more`."""
    unit = "K" if bound.of.unit == "degC" else bound.of.unit
    return f"{bound.of.name} {readable(abs(step), unit)} {'more' if step > 0 else 'less'}"


def _eased(asked: Problem, k: int, step: float) -> Problem:
    """The problem with a limit moved; it has the runs in common with the other."""
    bound = asked.bounds[k]
    moved = replace(bound, limit=bound.limit + step)
    return replace(asked, bounds=(*asked.bounds[:k], moved, *asked.bounds[k + 1 :]))


def _gain(asked: Problem, eased: Problem) -> float:
    """By which share the best of a wider problem is better; what is allowed here is so there."""
    best, other = best_of(asked), best_of(eased)
    assert best is not None and other is not None, "told only of problems that have a best"
    return max(0.0, (asked.cost(best) - asked.cost(other)) / (abs(asked.cost(best)) or 1.0))
