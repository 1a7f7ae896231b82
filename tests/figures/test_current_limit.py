"""A supply that gives in: constant voltage up to its current limit, constant current from there on."""

import math

import pytest
from heat_designs import case, temperature, text

from coilgen.design.reading import read_text
from coilgen.errors import DesignError

# The coil of 2.9 ohm takes 0.69 A of 2 V when cold, 0.48 A when it has settled.
COLD_ONLY, ALWAYS = 0.55, 0.3


def supplied(limit=None, **drive):
    return case(drive={"current_limit": limit, **drive})


def test_a_limit_out_of_reach_changes_nothing():
    free, guarded = supplied(), supplied(5.0)
    for name in ("current", "power", "temperature", "hot_current", "duty_limit", "pulse_limit", "voltage"):
        assert (free.figure(name) is None) == (guarded.figure(name) is None)
        if free.figure(name) is not None:
            assert guarded.value(name) == pytest.approx(free.value(name), rel=1e-12)


def test_the_cold_coil_is_held_and_the_hot_one_is_not():
    free, own = supplied(), supplied(COLD_ONLY)
    assert free.value("current") > own.value("current") == COLD_ONLY
    assert own.value("power") == pytest.approx(COLD_ONLY**2 * own.value("resistance_20c"))
    assert own.value("ampere_turns") == pytest.approx(COLD_ONLY * own.value("turns_total"))
    assert "held by the supply at its limit" in own.figure("current").model
    assert own.value("temperature") == pytest.approx(free.value("temperature"), abs=1e-6)
    assert own.value("hot_current") == pytest.approx(2.0 / own.value("hot_resistance"))
    assert own.value("voltage") == 2.0
    first, second = (each.value("temperature_against_time")[5]["temperature"] for each in (own, free))
    assert first < second
    assert own.value("pulse_temperature") < free.value("pulse_temperature")


def test_a_low_limit_is_a_given_current():
    own, given = supplied(ALWAYS), case(drive={"voltage": None, "current": ALWAYS})
    for name in ("current", "power", "temperature", "hot_current", "hot_power", "duty_limit", "voltage"):
        assert own.value(name) == pytest.approx(given.value(name), rel=1e-6)
    assert "gives in" in own.figure("voltage").model
    assert own.figure("hot_power").band == pytest.approx(given.figure("hot_power").band)


def test_bands_hold_what_the_fab_may_make():
    assert supplied(ALWAYS).figure("current").band is None
    free, own = (supplied(limit).figure("current").band for limit in (None, 0.65))
    assert free[1] > 0.65 == own[1]
    assert free[0] <= own[0] < 0.6


def test_the_current_rises_to_the_limit_and_stays():
    assert supplied(ALWAYS).figure("current").band is None
    free, own = (supplied(limit).value("current_against_time") for limit in (None, ALWAYS))
    assert max(row["current"] for row in own) == ALWAYS == own[-1]["current"]
    assert own[1]["current"] < ALWAYS < free[-1]["current"]


def test_a_square_drive_is_held_in_each_period():
    drive = {"waveform": "square", "frequency": 200.0, "duty": 0.4}
    own = supplied(ALWAYS, **drive)
    assert max(row["current"] for row in own.value("current_against_time")) == pytest.approx(ALWAYS)
    assert own.value("current_ripple") <= ALWAYS
    assert own.value("temperature") == pytest.approx(
        temperature(drive={"voltage": None, "current": ALWAYS * math.sqrt(0.4)}), abs=0.01
    )


def test_pulses_and_slow_periods_are_held_too():
    held = supplied(0.8, voltage=8.0)
    given = case(drive={"voltage": None, "current": 0.8})
    assert held.value("pulse_limit") == pytest.approx(given.value("pulse_limit"), rel=1e-3)
    slow = {"waveform": "square", "frequency": 0.05, "duty": 0.2}
    own, given = supplied(0.4, voltage=8.0, **slow), case(drive={"voltage": None, "current": 0.4, **slow})
    assert own.value("temperature") == pytest.approx(given.value("temperature"), abs=0.1)


@pytest.mark.parametrize(
    ("drive", "says"),
    [
        ({"voltage": None, "current": 0.2, "current_limit": 0.3}, "belongs to drive.voltage"),
        ({"current_limit": 0.0}, "drive.current_limit"),
        ({"current_limit": "-1 A"}, "drive.current_limit"),
        (
            {"current_limit": 0.3, "waveform": "sine", "frequency": 50},
            'belongs to waveform = "dc" or "square"',
        ),
    ],
)
def test_limits_that_mean_nothing_are_refused(drive, says):
    with pytest.raises(DesignError, match=r"drive\.current_limit") as refused:
        read_text(text(drive=drive))
    assert says in str(refused.value)
