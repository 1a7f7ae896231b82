"""What a meter reads of a shorted turn: bounds, limits at low frequency, layers side by side."""

import math

import pytest
from small_design import small_with

from coilgen.job import case_of, draw


def case_with(**tables):
    design = small_with(**tables)
    return case_of(design, *draw(design))


def test_sound_readings_are_the_impedance_with_the_capacitance_across():
    case = case_with()
    capacitance = case.value("winding_capacitance")
    for row, sound in zip(case.value("shorted_turn"), case.value("impedance"), strict=False):
        omega = 2 * math.pi * row["frequency"]
        coil = complex(sound["resistance"], omega * sound["inductance"])
        read = 1 / (1 / coil + 1j * omega * capacitance)
        assert row["frequency"] == sound["frequency"]
        assert row["inductance"] == pytest.approx(read.imag / omega)
        assert row["loss_ratio"] == pytest.approx(read.real / case.value("resistance_20c"))


def test_a_short_lowers_the_inductance_and_the_more_the_faster():
    rows = case_with().value("shorted_turn")
    left = [row["inductance_shorted"] / row["inductance"] for row in rows]
    assert all(0 < share < 1 for share in left)
    assert left == sorted(left, reverse=True)


def test_slowly_nothing_but_the_turn_is_missing():
    """So the ratio to the same board's resistance is one with and without the short."""
    row = case_with().value("shorted_turn")[0]
    assert row["loss_ratio"] == pytest.approx(1.0, abs=1e-3)
    assert row["loss_ratio_shorted"] == pytest.approx(1.0, abs=1e-3)


def test_it_stops_below_the_self_resonance():
    case = case_with()
    assert case.value("shorted_turn")[-1]["frequency"] <= case.value("self_resonance") / 3


def test_layers_side_by_side_shorten_in_one_of_them():
    table = case_with(
        winding={
            "shape": "round",
            "layers": 2,
            "turns": 3,
            "trace_width": 0.3,
            "trace_spacing": 0.3,
            "outer_size": 16,
            "connection": "parallel",
        }
    ).value("shorted_turn")
    assert all(row["inductance_shorted"] < row["inductance"] for row in table)


def test_a_single_turn_has_none():
    winding = {"shape": "round", "layers": 1, "turns": 1, "trace_width": 0.3, "trace_spacing": 0.3}
    assert case_with(winding=winding | {"outer_size": 16}).figure("shorted_turn") is None
