"""Spacing by voltage: the table, which column where, and how the voltage falls along the coil.

Values of the table: IPC-2221, table 6-1, from memory.
"""

import math

import numpy as np
import pytest
from boards import blank_art, coil_of, mm, pad, polygon_spiral, read_design, straight
from small_design import TABLES, small_with

from coilgen.artwork.art import Opening
from coilgen.design.reading import read_text
from coilgen.job import case_of, draw, draw_copper
from coilgen.rules.voltage_spacing import RULE, peak_voltage, spacing

UP_TO = [15, 30, 50, 100, 150, 170, 250, 300, 500]
IPC_2221 = {
    "inner": [0.05, 0.05, 0.1, 0.1, 0.2, 0.2, 0.2, 0.2, 0.25],
    "outer-bare": [0.1, 0.1, 0.6, 0.6, 0.6, 1.25, 1.25, 1.25, 2.5],
    "outer-covered": [0.05, 0.05, 0.13, 0.13, 0.4, 0.4, 0.4, 0.4, 0.8],
}
FOUR_LAYERS = '[board]\nstackup = "rigid-4-layer-1.6mm"\n'


def volts(voltage, more=""):
    return f"{more}[drive]\nvoltage = {voltage}\n"


def check(more, turns=10.0, **fields):
    art = blank_art(**fields)
    return list(RULE.check(read_design(more), coil_of(art.traces, turns), art))


@pytest.mark.parametrize("column", IPC_2221)
def test_table_is_that_of_the_standard(column):
    assert spacing(column, np.array(UP_TO, float)) == pytest.approx(np.array(IPC_2221[column]) * mm)


@pytest.mark.parametrize("column", IPC_2221)
def test_spacing_never_falls_with_voltage_and_each_row_holds_up_to_its_voltage(column):
    swept = spacing(column, np.linspace(0, 500, 2001))
    assert (np.diff(swept) >= 0).all()
    above = spacing(column, np.array(UP_TO[:-1]) + 0.01)
    assert above == pytest.approx(np.array(IPC_2221[column][1:]) * mm)


def apart(gap, layer=1, **fields):
    """Two traces in series on one layer, one after the other: half the voltage between their middles."""
    traces = (straight(0, 5, layer=layer), straight(1j * (0.3 + gap), 5 + 1j * (0.3 + gap), layer=layer))
    return {"traces": traces, **fields}


@pytest.mark.parametrize(
    ("voltage", "gap", "found"),
    [
        (30, 0.06, False),
        (30, 0.04, True),
        (90, 0.14, False),
        (90, 0.12, True),
        (250, 0.41, False),
        (250, 0.39, True),
    ],
)
def test_covered_outer_copper_keeps_the_covered_spacing(voltage, gap, found):
    assert bool(check(volts(voltage), **apart(gap))) == found


def test_inner_copper_keeps_the_inner_spacing():
    inner = apart(0.11, layer=2, copper_layers=4)
    assert check(volts(90, FOUR_LAYERS), **inner) == []
    (found,) = check(volts(90, FOUR_LAYERS), **apart(0.09, layer=2, copper_layers=4))
    assert (found.layer, found.limit) == (2, pytest.approx(0.1 * mm))
    assert "45 V" in found.says


def test_a_bare_pad_keeps_the_bare_spacing():
    fields = {
        "traces": (straight(0, 5), straight(5j, 1 + 5j)),
        "pads": (pad(0, terminal=1), pad(1.5j, terminal=2)),
    }
    bare = tuple(Opening(side="top", at=each.at, diameter=1.1 * mm) for each in fields["pads"])
    assert check(volts(48), **fields) == []
    (found,) = check(volts(48), **fields, openings=bare)
    assert (found.value, found.limit) == (pytest.approx(0.5 * mm), pytest.approx(0.6 * mm))


def test_an_opening_on_the_other_side_bares_nothing_here():
    fields = {"traces": (straight(0, 5),), "pads": (pad(0, terminal=1), pad(1.5j, terminal=2))}
    bottom = tuple(Opening(side="bottom", at=each.at, diameter=1.1 * mm) for each in fields["pads"])
    assert check(volts(48), **fields, openings=bottom) == []


def test_neighbouring_turns_see_their_share_of_the_voltage():
    spiral = polygon_spiral(turns=10, pitch=0.4, width=0.3)
    assert check(volts(100), turns=10.0, traces=(spiral,)) == []
    (found,) = check(volts(400), turns=10.0, traces=(spiral,))
    assert found.limit == pytest.approx(0.13 * mm)


def test_a_passing_via_of_another_place_of_the_coil_sees_the_difference():
    """The via stands at the end of the second of two equal traces and beside the start of the first."""
    first, second = straight(0, 5), straight(5, 10, layer=2)
    via = (pad(10, 0.6), pad(10, 0.6, layer=2))
    lead = straight(10 + 0.7j, 12 + 0.7j)
    (found,) = check(volts(200), traces=(lead, first, second), pads=via)
    assert found.value == pytest.approx(0.25 * mm)
    assert found.limit == pytest.approx(0.4 * mm)


def test_a_disc_joined_to_nothing_sees_all_the_voltage():
    fields = {"traces": (straight(0, 5),), "pads": (pad(2.5 + 0.75j),)}
    (found,) = check(volts(101), **fields)
    assert (found.value, found.limit) == (pytest.approx(0.1 * mm), pytest.approx(0.4 * mm))


def test_a_sines_peak_and_a_currents_voltage_count():
    coil = coil_of((straight(0, 100),))
    sine = read_design('[drive]\nvoltage = 10\nwaveform = "sine"\nfrequency = 50\n')
    assert peak_voltage(sine, coil) == pytest.approx(10 * math.sqrt(2))
    current = read_design("[drive]\ncurrent = 2\n")
    stackup = current.board.stackup
    ohms = 1.7241e-8 * 0.1 / (0.3e-3 * stackup.copper[0])
    assert peak_voltage(current, coil) == pytest.approx(2 * ohms, rel=1e-3)


@pytest.mark.parametrize("connection", ["series", "parallel"])
def test_a_sine_s_current_meets_the_inductance(connection):
    """As the figures tell it: current times impedance between the terminals, copper cold."""
    drive = {"current": 0.5, "waveform": "sine", "frequency": "1 MHz"}
    design = small_with(winding={**TABLES["winding"], "connection": connection}, drive=drive)
    case = case_of(design, *draw(design))
    ohm = case.value("resistance_20c") + 2j * math.pi * 1e6 * case.value("inductance")
    assert abs(ohm) > 5 * case.value("resistance_20c")
    # Vias are in the figure's resistance alone.
    assert peak_voltage(design, case.coil) == pytest.approx(0.5 * math.sqrt(2) * abs(ohm), rel=1e-4)
    held = design.changed({"drive": {"current": 2}})
    assert peak_voltage(held, case.coil) == pytest.approx(2 * case.value("resistance_20c"), rel=0.02)


def test_a_short_is_told_by_the_spacing_rule_alone():
    assert check(volts(48), **apart(-0.1)) == []


def test_beyond_the_table_is_a_finding_of_its_own():
    assert [finding.unit for finding in check(volts(500), traces=(straight(0, 5),))] == []
    (found,) = check(volts(501), traces=(straight(0, 5),))
    assert (found.value, found.limit, found.unit) == (501, 500, "V")


def test_thin_dielectric_is_found_above_the_tables_floor_only():
    flex = '[board]\nstackup = "flex-2-layer"\n'
    traces = (straight(0, 5), straight(0, 5, layer=2))
    thickness = read_design(flex).board.stackup.dielectric[0]
    assert thickness < 0.05 * mm
    assert check(volts(30, flex), traces=traces) == []
    (found,) = check(volts(100, flex), traces=traces)
    assert (found.value, found.limit, found.layer) == (thickness, pytest.approx(0.1 * mm), 1)


WINDING = (
    '[[winding]]\nname = "{name}"\ncopper_layers = [1, 2]\ncentre = [{x}, 0]\nshape = "square"\nturns = 5\n'
    "trace_width = 0.2\ntrace_spacing = 0.14\nouter_size = 12\n[winding.drive]\nvoltage = {voltage}\n"
)


def beyond(*voltages):
    """Voltages beyond the table between windings side by side, each under a voltage of its own."""
    told = [WINDING.format(name="abc"[k], x=20 * k, voltage=each) for k, each in enumerate(voltages)]
    design = read_text('name = "side-by-side"\n[board]\noutline = "none"\n' + "".join(told))
    return [found for found in RULE.check(design, *draw_copper(design)) if found.unit == "V"]


def test_between_windings_stand_the_two_highest_voltages():
    assert beyond(100, 249, 251) == []
    (found,) = beyond(100, 250, 251)
    assert (found.value, found.limit) == (501, 500)
    assert "between windings" in found.says
