"""Where the causes lie that explain readings best: least squares on linearised forecasts, iterated.

Readings have normal errors, causes the tolerances as what is known before; so has the model's own error of
each sort of reading, which all readings of the sort share. C. E. Rasmussen and C. K. I. Williams, Gaussian
Processes for Machine Learning, section 2.1, has the formulas of the linear case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.study.bench.coupon import coupon_forecast
from coilgen.study.bench.forecast import NORMAL, Forecast
from coilgen.study.bench.reading import samples_of

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.bench.causes import Cause
    from coilgen.study.bench.forecast import Forecaster
    from coilgen.study.bench.reading import Reading
    from coilgen.study.panel.coupons import Expected

Floats = NDArray[np.float64]

BEFORE = 1 / NORMAL
"""Standard deviation of a cause before any reading, in units of its limits."""
_STEP = 0.1
"""Of the limits, for slopes."""
_FARTHEST = 3.0
"""In units of the limits: a cause is not looked for beyond."""
_NEAR, _CLOSE, _ROUNDS = 0.02, 0.3, 10
"""Steps under the first end the iteration, in units of the limits, and after one under the second slopes are
kept; and how many rounds there are at most.
"""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Readings (m) of boards, the designs of their samples, and causes (n) that may explain them.

    coupons: those samples that are no boards but coupons of a panel, whose design tells the stack-up alone.
    """

    readings: tuple[Reading, ...]
    designs: Mapping[str, Design]
    causes: tuple[Cause, ...]
    forecaster: Forecaster
    coupons: Mapping[str, Expected] = field(default_factory=dict)

    @property
    def sorts(self) -> tuple[str, ...]:
        """Sorts of readings, each with one error of its model."""
        return tuple(dict.fromkeys(map(self.sort, self.readings)))

    @property
    def boards(self) -> tuple[str, ...]:
        """Boards that were read, in the order of the readings."""
        return tuple(each for each in samples_of(self.readings) if each not in self.coupons)

    def sort(self, reading: Reading) -> str:
        """Whose model's error it has: that of its figure, or its coupon's own."""
        return reading.sample if reading.sample in self.coupons else reading.figure

    def forecast(self, reading: Reading, places: Floats) -> Forecast:
        """Of one reading with the causes at places (n,); a gap that was set at the bench is as told."""
        made, wider = self._made(reading.sample, places)
        gap = wider if reading.at.gap is None else 0.0
        design = self.designs[reading.sample]
        if reading.sample in self.coupons:
            return coupon_forecast(self.coupons[reading.sample], design, reading, made)
        return self.forecaster.of(design, reading, made, gap)

    def acts(self, cause: Cause, reading: Reading) -> bool:
        """Whether a cause is one of a reading's board; a gap that was set at the bench is as told."""
        if cause.sample:
            return cause.sample == reading.sample and reading.at.gap is None
        from coilgen.design.as_made import subject

        return subject(self.designs[reading.sample], cause.name) == cause.of

    def _made(self, sample: str, places: Floats) -> tuple[Mapping[str, float], float]:
        from coilgen.design.as_made import subject

        design, made, gap = self.designs[sample], {}, 0.0
        for cause, place in zip(self.causes, places, strict=True):
            if cause.sample == sample:
                gap = cause.value(float(place))
            elif not cause.sample and subject(design, cause.name) == cause.of:
                made[cause.name] = cause.value(float(place))
        return made, gap


@dataclass(frozen=True, kw_only=True)
class Line:
    """Forecasts about some places (n,): values (m,) and slopes (m, n + k) by causes and by model errors."""

    places: Floats
    values: Floats
    slopes: Floats

    def at(self, places: Floats) -> Floats:
        """Values (m,) with the causes at other places, without model errors."""
        n = len(self.places)
        return np.asarray(self.values + self.slopes[:, :n] @ (places - self.places))


@dataclass(frozen=True, kw_only=True)
class Fit:
    """What readings tell of the causes. mean, covariance: of causes (n) and of model errors after them (k).

    line: forecasts about the mean; used: (m,) which readings counted.
    """

    problem: Problem
    line: Line
    mean: Floats
    covariance: Floats
    used: NDArray[np.bool_]

    @property
    def deviations(self) -> Floats:
        """Standard deviations (n,) of the causes, in units of their limits."""
        return np.asarray(np.sqrt(np.diag(self.covariance)[: len(self.problem.causes)]))

    @property
    def values(self) -> Floats:
        """Readings (m,) as they should be by what was learnt, the models' errors included."""
        return np.asarray(self.line.values + self.line.slopes[:, len(self.problem.causes) :] @ self._models)

    @property
    def errors(self) -> Floats:
        """Standard deviations (m,) of these values, without those of the readings."""
        return np.asarray(
            np.sqrt(np.einsum("ij,jk,ik->i", self.line.slopes, self.covariance, self.line.slopes))
        )

    @property
    def _models(self) -> Floats:
        return self.mean[len(self.problem.causes) :]


def fitted(problem: Problem, used: NDArray[np.bool_] | None = None, start: Floats | None = None) -> Fit:
    """The causes' posterior. used: (m,) readings that count, all by default; start: (n,) places."""
    count = np.ones(len(problem.readings), dtype=bool) if used is None else used
    places = np.zeros(len(problem.causes)) if start is None else start
    line = linearised(problem, places)
    for rounds in range(1, _ROUNDS + 1):
        mean, covariance = posterior(problem, line, count)
        step = mean[: len(places)] - line.places
        if np.abs(step).max(initial=0.0) < _NEAR:
            break
        places = np.clip(mean[: len(places)], -_FARTHEST, _FARTHEST)
        near = rounds > 1 and np.abs(step).max() < _CLOSE
        line = (
            replace(line, places=places, values=_values(problem, places))
            if near
            else linearised(problem, places)
        )
    return Fit(
        problem=problem,
        line=replace(line, places=mean[: len(places)], values=line.at(mean[: len(places)])),
        mean=mean,
        covariance=covariance,
        used=count,
    )


def _values(problem: Problem, places: Floats) -> Floats:
    return np.array([problem.forecast(each, places).value for each in problem.readings])


def linearised(problem: Problem, places: Floats) -> Line:
    """Forecasts and their slopes about places (n,)."""
    found = [problem.forecast(each, places) for each in problem.readings]
    values = np.array([each.value for each in found])
    slopes = [_slopes(problem, places, values, cause) for cause in range(len(problem.causes))]
    models = np.array([each.model for each in found])
    kinds = np.array([problem.sort(each) for each in problem.readings])
    own = [np.where(kinds == sort, models, 0.0) for sort in problem.sorts]
    return Line(places=places, values=values, slopes=np.array([*slopes, *own]).T)


def _slopes(problem: Problem, places: Floats, values: Floats, number: int) -> Floats:
    """Of all readings by one cause, (m,)."""
    moved, cause = places.copy(), problem.causes[number]
    moved[number] += _STEP
    ends = [
        problem.forecast(reading, moved).value if problem.acts(cause, reading) else float(value)
        for reading, value in zip(problem.readings, values, strict=True)
    ]
    return np.asarray((np.array(ends) - values) / _STEP)


def posterior(problem: Problem, line: Line, used: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Mean (n + k,) and covariance of causes and model errors on a line of forecasts."""
    from scipy.linalg import lstsq

    n = len(problem.causes)
    before = deviations_before(problem)
    noise = np.array([each.uncertainty for each in problem.readings])
    told = np.array([each.value for each in problem.readings])
    target = (told - line.at(np.zeros(n))) / noise
    rows = np.vstack([(line.slopes / noise[:, None])[used], np.diag(1 / before)])
    mean = np.asarray(lstsq(rows, np.concatenate([target[used], np.zeros(len(before))]))[0])
    return mean, np.linalg.inv(rows.T @ rows)


def deviations_before(problem: Problem) -> Floats:
    """Standard deviations (n + k,) of causes, in units of their limits, and of model errors, in theirs."""
    causes: Sequence[float] = [BEFORE] * len(problem.causes)
    return np.array([*causes, *([1.0] * len(problem.sorts))])
