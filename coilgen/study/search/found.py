"""What a search has found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.frozen import dataclass
from coilgen.job import check
from coilgen.study.search.problem import RULES, Problem, Tried

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.search.tolerances import Within
    from coilgen.study.search.worth import Worth


@dataclass(frozen=True, kw_only=True)
class Found:
    """A search's end: the best run that keeps all limits (None where none does), and all runs in order.

    nearest: of no answer, the run that breaks the fewest rules, and of these the one least beyond its limits.
    stopped: whether time ran out before. worth: what a step of each binding limit is worth. within: where
    goals and limits of the best lie within tolerances. front: of two goals, the best designs of both.
    short_list: of the runs that estimates held to keep all limits, how many there are and how many did.
    """

    problem: Problem
    start: Tried
    best: Tried | None
    nearest: Tried | None
    stopped: bool
    short_list: tuple[int, int]
    front: tuple[Tried, ...] = ()
    worth: tuple[Worth, ...] = ()
    within: tuple[Within, ...] = ()

    @property
    def runs(self) -> tuple[Tried, ...]:
        """All designs that were computed exactly."""
        return self.problem.runs

    @property
    def value(self) -> float | None:
        """The goal's value at the best run."""
        return None if self.best is None else self.best.goals[0]

    @property
    def optimum(self) -> Design | None:
        """The best design."""
        return None if self.best is None else self.problem.built(self.best.point)

    @property
    def in_the_way(self) -> str | None:
        """Of no answer: the limit that stands most in the way."""
        return None if self.best is not None else _in_the_way(self.problem, self.nearest)


def _in_the_way(asked: Problem, nearest: Tried | None) -> str:
    """The worst limit of the nearest run; what cannot be built is told as such."""
    if nearest is None:
        fault = next(run.fault for run in asked.runs if run.fault is not None)
        return str(fault.faults[0])
    if nearest.rules_broken:
        broken = dict.fromkeys(finding.rule for finding in check(asked.built(nearest.point)).findings)
        return f"{RULES}, {' and '.join(broken)}"
    pairs = zip(asked.bounds, nearest.judged, strict=True)
    excess = [(bound.excess(value), bound.says) for bound, value in pairs if value is not None]
    return max(excess)[1]
