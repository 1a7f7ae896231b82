"""What readings taught: how well each cause is pinned, and what boards to come have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.design.calibration import Calibration, Learnt
from coilgen.design.keys import SI
from coilgen.frozen import dataclass
from coilgen.study.bench.fit import BEFORE, Fit
from coilgen.units import per_cent

if TYPE_CHECKING:
    from coilgen.design.calibration import Limits
    from coilgen.study.bench.causes import Cause

PINNED = 0.5
"""Of a cause's width before the readings: what is left of one that they pin."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """A cause before and after the readings: 95 % limits, and the share of the width that is left."""

    cause: Cause
    after: Limits
    left: float

    @property
    def pinned(self) -> bool:
        """Whether the readings tell it."""
        return self.left < PINNED


def told_of(fit: Fit) -> tuple[Told, ...]:
    """Every cause."""
    return tuple(
        Told(cause=cause, after=cause.limits_at(float(place), float(deviation)), left=deviation / BEFORE)
        for cause, place, deviation in zip(fit.problem.causes, fit.line.places, fit.deviations, strict=True)
    )


def calibration_of(fit: Fit, name: str, says: str) -> Calibration:
    """What boards made like these have in common, for designs to come."""
    shared = [place for place, cause in enumerate(fit.problem.causes) if not cause.sample]
    first = [
        place
        for place in shared
        if fit.problem.causes[place].name not in _names(fit, shared[: shared.index(place)])
    ]
    told = told_of(fit)
    deviations = fit.deviations
    correlation = tuple(
        tuple(float(fit.covariance[i, j] / deviations[i] / deviations[j]) for j in first) for i in first
    )
    return Calibration.model_construct(
        file="",
        name=name,
        says=says,
        learnt=tuple(_learnt(told[place]) for place in first),
        correlation=correlation,
    )


def _names(fit: Fit, places: list[int]) -> set[str]:
    return {fit.problem.causes[place].name for place in places}


def _learnt(told: Told) -> Learnt:
    low, value, high = (SI(each) for each in told.after)
    return Learnt.model_construct(cause=told.cause.name, of=told.cause.of, low=low, value=value, high=high)


def limits_text(cause: Cause, limits: Limits) -> str:
    """95 % limits as people write them: a length in µm, or a factor as a change in per cent."""
    if cause.is_length:
        sign = "" if cause.name == "plating" else "+"  # that of a wall is no change of it
        least, value, most = (f"{each * 1e6:{sign}z.1f}" for each in limits)
        return f"{value} µm ({least} to {most})"
    least, value, most = (per_cent(each - 1, 1, signed=True) for each in limits)
    return f"{value} ({least} to {most})"
