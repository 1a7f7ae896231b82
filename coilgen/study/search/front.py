"""The front of two goals: designs that none betters in both."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from coilgen.study.search.problem import Problem, Tried
from coilgen.study.search.walk import Clock, Walk

TO_AN_END = 60
"""Exact runs that may go to the first goal's best."""
_TO_OTHER_END, _TO_A_POINT = 25, 5
"""Runs to the second's best, and to each point between: to come ever nearer to a level is worth nothing, as
the front goes on there."""
_IN_VAIN = 2
"""Walks into a gap after which it is taken for empty, as between numbers of turns."""
_STEP = 0.02
"""Least step of either goal between points of a front, as a share of its breadth."""


def walked_front(asked: Problem, best: Tried, clock: Clock, most: int) -> list[Walk]:
    """Walks to the front's other end, then into the widest gap that is left. best: of the first goal; most:
    runs at which it ends."""
    turned = replace(asked, first=1)
    walks = [Walk(turned, clock, most=asked.spent + _TO_OTHER_END).go(spread=False)]
    other = walks[0].best
    assert other is not None, "the best of one goal is a beginning for the other"
    breadth = [abs(asked.cost(best, goal) - asked.cost(other, goal)) or 1.0 for goal in (0, 1)]
    levels: list[float] = []
    while asked.spent < most and (level := _level(asked, breadth, levels)) is not None:
        levels.append(level)
        walk = Walk(replace(asked, level=level), clock, most=min(most, asked.spent + _TO_A_POINT))
        walks.append(walk.go(spread=False))
    return walks


def _level(asked: Problem, breadth: list[float], tried: list[float]) -> float | None:
    """The middle, by the second goal's cost, of the widest gap of the front that did not stay empty twice."""
    gaps = []
    for one, other in pairwise(_undominated(asked)):
        low, high = sorted((asked.cost(one, 1), asked.cost(other, 1)))
        wide = max(abs(asked.cost(one, k) - asked.cost(other, k)) / breadth[k] for k in (0, 1))
        if wide > _STEP and sum(low < level < high for level in tried) < _IN_VAIN:
            gaps.append((wide, (low + high) / 2))
    return max(gaps)[1] if gaps else None


def front(asked: Problem) -> tuple[Tried, ...]:
    """Runs that keep all limits and that none betters in both goals, from the best of the first on, apart."""
    return tuple(_apart(asked, _undominated(asked)))


def _undominated(asked: Problem) -> list[Tried]:
    kept = sorted(
        (run for run in asked.runs if asked.kept(run)),
        key=lambda run: (asked.cost(run, 0), asked.cost(run, 1)),
    )
    best: list[Tried] = []
    for run in kept:
        if not best or asked.cost(run, 1) < asked.cost(best[-1], 1):
            best.append(run)
    return best


def _apart(asked: Problem, best: list[Tried]) -> list[Tried]:
    """Without those that are nearer to the one before than anybody tells apart; both ends stay."""
    if len(best) < 3:
        return best
    breadth = [abs(asked.cost(best[-1], goal) - asked.cost(best[0], goal)) for goal in (0, 1)]
    told = [best[0]]
    for run in best[1:-1]:
        steps = [
            abs(asked.cost(run, k) - asked.cost(end, k)) / breadth[k]
            for end in (told[-1], best[-1])
            for k in (0, 1)
        ]
        if max(steps[:2]) > _STEP and max(steps[2:]) > _STEP:
            told.append(run)
    return [*told, best[-1]]
