"""Supply, impedance of a sine, self-resonance; each caution on either side of its number."""

import math

import pytest
from drive_cases import CORE, driven, figure
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.design.reading import read_tables
from coilgen.job import case_of, draw


def sine(frequency, tables=None, **drive):
    return driven(tables, waveform="sine", frequency=frequency, **drive)


@pytest.mark.parametrize(
    ("drive", "told"),
    [
        ({"voltage": 60}, 0),
        ({"voltage": 61}, 1),
        ({"voltage": 61, "waveform": "square", "frequency": 10}, 1),
        ({"voltage": 25, "waveform": "sine", "frequency": 1e6}, 0),
        ({"voltage": 26, "waveform": "sine", "frequency": 1e6}, 1),
        ({"current": 1}, 0),
        ({"current": 900}, 1),
        ({"current": 10, "waveform": "sine", "frequency": 1e7}, 1),
    ],
)
def test_supplies_over_extra_low_voltage(drive, told):
    found = figure(driven(**drive), "voltage")
    assert len(found.cautions) == told
    assert all("local codes" in caution and "licensed" in caution for caution in found.cautions)
    assert (found.value > (25 if drive.get("waveform") == "sine" else 60)) == bool(told)


def test_a_forced_current_needs_the_hot_coils_voltage():
    case = driven(current=0.5)
    assert case.value("voltage") == pytest.approx(0.5 * case.value("hot_resistance"))
    alternating = sine(1e5, current=0.5)
    assert alternating.value("voltage") == pytest.approx(0.5 * alternating.value("drive_impedance"))
    runaway = figure(driven(current=100.0), "voltage")
    assert "no steady state" in runaway.model


def test_at_a_told_frequency_the_impedance_is_that_of_the_table():
    case = sine(2e5, voltage=0.01)
    (row,) = (row for row in case.value("impedance") if row["frequency"] == 2e5)
    warm = case.value("hot_resistance") - case.value("resistance_20c")
    expected = math.hypot(row["resistance"] + warm, 2 * math.pi * 2e5 * case.value("inductance"))
    assert case.value("drive_impedance") == pytest.approx(expected, rel=1e-9)


@settings(max_examples=15)
@given(st.floats(1.0, 3e7))
def test_impedance_is_over_both_its_parts_and_near_the_currents(frequency):
    case = sine(frequency, voltage=0.01)
    found = case.value("drive_impedance")
    assert found >= case.value("hot_resistance")
    assert found >= 2 * math.pi * frequency * case.value("inductance")
    assert 0.01 / found == pytest.approx(case.value("hot_current"))


def test_a_slow_sine_meets_the_resistance_alone():
    case = sine(1.0, voltage=0.1)
    assert case.value("drive_impedance") == pytest.approx(case.value("hot_resistance"), rel=1e-6)
    assert driven(voltage=0.1).figure("drive_impedance") is None


@pytest.mark.parametrize(("frequency", "told"), [(1e3, 0), (5e6, 1)])
def test_eddy_currents_that_count_are_told(frequency, told):
    """Once, among all that the figures caution against."""
    case = sine(frequency, voltage=0.01)
    found = [case.figure(name) for name in case.quantities]
    cautions = [caution for each in found if each is not None for caution in each.cautions]
    own = [caution for caution in cautions if "resistance" in caution and "direct current" in caution]
    assert len(own) == told
    assert all("eddy currents raise" in caution and "temperatures count" in caution for caution in own)


def scaled(size, **drive):
    """A coil of six turns, all of whose lengths are so many times as large."""
    winding = {"trace_width": 0.4, "trace_spacing": 0.3, "inner_size": 8}
    tables = {
        "name": "scaled",
        "winding": {"shape": "square", "layers": 2, "turns": 3}
        | {key: size * x for key, x in winding.items()},
        "board": {"outline": "none", "stackup": {"copper": [0.035 * size] * 2, "dielectric": [0.3 * size]}},
        "via": {"drill": 0.3 * size, "pad": 0.6 * size},
        "terminals": {"kind": "surface-pad", "pad": size, "pitch": 3 * size, "distance": 9 * size},
        "drive": {"current": 0.01, **drive},
    }
    design = read_tables(tables)
    return case_of(design, *draw(design))


def test_a_sine_beyond_the_table_s_last_frequency_lengthens_it():
    """A coil twice as large has the same rise at a quarter of the frequency, which both tables hold."""
    small, large = scaled(1.0, waveform="sine", frequency=2e7), scaled(2.0)
    last, row = small.value("impedance")[-1], large.value("impedance")[-2]
    assert (last["frequency"], row["frequency"]) == (2e7, 5e6)
    rise = last["resistance"] / small.value("resistance_20c")
    assert rise == pytest.approx(row["resistance"] / large.value("resistance_20c"), rel=0.01)
    assert small.value("power") == pytest.approx(1e-4 * last["resistance"])
    assert rise > 1.1 * small.value("impedance")[-2]["resistance"] / small.value("resistance_20c")


def test_quality_at_the_sine_falls_by_the_board_s_loss():
    case = sine(5e6, current=0.01)
    row = next(row for row in case.value("impedance") if row["frequency"] == 5e6)
    share = (5e6 / case.value("self_resonance")) ** 2
    lost = share * case.design.board.stackup.laminate.loss_tangent
    found = figure(case, "drive_quality")
    assert 1 / found.value == pytest.approx(1 / row["quality"] + lost, rel=0.02)
    assert found.band[0] < found.value < found.band[1] and found.key
    assert "dielectric loss" in {source for source, _, _ in found.contributions}
    assert not figure(sine(1e3, current=0.01), "drive_quality").key
    assert driven(voltage=0.1).figure("drive_quality") is None


def test_power_and_heat_of_a_forced_sine_are_those_of_the_raised_resistance():
    """Told as the same coil of direct current whose square is larger by the rise."""
    frequency, amperes = 5e6, 0.1
    fast = sine(frequency, current=amperes)
    row = next(row for row in fast.value("impedance") if row["frequency"] == frequency)
    rise = row["resistance"] / fast.value("resistance_20c") - 1
    assert rise > 0.3
    assert fast.value("power") == pytest.approx(amperes**2 * row["resistance"])
    added = rise * fast.value("resistance_20c")
    assert fast.value("hot_power") == pytest.approx(amperes**2 * (fast.value("hot_resistance") + added))
    slow = driven(
        current=amperes * math.sqrt(fast.value("hot_power") / driven(current=amperes).value("hot_power"))
    )
    assert slow.value("temperature") == pytest.approx(fast.value("temperature"), abs=0.05)
    assert fast.value("largest_current") < 0.95 * driven(current=amperes).value("largest_current")
    told = {source for source, _, _ in figure(fast, "temperature").contributions}
    assert "model of impedance" in told


def test_a_core_takes_current_from_a_sine():
    """The current counts it, as the impedance does."""
    cored, alone = (sine(3e5, tables, voltage=0.1) for tables in (CORE, None))
    assert cored.value("hot_current") < 0.9 * alone.value("hot_current")
    assert 0.1 / cored.value("drive_impedance") == pytest.approx(cored.value("hot_current"), rel=0.02)


@pytest.mark.parametrize("waveform", ["sine", "square"])
@pytest.mark.parametrize(("share", "told"), [(0.09, 0), (0.11, 1)])
def test_drives_near_the_self_resonance_are_told(waveform, share, told):
    frequency = share * driven().value("self_resonance")
    found = figure(driven(current=0.01, waveform=waveform, frequency=frequency), "frequency_over_resonance")
    assert found.value == pytest.approx(share)
    assert len(found.cautions) == told


def test_a_core_lowers_the_self_resonance():
    bare, cored = (sine(1e5, tables, current=0.01) for tables in (None, CORE))
    raised = math.sqrt(cored.value("inductance_in_place") / cored.value("inductance"))
    found = cored.value("frequency_over_resonance")
    assert found == pytest.approx(raised * bare.value("frequency_over_resonance"))


def test_direct_current_knows_no_resonance():
    assert driven().figure("frequency_over_resonance") is None
