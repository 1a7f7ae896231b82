"""Current, power and density of the cold coil: a sine over the impedance, a square at its level."""

import math

import pytest
from drive_cases import CORE, driven, figure
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.figures.electrical.impedance import FREQUENCIES


def alternating(case, frequency):
    """The cold copper's resistance at a frequency of the table, ohm."""
    return next(row["resistance"] for row in case.value("impedance") if row["frequency"] == frequency)


@settings(max_examples=15)
@given(st.floats(0.01, 24.0), st.sampled_from(FREQUENCIES))
def test_a_sines_current_is_its_voltage_over_the_impedance(voltage, frequency):
    case = driven(voltage=voltage, waveform="sine", frequency=frequency)
    resistance = alternating(case, frequency)
    impedance = abs(complex(resistance, 2 * math.pi * frequency * case.value("inductance")))
    current = figure(case, "current")
    assert current.value == pytest.approx(voltage / impedance)
    assert current.band[0] <= current.value <= current.band[1]
    assert case.value("power") == pytest.approx(current.value**2 * resistance)
    assert case.value("moment") == pytest.approx(current.value * case.value("turn_area"))
    assert "root mean square" in current.model


def test_a_slow_sine_is_direct_current_and_a_fast_one_hardly_depends_on_resistance():
    direct = driven(voltage=1.0)
    slow = driven(voltage=1.0, waveform="sine", frequency=0.01)
    for name in ("current", "power", "current_density"):
        assert slow.value(name) == pytest.approx(direct.value(name))
    fast = driven(voltage=1.0, waveform="sine", frequency=1e8)
    (low, high), henries = figure(fast, "current").band, figure(fast, "inductance").band
    assert high / low == pytest.approx(henries[1] / henries[0], abs=1e-3)


def test_a_square_is_at_its_level_while_on():
    square = driven(voltage=1.0, waveform="square", frequency=1e5, duty=0.2)
    direct = driven(voltage=1.0)
    for name in ("current", "power", "current_density"):
        assert square.value(name) == direct.value(name)


@pytest.mark.parametrize("waveform", ["sine", "square"])
def test_a_forced_current_is_as_told(waveform):
    case = driven(current=0.3, waveform=waveform, frequency=1e6)
    assert case.value("current") == 0.3
    direct = figure(case, "resistance_20c")
    added = alternating(case, 1e6) - direct.value if waveform == "sine" else 0.0
    power = figure(case, "power")
    assert power.value == pytest.approx(0.09 * (direct.value + added))
    assert power.band == pytest.approx(tuple(0.09 * (end + added) for end in direct.band))


def test_the_time_constant_is_that_of_the_bare_winding_and_says_so():
    bare, cored = (figure(driven(tables, voltage=1.0), "time_constant") for tables in (None, CORE))
    assert cored.value == bare.value
    assert "cores not counted" in cored.model
    assert "cores" not in bare.model
