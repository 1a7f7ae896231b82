"""A search: the best design within limits, where every answer rests on exact figures."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from coilgen.study.search.found import Found
from coilgen.study.search.front import TO_AN_END, front, walked_front
from coilgen.study.search.judge import best_of, nearest_of
from coilgen.study.search.problem import Tried, problem
from coilgen.study.search.tolerances import within_tolerances
from coilgen.study.search.walk import Clock, Walk
from coilgen.study.search.worth import Worth, worth_of_steps

if TYPE_CHECKING:
    from coilgen.design.design import Design

MOST_RUNS = 150
"""Exact runs of a search."""
_TO_THE_BEST = 110
"""Those that may go to the best; the others tell what steps of limits are worth."""


def optimize(
    design: Design,
    *,
    seconds: float | None = None,
    progress: Callable[[int, Tried | None], None] | None = None,
) -> Found:
    """The best design within the limits of the design's [optimize] table, after at most MOST_RUNS exact runs.

    seconds: stops then, with the best so far; the result else depends on the design alone. progress: called
    after each run with the number of runs and the best so far.
    """
    asked = problem(design)
    clock = Clock(sought=asked, until=None if seconds is None else time.monotonic() + seconds, told=progress)
    alone = len(asked.goals) == 1
    walks = [Walk(asked, clock, most=_TO_THE_BEST if alone else TO_AN_END).go(spread=True)]
    worth: tuple[Worth, ...] = ()
    if walks[0].best is not None and alone:
        worth = worth_of_steps(asked, walks[0].best, clock, MOST_RUNS)
    elif walks[0].best is not None and not clock.stops():
        walks += walked_front(asked, walks[0].best, clock, MOST_RUNS)
    best = best_of(asked)
    return Found(
        problem=asked,
        start=asked.run(asked.start),
        best=best,
        nearest=None if best else nearest_of(asked),
        stopped=clock.stopped,
        short_list=(sum(walk.held for walk in walks), sum(walk.were for walk in walks)),
        front=() if alone else front(asked),
        worth=worth,
        within=within_tolerances(asked, best) if best is not None and not clock.stopped else (),
    )
