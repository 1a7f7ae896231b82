"""The coil with metal in place: laws of impedance, losses and flux, and what is told of them."""

import math
from functools import cache
from itertools import product

import numpy as np
import pytest
from drive_cases import driven, figure
from heat_designs import case_of as case_of_text
from scipy.special import j1

from coilgen.catalogue import templates
from coilgen.figures.in_place import _metal
from coilgen.figures.in_place._metal import added_at, metal
from coilgen.figures.in_place._spreads import series_impedance
from coilgen.physics.base.constants import MU0
from coilgen.physics.metal.relaxation import body_losses

SINE = {"waveform": "sine", "frequency": "20 kHz", "current": 0.5}
PLATE = {"mounting": {"base_plate": {"shape": "round", "diameter": 20, "thickness": 1}}}
SQUARE = {"mounting": {"base_plate": {"width": 20, "thickness": 1}}}
IRON = {"core": [{"material": "soft iron", "form": "disc", "diameter": 16, "thickness": 1}]}
MAGNET = {"form": "disc", "diameter": 6, "thickness": 2, "grade": "N42", "gap": 2}
FERRITE = {"core": [{"material": "Ni-Zn ferrite", "form": "disc", "diameter": 16, "thickness": 1}]}


@cache
def cases():
    return {
        "plate": driven(PLATE, **SINE),
        "iron": driven(IRON, **SINE),
        "ferrite": driven(FERRITE, **SINE),
        "bare": driven(**SINE),
    }


def columns(case, name="impedance_in_place"):
    return figure(case, name).columns


def test_nothing_without_metal():
    names = ("impedance_in_place", "impedance_at_drive", "core_eddy_loss", "base_plate_loss", "loss_by_body")
    assert [cases()["bare"].figure(name) for name in names] == [None] * len(names)


@pytest.mark.parametrize("name", ["plate", "iron", "ferrite"])
def test_bands_hold_the_table(name):
    for table in ("impedance_in_place", "impedance_at_drive"):
        found = columns(cases()[name], table)
        for quantity in product(("resistance", "inductance", "quality"), ("", "_bare")):
            value = "".join(quantity)
            assert np.all(found[f"{value}_low"] <= found[value])
            assert np.all(found[value] <= found[f"{value}_high"])
        assert found["frequency"][0] == 10.0
        assert np.diff(np.log10(found["frequency"])).max() < 0.5
        assert np.all(np.diff(found["inductance"]) <= 1e-12)
        assert np.all(np.diff(found["resistance"]) >= -1e-9)


def test_aluminium_takes_inductance_and_adds_resistance():
    found, alone = columns(cases()["plate"]), cases()["bare"].value("inductance")
    assert found["inductance"][0] == pytest.approx(alone, rel=1e-3)
    assert found["inductance"][-1] < 0.8 * alone


def test_round_and_square_plates_are_alike():
    """Finite elements and sheets: plates of about the same area, wider than the coil."""
    one, other = columns(cases()["plate"]), columns(driven(SQUARE, **SINE))
    high = one["frequency"] >= 1e4
    assert other["inductance"][high] == pytest.approx(one["inductance"][high], rel=0.03)


def test_ferrite_adds_the_same_at_every_frequency():
    """As much as by the volume integral, which has the leads too."""
    case = cases()["ferrite"]
    found, alone = columns(case), columns(case, "impedance")
    added = found["inductance"][-len(alone["inductance"]) :] - alone["inductance"]
    assert added == pytest.approx(np.full(len(added), added[0]), rel=1e-6)
    assert found["inductance"][0] == pytest.approx(case.value("core_inductance_at_rest"), rel=0.02)
    assert case.figure("core_eddy_loss") is None
    assert any("hysteresis above all" in each for each in figure(case, "impedance_at_drive").cautions)


def test_iron_weak_and_at_the_drive():
    weak, strong = (
        columns(cases()["iron"]),
        columns(driven(IRON, **(SINE | {"current": 1000})), "impedance_at_drive"),
    )
    at_rest = cases()["iron"].value("core_inductance_at_rest")
    assert weak["inductance"][0] == pytest.approx(at_rest, rel=0.02)
    assert abs(strong["inductance"][0] / weak["inductance"][0] - 1) > 0.01


@pytest.mark.parametrize(("name", "loss"), [("plate", "base_plate_loss"), ("iron", "core_eddy_loss")])
def test_loss_of_a_sine_is_the_added_resistance(name, loss):
    case = cases()[name]
    table, alone = columns(case, "impedance_at_drive"), columns(case, "impedance")
    at, bare = (float(np.interp(2e4, t["frequency"], t["resistance"])) for t in (table, alone))
    assert figure(case, loss).value == pytest.approx(0.25 * (at - bare), rel=1e-3)
    assert sum(row["loss"] for row in case.value("loss_by_body")) == pytest.approx(case.value(loss))


def test_each_body_makes_its_own_heat():
    """A target before the coil takes heat of its own, and less the farther off it stands."""
    targets = [
        {"target": {"form": "disc", "diameter": 12, "thickness": 1, "gap": gap, "place": "top"}} | PLATE
        for gap in (0.5, 4.0)
    ]
    near, far = (driven(each, **SINE) for each in targets)
    assert near.value("target_loss") > 2 * far.value("target_loss") > 0
    assert [row["body"] for row in near.value("loss_by_body")] == ["the base plate", "the target"]
    assert near.value("base_plate_loss") < 1.2 * far.value("base_plate_loss")


@pytest.mark.slow
def test_square_waves_of_current_and_of_voltage():
    """A slow square wave of voltage is one of current but for its edges: the loss is of the same size."""
    forced = driven(IRON, waveform="square", frequency="200 Hz", current=0.5)
    supplied = driven(
        IRON, waveform="square", frequency="200 Hz", voltage=0.5 * forced.value("resistance_20c")
    )
    losses = [case.value("core_eddy_loss") for case in (forced, supplied)]
    assert 0.0 < losses[1] < losses[0]


def test_a_square_current_heats_as_the_decays_after_each_edge():
    """Harmonics, which end at 10 MHz, against what the metal has not let in after sharp edges."""
    frequency, duty, current = 2e4, 0.3, 0.5
    case = driven(PLATE, waveform="square", frequency=frequency, duty=duty, current=current)
    decays = metal(case, "drive").relaxation
    on, off = (np.exp(-share / frequency / decays.time) for share in (duty, 1 - duty))
    rate, spans = 1 / decays.time, (duty / frequency, (1 - duty) / frequency)
    rise = (1 - off) / (1 - on * off)
    lags = (rise, rise * on - 1)
    heat = 0.0
    for lag, span in zip(lags, spans, strict=True):
        held = decays.amplitude * rate * lag
        both = rate[:, None] + rate
        heat += np.sum(decays.damping[0] * np.outer(held, held) * -np.expm1(-both * span) / both)
    whole = frequency * current**2 * heat
    assert 0.94 * whole < case.value("base_plate_loss") < whole
    order = np.arange(1, 100_001)
    share = 2 * np.square(np.sin(np.pi * order * duty) / (np.pi * order))
    assert current**2 * (share @ body_losses(decays, order * frequency))[0] == pytest.approx(whole, rel=3e-3)


def test_flux_follows_the_current_later_in_thicker_iron():
    thick = {"core": [{**IRON["core"][0], "thickness": 4}]}
    rises = [driven(body, **SINE).value("flux_rise_time") for body in (IRON, thick)]
    assert 0.0 < rises[0] < rises[1]


def test_flux_of_a_poor_conductor_is_told_down_to_what_is_solved_for():
    """Of 10 MHz, 16 ns: under it the figure is left out, as nothing waits for it."""
    rises = {}
    for rho in (1e-7, 1e-6, 1e-5, 5e-4):
        iron = {**IRON["core"][0], "material": {"permeability": 800, "resistivity": rho}}
        rises[rho] = driven({"core": [iron]}, **SINE).figure("flux_rise_time")
    assert rises[1e-6].value == pytest.approx(0.1 * rises[1e-7].value, rel=0.05)
    assert rises[1e-5].value == pytest.approx(0.1 * rises[1e-6].value, rel=0.05)
    assert rises[5e-4] is None


@pytest.mark.parametrize("beside", [{}, {"magnet": MAGNET}])
def test_meter_is_told_numbers(beside):
    """Beside aluminium, and where a magnet stands besides."""
    case = driven(PLATE | beside, **SINE) if beside else cases()["plate"]
    says = " ".join(figure(case, "impedance_in_place").cautions)
    assert "a meter reads" in says
    assert "100 kHz" in says


def test_resistivity_that_is_not_told():
    body = {**IRON["core"][0], "material": {"permeability": 800}}
    says = " ".join(figure(driven({"core": [body]}, **SINE), "inductance_in_place").cautions)
    assert (
        "No resistivity is told of the material of core 1: that of soft iron, 1e-07 ohm m, is assumed."
        in says
    )


@pytest.mark.parametrize("name", ["plate", "iron", "ferrite"])
def test_circuit_in_place_is_the_table(name):
    """Positive elements only, and the impedance that the table tells, to 1 %."""
    case = cases()[name]
    elements = {row["element"]: row["value"] for row in case.value("equivalent_circuit_in_place")}
    assert all(value > 0 for key, value in elements.items() if key != "C")
    table = columns(case)
    s = 2j * np.pi * table["frequency"]
    found = elements["R0"] + s * elements["L0"]
    for k in range(1, len([key for key in elements if key.startswith("R")])):
        resistance, inductance = elements[f"R{k}"], elements[f"L{k}"]
        found = found + s * inductance * resistance / (resistance + s * inductance)
    assert np.abs(found / (table["resistance"] + s * table["inductance"]) - 1).max() < 0.01


def test_frequencies_over_the_self_resonance_are_left_out():
    case = cases()["plate"]
    assert columns(case)["frequency"][-1] <= case.value("self_resonance")
    assert (
        math.isclose(columns(case)["frequency"][-1], 1e7)
        or "left out" in figure(case, "impedance_in_place").model
    )


def test_metal_lets_the_current_swing_more():
    """An aluminium plate takes inductance from fast changes."""
    drive = {"voltage": 0.5, "waveform": "square", "frequency": "300 kHz"}
    near, alone = driven(PLATE, **drive), driven(**drive)
    assert near.value("current_ripple") > 1.3 * alone.value("current_ripple")
    table = columns(near, "current_against_time")
    assert np.ptp(table["current"]) == pytest.approx(near.value("current_ripple"), rel=0.02)
    assert "eddy currents" in figure(near, "current_ripple").model


def test_a_step_of_voltage_near_metal():
    near, alone = (driven(body, voltage=1.0) for body in (PLATE, {}))
    rises = [columns(case, "current_against_time")["current"] for case in (near, alone)]
    assert np.all(rises[0][1:20] > rises[1][1:20])
    assert rises[0][-1] == pytest.approx(rises[1][-1], rel=0.05)


def test_a_sine_of_voltage_near_aluminium_draws_more():
    """By the impedance in place; cold coil."""
    drive = {"voltage": 0.5, "waveform": "sine", "frequency": "500 kHz"}
    near, alone = driven(PLATE, **drive), driven(**drive)
    assert near.value("current") > 1.5 * alone.value("current")
    row = next(row for row in near.value("impedance_in_place") if row["frequency"] == 5e5)
    bare = next(row for row in near.value("impedance") if row["frequency"] == 5e5)
    rise = bare["resistance"] - near.value("resistance_20c")
    impedance = math.hypot(row["resistance"] - rise, 2 * math.pi * 5e5 * row["inductance"])
    assert near.value("current") == pytest.approx(0.5 / impedance, rel=0.02)
    assert near.value("hot_current") > 1.3 * alone.value("hot_current")
    (caution,) = figure(near, "loss_by_body").cautions
    assert "temperatures count both" in caution


@pytest.mark.slow
def test_metal_never_takes_the_whole_inductance():
    """Steel on both sides of a square coil, as discs of equal area scaled up: what is left stays positive."""
    tables = {
        "winding": {
            "shape": "square",
            "layers": 2,
            "turns": 5,
            "trace_width": "0.2 mm",
            "trace_spacing": "0.2 mm",
            "outer_size": "12 mm",
        },
        "board": {"stackup": "rigid-2-layer-0.8mm"},
        "core": [{"material": "soft iron", "width": 12, "thickness": 1, "gap": 0.02}],
        "target": {"form": "bar", "width": 12, "depth": 4, "thickness": 0.2, "gap": 0.05, "place": "top"},
    }
    case = driven(tables, voltage=0.5)
    assert columns(case)["inductance"].min() > 0
    assert all(row["value"] > 0 for row in case.value("equivalent_circuit_in_place"))
    assert np.all(np.diff(columns(case, "current_against_time")["current"]) > 0)
    assert case.value("switch_off_time") > 0


def test_a_supply_that_gives_in_near_metal():
    """The current rises with the metal's currents and is held: the table ends at the limit."""
    drive = {"voltage": 2.0, "waveform": "square", "frequency": "50 kHz", "current_limit": 0.6}
    near, alone = driven(PLATE, **drive), driven(**drive)
    tables = [columns(case, "current_against_time") for case in (near, alone)]
    assert [table["current"].max() for table in tables] == pytest.approx([0.6, 0.6])
    rise = [table["time"][np.argmax(table["current"] > 0.59)] for table in tables]
    assert 0 < rise[0] < rise[1]
    assert (
        0.0
        < near.value("base_plate_loss")
        < driven(PLATE, **drive | {"current_limit": 1.2}).value("base_plate_loss")
    )
    step = columns(driven(PLATE, voltage=2.0, current_limit=0.6), "current_against_time")
    assert step["current"][-1] == pytest.approx(0.6)
    assert "eddy currents" in figure(near, "current_against_time").model


def layered(heights, radii, plate, frequency):
    """Inductance that a wide plate adds to circles, complex H.

    Integral of C. V. Dodd and W. E. Deeds, Journal of Applied Physics 39, 1968, for coaxial circles over a
    layer: heights over it, radii and the layer's thickness in m, its conductivity S/m.
    """
    thickness, conductivity = plate
    k = np.linspace(1.0, 8e3, 16_000)
    drawn = sum(
        a * j1(np.multiply.outer(k, a)) * np.exp(-np.multiply.outer(k, d))
        for a, d in zip(radii, heights, strict=True)
    )
    s = 2j * np.pi * frequency
    inner = np.sqrt(k**2 + s * MU0 * conductivity)
    tangent = np.tanh(inner * thickness)
    below = inner * (k + inner * tangent) / (inner + k * tangent)
    return np.pi * MU0 * np.trapezoid(drawn**2 * (k - below) / (k + below), k)


def test_the_stirrer_over_its_aluminium_plate():
    """Inductance falls, resistance rises, as circles over a wide layer of aluminium tell by an integral."""
    case = case_of_text(templates()["stirrer-drive"])
    asked, stackup = case.design.winding, case.design.board.stackup
    radii = asked.outer_size / 2 - asked.trace_width / 2 - 3e-4 * np.arange(asked.turns)
    heights = np.array([stackup.height(layer) for layer in range(1, 9)]) + stackup.thickness
    both = [each.ravel() for each in np.meshgrid(radii - 0.75e-4, heights)]
    resistivity = case.design.mounting.base_plate.facts["resistivity"]
    alone = case.value("inductance")
    for frequency, left, ohm in ((1e3, 0.474, 3.81), (1e4, 0.255, 15.2), (1e5, 0.169, 55.0)):
        expected = layered(both[1], both[0], (3e-3, 1 / resistivity), frequency)
        found = series_impedance(case, frequency) / (2j * np.pi * frequency)
        assert found == pytest.approx(expected, rel=0.03)
        assert 1 + found.real / alone == pytest.approx(left, abs=0.003)
        assert -2 * np.pi * frequency * found.imag == pytest.approx(ohm, rel=0.02)


def test_neodymium_conducts_and_hard_ferrite_does_not():
    """Discs alike: one takes inductance and adds resistance, one does next to nothing."""
    magnet = {"form": "disc", "diameter": 10, "thickness": 3, "gap": 0.5}
    neodymium, ferrite = (driven({"magnet": magnet | {"grade": grade}}, **SINE) for grade in ("N42", "Y30"))
    still = columns(ferrite)
    assert still["resistance"] == pytest.approx(still["resistance_bare"], rel=1e-9)
    assert still["inductance"] == pytest.approx(still["inductance_bare"], rel=0.03)
    found, alone = columns(neodymium), neodymium.value("inductance")
    assert found["inductance"][-1] < 0.97 * alone
    row = list(found["frequency"]).index(1e5)
    assert found["resistance"][row] > 1.03 * found["resistance_bare"][row]
    plate = {"shape": "round", "diameter": 10, "thickness": 3, "material": "aluminium"}
    like = metal(driven({"mounting": {"base_plate": plate}}, **SINE), "weak").relaxation
    assert metal(neodymium, "weak").relaxation.time.max() < 0.2 * like.time.max()


def test_a_target_of_soft_ferrite_raises_the_inductance_and_stays_cold():
    """Iron of the same size takes inductance from where its skin is thin, ferrite at no frequency."""
    target = {"form": "disc", "diameter": 12, "thickness": 1, "gap": 0.5}
    ferrite, iron = (
        driven({"target": target | {"material": material}}, **SINE)
        for material in ("Mn-Zn ferrite", "low-carbon steel")
    )
    found = columns(ferrite)
    added = found["inductance"] - found["inductance_bare"]
    assert added == pytest.approx(added[0], rel=1e-3) and added[0] > 0.05 * ferrite.value("inductance")
    assert ferrite.figure("target_loss") is None and iron.value("target_loss") > 0
    assert columns(iron)["inductance"][-1] < iron.value("inductance")


def test_a_magnet_takes_permeability_at_the_drive_alone():
    """A thin sheet that a strong magnet saturates: what a meter reads of it in weak fields is not told so."""
    sheet = {"core": [{"material": "ferrite sheet", "form": "disc", "diameter": 14, "thickness": 0.2}]}
    magnet = {"magnet": {"form": "disc", "diameter": 10, "thickness": 3, "grade": "N42", "gap": 0.5}}
    case = driven(sheet | magnet, current=0.1)
    weak, biased = (columns(case, f"impedance_{name}")["inductance"][0] for name in ("in_place", "at_drive"))
    alone = case.value("inductance")
    assert alone < biased < alone + 0.8 * (weak - alone)
    assert "about the mean flux density that the magnet holds" in figure(case, "impedance_at_drive").model


def test_metal_is_resolved_at_a_sine_over_the_self_resonance(monkeypatch):
    """Where a drive is there, its losses are told: skins in the metal are as thin as it makes them."""
    fast = {**SINE, "frequency": "5 MHz"}
    below = added_at(driven(PLATE, **fast), 5e6)
    monkeypatch.setattr(_metal, "ladder_frequency", lambda _: 2e5)
    over = added_at(driven(PLATE, **fast), 5e6)
    assert over.real == pytest.approx(below.real, rel=0.012)
    assert over.imag == pytest.approx(below.imag, rel=2e-4)
