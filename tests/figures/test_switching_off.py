"""Stored energy, the clamp and the time it takes; what happens without a path for the current."""

import math

import pytest
from designs import asked_designs, text
from drive_cases import CORE, driven, figure
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.units import readable


@pytest.mark.parametrize(
    ("drive", "crest"),
    [
        ({"voltage": 1.0}, 1.0),
        ({"current": 0.4}, 1.0),
        ({"voltage": 1.0, "waveform": "square", "frequency": 100}, 1.0),
        ({"current": 0.4, "waveform": "square", "frequency": 1e6}, 1.0),
        ({"voltage": 1.0, "waveform": "sine", "frequency": 1e4}, math.sqrt(2)),
    ],
)
def test_energy_is_half_the_inductance_times_the_largest_current_squared(drive, crest):
    case = driven(**drive)
    found = figure(case, "stored_energy")
    assert found.value == pytest.approx(case.value("inductance") * (case.value("current") * crest) ** 2 / 2)
    assert found.band is not None and found.band[0] < found.value < found.band[1]


@settings(max_examples=8)
@given(asked_designs(), st.sampled_from(["dc", "square", "sine"]), st.floats(0.01, 2.0))
def test_figures_of_any_winding_agree(asked, waveform, voltage):
    """Whatever is wound: curve, ripple, energy and time belong to one resistance, inductance and current."""
    more = "" if waveform == "dc" else "frequency = 20000"
    design = read_text(text(asked) + f'[drive]\nvoltage = {voltage}\nwaveform = "{waveform}"\n{more}\n')
    case = case_of(design, *draw(design))
    currents = [row["current"] for row in case.value("current_against_time")]
    crest = math.sqrt(2) if waveform == "sine" else 1.0
    hottest, coldest = crest * case.value("hot_current"), crest * case.value("current")
    assert max(currents) <= hottest * (1 + 1e-9) <= coldest * 1.001
    assert case.value("stored_energy") <= case.value("inductance") * coldest**2 / 2 * (1 + 1e-9)
    if waveform == "square":
        assert case.value("current_ripple") == pytest.approx(max(currents) - min(currents))
    if waveform != "sine":
        constant = case.value("inductance") / case.value("hot_resistance")
        assert 0 < case.value("switch_off_time") < math.log(10) * constant
    assert 0 < case.value("single_trace_current") < 100


def test_energy_with_a_core():
    case = driven(CORE, current=0.2)
    assert case.value("stored_energy") == pytest.approx(case.value("inductance_in_place") * 0.02)
    assert "saturation" in figure(case, "stored_energy").model


def test_a_fast_square_stores_less():
    slow, fast = (driven(voltage=1.0, waveform="square", frequency=f) for f in (1e3, 5e6))
    assert fast.value("stored_energy") < 0.5 * slow.value("stored_energy")


@settings(max_examples=15)
@given(st.floats(0.02, 3.0), st.floats(0.01, 60.0))
def test_a_tenth_is_left_after_the_time(voltage, clamp):
    """Stepped by the midpoint rule against L di/dt = -R i - V."""
    case = driven(voltage=voltage, clamp=clamp)
    current, resistance = case.value("hot_current"), case.value("hot_resistance")
    left, steps = current, 500
    step = case.value("switch_off_time") / steps
    for _ in range(steps):
        slope = -(resistance * left + clamp) / case.value("inductance")
        middle = left + slope * step / 2
        left -= (resistance * middle + clamp) / case.value("inductance") * step
    assert left == pytest.approx(0.1 * current, rel=1e-3)


def test_without_a_clamp_worth_its_name_the_time_is_the_time_constants():
    case = driven(voltage=1.0, clamp=0.001)
    constant = case.value("inductance") / case.value("hot_resistance")
    assert case.value("switch_off_time") == pytest.approx(constant * math.log(10), rel=0.01)
    assert driven(voltage=1.0, clamp=24).value("switch_off_time") < 0.1 * case.value("switch_off_time")


def test_coil_and_switch_under_the_clamp():
    case = driven(voltage=1.5, clamp=24)
    assert case.value("switch_off_voltage") == 24
    assert "25.5 V" in figure(case, "switch_off_voltage").model


def test_a_sine_is_never_switched_off():
    case = driven(voltage=1.0, waveform="sine", frequency=1e3)
    assert case.figure("switch_off_voltage") is None
    assert case.figure("switch_off_time") is None


@pytest.mark.parametrize("drive", [{}, {"waveform": "square", "frequency": 100}])
def test_a_path_is_asked_for(drive):
    case = driven(voltage=1.0, **drive)
    (told,) = figure(case, "switch_off_voltage").cautions
    ringing = math.sqrt(case.value("inductance") / case.value("winding_capacitance"))
    assert readable(case.value("current") * ringing, "V", 2) in told
    assert "diode across the coil" in told


def test_no_path_is_asked_for_where_transistors_bear_the_spike():
    assert figure(driven(current=0.001), "switch_off_voltage").cautions == ()


def test_a_coil_that_never_settles_is_switched_off_cold():
    case = driven(current=100.0)
    assert case.figure("hot_resistance") is None
    cold = case.value("resistance_20c")
    ends = math.log((100 * cold + 0.7) / (10 * cold + 0.7))
    assert case.value("switch_off_time") == pytest.approx(case.value("inductance") / cold * ends)
    assert "no steady state" in figure(case, "switch_off_time").model
