"""Readings that no one has taken yet, and what each would teach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.study.bench.fit import Fit, Floats, linearised
from coilgen.study.bench.reading import Conditions, Reading
from coilgen.units import quantity

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.bench.forecast import Forecaster
    from coilgen.study.panel.coupons import Expected

ROOM = 23.0
"""degC, of readings that are proposed."""
_METER = (1e4, 1e5)
"""Hz: usual frequencies of meters, likewise."""
_BORNE = 0.8
"""Of the largest current or voltage that may stay on, which bands reach below."""


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A reading with the uncertainty that is usual, and its slopes (n + k,) by causes and model errors."""

    reading: Reading
    slopes: Floats

    def told(self, covariance: Floats) -> float:
        """Variance of what is open in its forecast, over its own: what it would tell."""
        return float(self.slopes @ covariance @ self.slopes) / self.reading.uncertainty**2

    def left(self, covariance: Floats, direction: Floats) -> float:
        """Share of the width along a direction (n + k,) that would be left once it is taken."""
        weighed = covariance @ self.slopes
        whole = self.reading.uncertainty**2 + float(self.slopes @ weighed)
        before = float(direction @ covariance @ direction)
        return math.sqrt(max(1 - float(direction @ weighed) ** 2 / whole / before, 0.0))


def proposals(fit: Fit) -> Iterator[Proposal]:
    """What could be read of the first board, of coupons, and the resistance of boards of other copper."""
    taken = {(each.sample, each.figure, each.at.frequency, each.at.height) for each in fit.problem.readings}
    for reading in _possible(fit):
        if (reading.sample, reading.figure, reading.at.frequency, reading.at.height) in taken:
            continue
        try:
            yield _proposal(fit, reading)
        except DesignError:  # the design has no such figure
            continue


def _possible(fit: Fit) -> Iterator[Reading]:
    problem = fit.problem
    for label, coupon in problem.coupons.items():
        yield coupon_reading(label, coupon)
    boards = {sample: each for sample, each in problem.designs.items() if sample not in problem.coupons}
    first = next(iter(problem.boards), next(iter(boards)))
    yield from usual_readings(boards[first], first, problem.forecaster)
    distinct = {id(each): sample for sample, each in reversed(boards.items())}
    for sample in distinct.values():
        if boards[sample] is not boards[first]:
            yield _cold(sample)


def _proposal(fit: Fit, reading: Reading) -> Proposal:
    """An error of a new sort's model is one of the reading."""
    problem = fit.problem
    line = linearised(replace(problem, readings=(reading,)), fit.line.places)
    n, sort, value = len(problem.causes), problem.sort(reading), float(line.values[0])
    model = float(line.slopes[0, n])
    models = [model if each == sort else 0.0 for each in problem.sorts]
    own = usual_uncertainty(reading, value)
    return Proposal(
        reading=replace(
            reading, value=value, uncertainty=own if sort in problem.sorts else math.hypot(own, model)
        ),
        slopes=np.array([*line.slopes[0, :n], *models]),
    )


def usual_uncertainty(reading: Reading, value: float) -> float:
    """One standard deviation, SI, that is assumed where none is told."""
    text = reading.kind.usual_uncertainty
    if text.endswith("%"):
        return abs(quantity(text, "fraction") * value)
    return quantity(text, reading.kind.spread or reading.kind.dimension)


def usual_readings(design: Design, sample: str, forecaster: Forecaster) -> Iterator[Reading]:
    """What a bench can read of a board of the design, without values."""
    yield _cold(sample)
    for figure, at in _usual_conditions(design, bearable_drive(design, forecaster)):
        yield Reading(sample=sample, figure=figure, value=0.0, uncertainty=1.0, at=at)


def coupon_readings(coupons: Mapping[str, Expected]) -> Iterator[Reading]:
    """What is read of the coupons of a panel, without values."""
    for label, coupon in coupons.items():
        yield coupon_reading(label, coupon)


def coupon_reading(label: str, coupon: Expected) -> Reading:
    """What is read of one, without a value."""
    at = Conditions(temperature=ROOM) if coupon.figure == "resistance" else Conditions()
    return Reading(sample=label, figure=coupon.figure, value=0.0, uncertainty=1.0, at=at)


def _cold(sample: str) -> Reading:
    at = Conditions(temperature=ROOM)
    return Reading(sample=sample, figure="resistance", value=0.0, uncertainty=1.0, at=at)


def bearable_drive(design: Design, forecaster: Forecaster) -> dict[str, Any]:
    """The design's drive as a condition, or where the coil does not bear it for good, what it does bear.

    What a form asks for stays on while people read: a drive that burns the coil is not asked of them.
    """
    drive = design.drive
    limited = drive.current is None and drive.current_limit is not None
    name = "current" if limited or drive.current is not None else "voltage"
    asked = drive.current_limit if limited else getattr(drive, name)
    most = forecaster.case(design).figure(f"largest_{name}")
    if most is None or asked <= _BORNE * most.value:
        return {name: asked}
    power = 10.0 ** math.floor(math.log10(_BORNE * most.value) - 1)
    return {name: float(f"{math.floor(_BORNE * most.value / power) * power:.2g}")}


def _usual_conditions(design: Design, held: Mapping[str, Any]) -> Iterator[tuple[str, Conditions]]:
    for frequency in _METER:
        for figure in ("inductance", "quality"):
            yield figure, Conditions(temperature=ROOM, frequency=frequency)
    yield "capacitance", Conditions()
    yield "self_resonance", Conditions()
    yield "flux_density", Conditions(height=design.probe.heights[0], side="top", **held)
    if design.magnet is not None:
        yield "force", Conditions(**held)
    if design.target is not None:
        yield "pull", Conditions(**held)
    yield "temperature", Conditions(temperature=design.drive.ambient, **held)
