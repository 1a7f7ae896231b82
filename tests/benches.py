"""Benches that were never held: boards made as drawn from the tolerances, read with errors drawn too."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from coilgen.design.design import Design
from coilgen.design.reading import read_text
from coilgen.study.bench.bench import Bench, bench, named_boards
from coilgen.study.bench.bench import problem_of as bench_problem
from coilgen.study.bench.fit import BEFORE, Floats, Problem
from coilgen.study.bench.forecast import Forecast
from coilgen.study.bench.outliers import shorted_shares
from coilgen.study.bench.reading import Conditions, Reading

COIL = """
name = "lid-coil"
[winding]
shape = "round"
turns = 10
layers = 2
trace_width = 0.15
trace_spacing = 0.2
outer_size = 16
[drive]
current = "0.4 A"
[[variant]]
name = "wide"
winding.trace_width = 0.3
winding.trace_spacing = 0.2
winding.outer_size = 20
"""


def coil() -> Design:
    """A coil of two layers, and a wider sibling of one batch."""
    return read_text(COIL)


def asked(sample: str) -> list[Reading]:
    """What is read of a board: resistance at direct current, inductance and quality, temperature."""
    met = Conditions(temperature=23.0, frequency=1e5)
    driven = Conditions(temperature=25.0, current=0.5)
    given = (
        ("resistance", Conditions(temperature=23.0), 0.003),
        ("inductance", met, 0.003),
        ("quality", met, 0.03),
        ("temperature", driven, 1.0),
    )
    return [
        Reading(sample=sample, figure=figure, value=1.0, uncertainty=spread, at=at)
        for figure, at, spread in given
    ]


def problem_of(design: Design, samples: Sequence[str]) -> Problem:
    """The readings of some boards before they have values."""
    readings = tuple(each for sample in samples for each in asked(sample))
    return bench_problem(readings, named_boards(samples, design), {})


def truth(problem: Problem, source: np.random.Generator) -> Floats:
    """Places of the causes, drawn as the tolerances tell."""
    return np.clip(source.normal(0.0, BEFORE, len(problem.causes)), -1.4, 1.4)


def read(problem: Problem, places: Floats, source: np.random.Generator, shorted: str = "") -> list[Reading]:
    """Readings of boards made so; shorted: the sample that has a turn shorted."""
    shares = shorted_shares(problem, shorted) if shorted else np.zeros(len(problem.readings))
    models = {sort: source.normal() for sort in problem.sorts}
    return [
        _noisy(
            each,
            problem.forecast(each, places),
            share if each.sample == shorted else 0.0,
            models[problem.sort(each)],
            source,
        )
        for each, share in zip(problem.readings, shares, strict=True)
    ]


def _noisy(
    reading: Reading, found: Forecast, share: float, model: float, source: np.random.Generator
) -> Reading:
    """model: where the model's error lies, in its standard deviations: one for all readings of a sort."""
    value = found.value * (1 + share)
    error = reading.uncertainty * (1.0 if reading.figure == "temperature" else abs(value))
    return replace(reading, value=value + found.model * model + error * source.normal(), uncertainty=error)


def held(seed: int, *, shorted: str = "") -> tuple[Problem, Floats, Bench]:
    """A bench of three boards, one of them of the wide variant, its causes, and what was found."""
    source, design = np.random.default_rng(seed), coil()
    problem = problem_of(design, ("A1", "A2", "wide"))
    places = truth(problem, source)
    return problem, places, bench(read(problem, places, source, shorted), design)
