"""Where goals and limits of the best design lie within tolerances: what may be lost, what may break."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.frozen import dataclass
from coilgen.study.search.bound import FORCES, is_sized, size

if TYPE_CHECKING:
    from coilgen.result.figure import Case
    from coilgen.study.search.bound import Bound
    from coilgen.study.search.problem import Problem, Tried
    from coilgen.study.search.wanted import Wanted


@dataclass(frozen=True, kw_only=True)
class Within:
    """The band of a figure (95 %: tolerances, and the model's own error), and its end on the bad side.

    loss: of a goal, by which share it is worse there; None of a limit. breaks: of a limit, whether it is
    broken there. known: false of a limit that is to be kept within a band that its figure does not have.
    """

    of: Wanted
    low: float
    high: float
    far: float
    loss: float | None = None
    breaks: bool = False
    known: bool = True


def within_tolerances(asked: Problem, best: Tried) -> tuple[Within, ...]:
    """Of the best design's goals, and of its limits that are not kept by the far end of the band as it is."""
    case = asked.case(best.point, tolerances=True)
    found = [_of_goal(asked, best, number, case) for number in range(len(asked.goals))]
    found += [_of_limit(bound, value, case) for bound, value in zip(asked.bounds, best.judged, strict=True)]
    return tuple(each for each in found if each is not None)


def _of_goal(asked: Problem, best: Tried, number: int, case: Case) -> Within | None:
    goal, of = asked.goals[number]
    value, ends = best.goals[number], _ends(of, case, sized=is_sized(goal))
    if ends is None or not value:
        return None
    far = ends[0] if goal.sense == "largest" else ends[1]
    return Within(of=of, low=ends[0], high=ends[1], far=far, loss=abs(far - value) / abs(value))


def _of_limit(bound: Bound, value: float | None, case: Case) -> Within | None:
    ends = _ends(bound.of, case, sized=bound.of.figure in FORCES)
    if bound.sure and ends is None and value is not None:
        return Within(of=bound.of, low=value, high=value, far=value, known=False)
    if bound.sure or ends is None:
        return None
    far = ends[1] if bound.side > 0 else ends[0]
    return Within(of=bound.of, low=ends[0], high=ends[1], far=far, breaks=bound.excess(far) > 0)


def _ends(of: Wanted, case: Case, *, sized: bool) -> tuple[float, float] | None:
    """Both ends of a figure's band; None where it has none."""
    band = of.band(case)
    if band is None:
        return None
    return size(*band) if sized else band
