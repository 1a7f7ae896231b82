"""Heat of eddy currents in the temperatures: balances of energy, limits, what stands by itself."""

import math
from functools import cache

import pytest
from drive_cases import driven, figure
from scipy.optimize import brentq

from coilgen.figures.heat import _warmth
from coilgen.figures.heat._eddies import copper_heat
from coilgen.physics.base.constants import STEFAN_BOLTZMANN

PLATE = {"shape": "round", "diameter": 20, "thickness": 1}
FAST = {"waveform": "sine", "frequency": "500 kHz"}
TARGET = {"target": {"form": "disc", "diameter": 12, "thickness": 1, "gap": 0.5, "place": "top"}}
WIND = 40.0


def on_plate(joint=1e-4, **drive):
    mounting = {"base_plate": PLATE, "contact_resistance": [joint, joint, joint]}
    return driven({"mounting": mounting}, **drive)


@cache
def supplied():
    return on_plate(voltage=1.0, **FAST)


def test_what_the_supply_gives_is_what_the_air_takes():
    """Voltage times current times the power factor; the copper's share is that of its resistances."""
    case = supplied()
    state, current = _warmth.steady(case), case.value("hot_current")
    impedance = 1.0 / current
    reactance = _warmth.supply(case).reactance
    given = current**2 * math.sqrt(impedance**2 - reactance**2)
    lost = sum(state.convected.values()) + sum(state.radiated.values())
    assert given == pytest.approx(lost, rel=1e-6)
    assert given == pytest.approx(case.value("hot_power"), rel=1e-6)
    (row,) = (row for row in case.value("impedance") if row["frequency"] == 5e5)
    eddies = row["resistance"] - case.value("resistance_20c")
    copper = current**2 * (case.value("hot_resistance") + eddies)
    cold = case.value("base_plate_loss") / case.value("current") ** 2
    assert given - copper == pytest.approx(cold * current**2, rel=1e-6)


def test_a_voltage_driven_sine_near_aluminium_gets_hotter():
    alone = driven(voltage=1.0, **FAST)
    assert supplied().value("hot_current") > 1.3 * alone.value("hot_current")
    assert "eddy currents heat the metal" in figure(supplied(), "temperature").model
    sources = [source for source, _, _ in figure(supplied(), "temperature").contributions]
    assert {"metal's conductivity", "model of the metal", "inductance"} <= set(sources)


def test_slow_sines_make_no_heat_in_metal():
    slow, direct = (
        on_plate(current=1.0, **drive) for drive in ({"waveform": "sine", "frequency": "10 Hz"}, {})
    )
    for name in ("temperature", "largest_current", "hot_resistance"):
        assert slow.value(name) == pytest.approx(direct.value(name), rel=1e-5)


def test_through_a_perfect_joint_it_matters_not_where_heat_is_made():
    """As direct current that makes all of it in the copper, but for the way through the board."""
    fast = on_plate(joint=1e-6, current=1.0, **FAST)
    share = 1.0 + fast.value("base_plate_loss") / fast.value("hot_resistance")
    direct = on_plate(joint=1e-6, current=math.sqrt(share))
    rises = [case.value("temperature") - 25.0 for case in (fast, direct)]
    assert rises[0] == pytest.approx(rises[1], rel=0.02)
    assert rises[0] > 1.1 * (on_plate(joint=1e-6, current=1.0).value("temperature") - 25.0)


def test_a_limit_leads_back_to_its_temperature():
    case = supplied()
    limit = figure(case, "temperature_limits").value[0]
    for kind in ("current", "voltage"):
        again = on_plate(**{kind: limit[f"largest_{kind}"]}, **FAST)
        assert again.value("temperature") == pytest.approx(limit["temperature"], abs=0.01)
    direct = on_plate(current=1.0).value("temperature_limits")[0]
    assert limit["largest_current"] < 0.98 * direct["largest_current"]


def test_a_switched_coil_settles_on_the_heat_of_its_hot_current():
    square = {"voltage": 1.0, "waveform": "square", "frequency": "100 kHz"}
    case = on_plate(**square)
    state = _warmth.steady(case)
    ohm = _warmth.supply(case).on_share * case.value("hot_resistance") + 0.5 * copper_heat(case)
    copper = case.value("hot_current") ** 2 * ohm
    less = (case.value("resistance_20c") / case.value("hot_resistance")) ** 2
    assert state.power - copper == pytest.approx(case.value("base_plate_loss") * less, rel=0.1)


def test_a_target_is_warm_by_itself():
    """In a wind its own balance, by hand."""
    case = driven({**TARGET, "mounting": {"forced_convection": WIND}}, current=1.0, **FAST)
    heat, radius, thickness = case.value("target_loss"), 6e-3, 1e-3
    area = 2 * math.pi * radius**2 + 2 * math.pi * radius * thickness

    def left(rise):
        kelvin = 298.15 + rise
        return heat - area * (WIND * rise + 0.3 * STEFAN_BOLTZMANN * (kelvin**4 - 298.15**4))

    row = next(row for row in case.value("body_temperatures") if row["body"] == "the target")
    assert row["temperature"] - 25.0 == pytest.approx(brentq(left, 0.0, 1e4), rel=1e-6)
    assert row["low"] < row["temperature"] < row["high"]
    board = next(row for row in case.value("body_temperatures") if row["body"] == "board")
    assert row["high"] > row["temperature"] + board["high"] - 25.0, "it may stand close to the board"
    assert "the target alone in the air" in figure(case, "body_temperatures").model


def test_a_body_hotter_than_the_copper_is_told():
    near = {"target": {**TARGET["target"], "gap": 0.1}}
    cool = {"mounting": {"base_plate": {"width": 100, "thickness": 5, "material": "glass"}}}
    case = driven(near | cool, current=1.5, waveform="sine", frequency="2 MHz")
    rows = {row["body"]: row["temperature"] for row in case.value("body_temperatures")}
    assert rows["the target"] > rows["hottest copper"]
    (caution,) = figure(case, "body_temperatures").cautions
    assert caution.startswith("Warning: Hot to touch: eddy currents heat the target")
