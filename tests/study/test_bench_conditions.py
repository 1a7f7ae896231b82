"""A reading is held against the figure at its own conditions, as of a design that is changed by hand."""

from dataclasses import replace

import numpy as np
import pytest
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw_copper
from coilgen.study.bench.bench import problem_of
from coilgen.study.bench.forecast import Forecast, Forecaster
from coilgen.study.bench.reading import Conditions, Reading

TARGETED = (
    SMALL
    + """[target]
form = "disc"
diameter = "12 mm"
thickness = "1 mm"
place = "bottom"
gap = "0.5 mm"
[drive]
current = "0.5 A"
"""
)


def forecast(design, figure, **at):
    """Of a board that is made as asked."""
    reading = Reading(sample="A1", figure=figure, value=1.0, uncertainty=1.0, at=Conditions(**at))
    return Forecaster().of(design, reading, {}).value


def figure_of(design, name):
    """What the design's own figures tell."""
    return case_of(design, *draw_copper(design)).figure(name).value


def test_resistance_is_that_of_copper_as_warm_as_told():
    """0.393 % for each kelvin (IEC 60028)."""
    cold, warm = (forecast(read_text(SMALL), "resistance", temperature=each) for each in (20.0, 60.0))
    assert cold == pytest.approx(figure_of(read_text(SMALL), "resistance_20c"), rel=1e-9)
    assert warm / cold == pytest.approx(1 + 0.00393 * 40, rel=1e-3)


def test_flux_density_is_that_of_the_side_the_height_and_the_current():
    design = read_text(SMALL)
    by_hand = design.changed({"drive.current": 0.3, "probe.heights": [3.0]})
    rows = {row["side"]: row["flux_density"] for row in figure_of(by_hand, "flux_density")}
    for side in ("top", "bottom"):
        found = forecast(design, "flux_density", height=3e-3, side=side, current=0.3)
        assert found == pytest.approx(rows[side], rel=1e-9)
    nearer = forecast(design, "flux_density", height=1e-3, side="top", current=0.3)
    assert nearer > 1.1 * rows["top"]


def test_temperature_is_that_at_the_time_and_in_the_air_told():
    design = read_text(SMALL)
    settled = forecast(design, "temperature", current=1.5, temperature=30.0)
    rises = [
        forecast(design, "temperature", current=1.5, temperature=30.0, time=each) for each in (1, 30, 1e5)
    ]
    assert 30 < rises[0] < rises[1] < settled
    assert rises[2] == pytest.approx(settled, rel=1e-9)
    by_hand = design.changed({"drive.current": 1.5, "drive.ambient": 30.0})
    assert settled == pytest.approx(figure_of(by_hand, "temperature"), rel=1e-9)
    rows = figure_of(by_hand, "temperature_against_time")
    at = np.interp(30, [row["time"] for row in rows], [row["temperature"] for row in rows])
    assert rises[1] == pytest.approx(at, rel=1e-9)


@pytest.mark.slow
def test_inductance_and_resistance_are_those_in_place_at_the_meters_frequency():
    design = read_text(TARGETED)
    rows = figure_of(design, "impedance_in_place")
    row = next(each for each in rows if each["frequency"] == pytest.approx(1e4))
    at = {"frequency": 1e4, "temperature": 20.0}
    assert forecast(design, "inductance", **at) == pytest.approx(row["inductance"], rel=1e-4)
    assert forecast(design, "resistance", **at) == pytest.approx(row["resistance"], rel=1e-4)
    bare = forecast(read_text(SMALL), "inductance", **at)
    assert forecast(design, "inductance", **at) > 1.02 * bare


@pytest.mark.slow
def test_pull_is_that_across_the_gap_told():
    design = read_text(TARGETED)
    by_hand = design.changed({"target.gap": "0.3 mm", "drive.current": "0.4 A"})
    found = forecast(design, "pull", gap=0.3e-3, current=0.4)
    assert found == pytest.approx(figure_of(by_hand, "pull_on_target"), rel=1e-9)


def test_a_gap_that_was_set_at_the_bench_is_as_told():
    """A board's own gap moves what is read across it, and nothing that was read across another."""
    design = read_text(TARGETED)
    asked = [
        Reading(
            sample="A1", figure="resistance", value=1.0, uncertainty=0.1, at=Conditions(temperature=23.0)
        ),
        Reading(sample="A1", figure="pull", value=1.0, uncertainty=0.1, at=Conditions(gap=0.3e-3)),
    ]
    problem = problem_of(tuple(asked), {"A1": design}, {})
    seen = []
    problem.forecaster.of = lambda design, reading, made, gap: seen.append(gap) or Forecast(1.0)
    for reading in (*asked, replace(asked[1], at=Conditions())):
        problem.forecast(reading, np.ones(len(problem.causes)))
    assert seen[1] == 0.0
    assert seen[2] == pytest.approx(design.tolerance.gap)
