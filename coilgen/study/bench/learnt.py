"""What readings taught: how well each cause is pinned, which cannot be told apart, what to read next."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.calibration import Calibration, Learnt
from coilgen.design.keys import SI
from coilgen.errors import DesignError
from coilgen.study.bench.fit import BEFORE, Fit, linearised
from coilgen.study.bench.reading import Conditions, Reading
from coilgen.units import quantity, readable

if TYPE_CHECKING:
    from coilgen.design.calibration import Limits
    from coilgen.design.design import Design
    from coilgen.study.bench.causes import Cause

PINNED = 0.5
"""Of a cause's width before the readings: what is left of one that they pin."""
_TOGETHER = 0.8
"""Correlation over which two causes cannot be told apart."""
_ANY = "a reading that only one of them changes would"
_HELP = {
    frozenset({"trace width", "copper thickness"}): "boards of another trace width in the same batch, or a "
    "section through a trace, would"
}
"""What would tell two causes apart."""
_METER = (1e4, 1e5)
"""Hz: usual frequencies of meters, for readings that are proposed."""


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


def lessons(fit: Fit) -> Iterator[str]:
    """In sentences: what cannot be told apart, and the reading that would tell most next."""
    yield from _apart(fit)
    following = next_reading(fit)
    if following is not None:
        yield following


def _apart(fit: Fit) -> Iterator[str]:
    n = len(fit.problem.causes)
    deviations, told = fit.deviations, told_of(fit)
    for one, other in itertools.combinations(range(n), 2):
        correlation = fit.covariance[one, other] / deviations[one] / deviations[other]
        names = [fit.problem.causes[each].label for each in (one, other)]
        if abs(correlation) > _TOGETHER and not (told[one].pinned and told[other].pinned):
            yield (
                f"These readings cannot tell {names[0]} from {names[1]}: what one takes the other may give "
                f"(correlation {correlation:+.2f}); {_HELP.get(frozenset(names), _ANY)}"
            )


def next_reading(fit: Fit) -> str | None:
    """Of readings that were not taken the one that would narrow the causes most, by the information in it."""
    best: tuple[float, Reading, int, float] | None = None
    for reading in _untaken(fit):
        try:
            slopes = _slopes(fit, reading)
        except DesignError:
            continue
        weighed = fit.covariance @ slopes
        told = float(slopes @ weighed) / reading.uncertainty**2
        n = len(fit.problem.causes)
        after = np.diag(fit.covariance)[:n] - weighed[:n] ** 2 / (reading.uncertainty**2 * (1 + told))
        shares = np.sqrt(np.maximum(after, 0.0)) / fit.deviations
        if best is None or told > best[0]:
            best = told, reading, int(shares.argmin()), float(shares.min())
    if best is None or best[0] < 0.5:
        return None
    _, reading, number, ratio = best
    name = fit.problem.causes[number].label
    then = f"the band of {name} would be {ratio:.0%} as wide as it is now"
    return f"The reading that would tell most next: {reading.name}; {then}"


def _slopes(fit: Fit, reading: Reading) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Of one more reading by causes and model errors (n + k,); an error of a new sort's model is noise."""
    line = linearised(replace(fit.problem, readings=(reading,)), fit.line.places)
    n = len(fit.problem.causes)
    models = [line.slopes[0, n] if sort == reading.figure else 0.0 for sort in fit.problem.sorts]
    return np.array([*line.slopes[0, :n], *models])


def _untaken(fit: Fit) -> Iterator[Reading]:
    """Readings of the first board that no one took, with usual uncertainty."""
    sample = fit.problem.readings[0].sample
    taken = {(each.figure, each.at.frequency, each.at.height) for each in fit.problem.readings}
    design = fit.problem.designs[sample]
    for reading in usual_readings(design, sample):
        if (reading.figure, reading.at.frequency, reading.at.height) in taken:
            continue
        try:
            value = fit.problem.forecast(reading, fit.line.places).value
        except DesignError:
            continue
        yield replace(reading, value=value, uncertainty=_usual(reading, value))


def _usual(reading: Reading, value: float) -> float:
    text = reading.kind.usual_uncertainty
    if text.endswith("%"):
        return abs(quantity(text, "fraction") * value)
    return quantity(text, reading.kind.spread or reading.kind.dimension)


def usual_readings(design: Design, sample: str) -> Iterator[Reading]:
    """What a bench can read of a board of the design, without values."""
    for at in _usual_conditions(design):
        yield Reading(sample=sample, figure=at[0], value=0.0, uncertainty=1.0, at=at[1])


def _usual_conditions(design: Design) -> Iterator[tuple[str, Conditions]]:
    room = 23.0
    yield "resistance", Conditions(temperature=room)
    for frequency in _METER:
        for figure in ("inductance", "quality"):
            yield figure, Conditions(temperature=room, frequency=frequency)
    yield "capacitance", Conditions()
    yield "self_resonance", Conditions()
    drive = design.drive
    held = {"current": drive.current} if drive.current is not None else {"voltage": drive.voltage}
    yield "flux_density", Conditions(height=design.probe.heights[0], side="top", **held)
    if design.magnet is not None:
        yield "force", Conditions(**held)
    if design.target is not None:
        yield "pull", Conditions(**held)
    yield "temperature", Conditions(temperature=drive.ambient, **held)


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
    """95 % limits as people write them: a length, or a factor as a change in per cent."""
    low, usual, high = limits
    if cause.is_length:
        return f"{readable(usual, 'm')} ({readable(low, 'm')} to {readable(high, 'm')})"
    return f"{usual - 1:+.1%} ({low - 1:+.1%} to {high - 1:+.1%})"
