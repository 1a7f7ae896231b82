"""Current against time: closed forms, own stepping of the circuit, energy; drives that do not settle."""

import math

import numpy as np
import pytest
from drive_cases import CORE, constant, driven, figure
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.result.caution import warns
from coilgen.result.figure import Case


def curve(case: Case):
    rows = case.value("current_against_time")
    return np.array([row["time"] for row in rows]), np.array([row["current"] for row in rows])


@settings(max_examples=10)
@given(st.floats(0.01, 3.0))
def test_direct_current_rises_to_the_hot_coils(voltage):
    case = driven(voltage=voltage)
    time, current = curve(case)
    final = case.value("hot_current")
    assert current[0] == 0
    assert np.all(np.diff(current) > 0)
    assert current == pytest.approx(final * (1 - np.exp(-time / constant(case))), rel=1e-6)
    assert 0.99 * final < current[-1] < final < case.value("current")


def test_the_sources_energy_is_heat_and_field():
    case = driven(voltage=0.5)
    time, current = curve(case)
    heat = np.trapezoid(case.value("hot_resistance") * current**2, time)
    field = case.value("inductance") * current[-1] ** 2 / 2
    assert np.trapezoid(0.5 * current, time) == pytest.approx(heat + field, rel=2e-3)


def stepped(case: Case, time):
    """The switched circuit in small steps from rest through many periods, at times of its last three."""
    drive, steps = case.design.drive, 2000
    fade, full = 1 / steps / drive.frequency / constant(case), drive.voltage / case.value("hot_resistance")
    below = drive.clamp / case.value("hot_resistance")
    periods = 3 + math.ceil(10 * constant(case) * drive.frequency)
    current = [0.0]
    for _ in range(periods):
        for step in range(steps):
            level = full if (step + 0.5) / steps < drive.duty else -below
            current.append(max(0.0, current[-1] + fade * (level - current[-1])))
    last = np.array(current[-3 * steps - 1 :])
    return np.interp(time * drive.frequency, np.arange(len(last)) / steps, last)


@pytest.mark.parametrize(
    ("frequency", "duty", "clamp"), [(2e4, 0.5, 0.7), (1e6, 0.3, 0.7), (3e6, 0.8, 0.05), (3e6, 0.3, 24.0)]
)
def test_square_current_as_stepped(frequency, duty, clamp):
    case = driven(voltage=1.0, waveform="square", frequency=frequency, duty=duty, clamp=clamp)
    time, current = curve(case)
    expected = stepped(case, time)
    assert current == pytest.approx(expected, abs=0.01 * expected.max())


@settings(max_examples=15)
@given(st.floats(0.05, 3.0), st.floats(1e3, 1e7), st.floats(0.01, 0.99), st.floats(0.01, 60.0))
def test_square_current_repeats_and_swings_by_its_ripple(voltage, frequency, duty, clamp):
    case = driven(voltage=voltage, waveform="square", frequency=frequency, duty=duty, clamp=clamp)
    time, current = curve(case)
    assert time[-1] == pytest.approx(3 / frequency)
    assert current[-1] == pytest.approx(current[0], abs=1e-9 * current.max())
    assert np.ptp(current) == pytest.approx(case.value("current_ripple"), rel=1e-6)
    assert current.max() <= voltage / case.value("hot_resistance") * (1 + 1e-9)
    assert current.min() >= 0
    assert len(time) < 120


def test_fast_switching_swings_by_the_textbooks_ripple():
    """Without a drop: V D (1 - D) / (L f); the small drop left here counts for little."""
    case = driven(voltage=1.0, waveform="square", frequency=1e8, duty=0.5, clamp=0.001)
    assert case.value("current_ripple") == pytest.approx(0.25 / (case.value("inductance") * 1e8), rel=0.01)


@settings(max_examples=10)
@given(st.floats(0.05, 3.0), st.floats(1e2, 1e7))
def test_sine_has_the_hot_coils_current_and_lags(voltage, frequency):
    case = driven(voltage=voltage, waveform="sine", frequency=frequency)
    time, current = curve(case)
    assert time[-1] == pytest.approx(2 / frequency)
    assert np.sqrt(np.mean(current[:-1] ** 2)) == pytest.approx(case.value("hot_current"), rel=1e-3)
    lag = math.acos(case.value("hot_power") / case.value("hot_current") / voltage)
    assert current[0] == pytest.approx(-math.sqrt(2) * case.value("hot_current") * math.sin(lag), rel=1e-3)


def test_near_metal_a_sines_course_is_that_of_its_root_mean_square():
    plate = {"mounting": {"base_plate": {"shape": "round", "diameter": 20, "thickness": 1}}}
    case = driven(plate, voltage=1.0, waveform="sine", frequency=5e5)
    _, current = curve(case)
    assert np.sqrt(np.mean(current[:-1] ** 2)) == pytest.approx(case.value("hot_current"), rel=1e-3)


def test_with_a_core_its_inductance_counts():
    case = driven(CORE, voltage=0.2)
    time, current = curve(case)
    slowed = case.value("inductance_in_place") / case.value("hot_resistance")
    assert slowed > 1.2 * constant(case)
    assert current == pytest.approx(case.value("hot_current") * (1 - np.exp(-time / slowed)), rel=1e-6)
    assert "in place" in figure(case, "current_against_time").model


@pytest.mark.parametrize("waveform", [{}, {"waveform": "sine", "frequency": 50}])
def test_only_a_square_drive_has_ripple(waveform):
    assert driven(voltage=1.0, **waveform).figure("current_ripple") is None


def test_a_forced_current_has_no_curve():
    case = driven(current=0.3, waveform="square", frequency=1e3)
    assert case.figure("current_against_time") is None
    assert case.figure("current_ripple") is None


@pytest.mark.parametrize(
    ("constants", "duty", "clamp", "says"),
    [
        (1.0, 0.5, 0.7, "before the current has settled"),
        (6.0, 0.9, 0.01, "before the current has died out"),
        (40.0, 0.5, 0.7, None),
    ],
)
def test_an_unsteady_drive_is_told(constants, duty, clamp, says):
    frequency = 1 / (constants * constant(driven(voltage=1.0)))
    case = driven(voltage=1.0, waveform="square", frequency=frequency, duty=duty, clamp=clamp)
    told = figure(case, "current_ripple").cautions
    assert len(told) == (says is not None)
    assert says is None or says in told[0]
    assert [warns(each) for each in told] == ([constants == 1.0] if says else [])
