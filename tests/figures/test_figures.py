"""Laws of the figures over whole designs."""

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from designs import EACH_SHAPE, Asked, made
from small_design import small_with

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw, quantities
from coilgen.layout.lengths import Lengths
from coilgen.layout.shape import shape_named
from coilgen.physics.inductance.closed_forms import CURRENT_SHEET
from coilgen.result.columns import column_units


class Told:
    """Values of a design's figures, each computed when a test asks for it."""

    def __init__(self, asked: Asked) -> None:
        self._case = case_of(*made(asked))

    def __getitem__(self, name: str) -> Any:
        return self._case.value(name)

    def __contains__(self, name: str) -> bool:
        return self._case.figure(name) is not None


@cache
def figures(asked: Asked) -> Told:
    return Told(asked)


@pytest.mark.parametrize("shape", EACH_SHAPE)
class TestLaws:
    def test_a_coil_of_twice_the_size(self, shape: str) -> None:
        """At the same copper thickness: length doubles, areas grow fourfold, resistance stays."""
        once, twice = (figures(Asked(shape=shape, scale=scale)) for scale in (1.0, 2.0))
        assert twice["trace_length"] == pytest.approx(2 * once["trace_length"], rel=1e-6)
        assert twice["turn_area"] == pytest.approx(4 * once["turn_area"], rel=1e-6)
        assert twice["smallest_spacing"] == pytest.approx(2 * once["smallest_spacing"], rel=1e-6)
        assert twice["resistance_20c"] == pytest.approx(once["resistance_20c"], rel=0.01)

    def test_a_mirrored_coil_differs_in_the_sign_of_its_field_only(self, shape: str) -> None:
        one = figures(Asked(shape=shape))
        other = figures(Asked(shape=shape, direction="clockwise"))
        for name in ("trace_length", "resistance_20c", "copper_mass", "winding_capacitance"):
            assert other[name] == pytest.approx(one[name], rel=1e-6)
        # Filaments stand for strips at an angle to second order; what is left of a hollow side changes its
        # sign in a mirror, and nearly cancels where sides are straight or bulge.
        assert other["inductance"] == pytest.approx(one["inductance"], rel=5e-6)
        assert other["turn_area"] == pytest.approx(-one["turn_area"], rel=1e-9)
        top, mirrored = one["flux_density"][0], other["flux_density"][0]
        assert mirrored["flux_density"] == pytest.approx(-top["flux_density"], rel=1e-6)
        assert top["flux_density"] > 0

    def test_layers_sum_to_the_inductance(self, shape: str) -> None:
        found = figures(Asked(shape=shape, layers=4))
        assert sum(map(sum, found["layer_inductances"])) == pytest.approx(found["inductance"], rel=1e-9)

    def test_layers_couple_as_their_inductances_say(self, shape: str) -> None:
        found = figures(Asked(shape=shape, layers=4))
        matrix, coupling = np.array(found["layer_inductances"]), np.array(found["layer_coupling"])
        self_inductance = np.sqrt(np.diag(matrix))
        assert coupling * np.outer(self_inductance, self_inductance) == pytest.approx(matrix, rel=1e-9)
        assert np.all((coupling > 0) & (coupling < 1 + 1e-12))

    def test_turn_area_is_near_that_of_the_mean_turn(self, shape: str) -> None:
        asked = Asked(shape=shape, layers=2, turns=8)
        design, _, _ = made(asked)
        lengths = Lengths(design, shape_named(shape))
        mean = lengths.outline.closed(sum(lengths.edges) / 2).swept_area
        assert figures(asked)["turn_area"] == pytest.approx(16 * mean, rel=0.06)

    def test_no_copper_is_narrower_or_closer_than_asked(self, shape: str) -> None:
        asked = Asked(shape=shape, width=0.21, spacing=0.19)
        found = figures(asked)
        assert found["smallest_width"] == pytest.approx(0.21e-3)
        assert found["smallest_spacing"] == pytest.approx(0.19e-3, abs=1e-9)


def test_power_and_moment_follow_from_the_current() -> None:
    found = figures(Asked())
    assert found["current"] == pytest.approx(5.0 / found["resistance_20c"])
    assert found["power"] == pytest.approx(5.0 * found["current"])
    assert found["ampere_turns"] == pytest.approx(found["current"] * found["turns_total"])
    assert found["moment"] == pytest.approx(found["current"] * found["turn_area"])
    assert found["time_constant"] == pytest.approx(found["inductance"] / found["resistance_20c"])


def test_the_circuit_behaves_as_the_impedance_says() -> None:
    """Its elements, put together by hand, give R and L of the table within 0.1 %."""
    found = figures(Asked())
    elements = {row["element"]: row["value"] for row in found["equivalent_circuit"]}
    stages = [(elements[f"R{k}"], elements[f"L{k}"]) for k in range(1, 20) if f"R{k}" in elements]
    assert stages
    for row in found["impedance"]:
        s = 2j * math.pi * row["frequency"]
        ladder = elements["R0"] + s * elements["L0"] + sum(r * s * x / (r + s * x) for r, x in stages)
        assert ladder.real == pytest.approx(row["resistance"], rel=1e-3)
        assert ladder.imag / abs(s) == pytest.approx(row["inductance"], rel=1e-3)


def test_the_circuits_elements_move_smoothly_with_the_design() -> None:
    """An opening wider by a hundred millionth of itself moves none by more than a thousandth."""
    usual, wider = (
        figures(Asked(inner=inner))["equivalent_circuit"]
        for inner in (Asked().inner, Asked().inner * (1 + 1e-8))
    )
    assert [row["element"] for row in usual] == [row["element"] for row in wider]
    for one, other in zip(usual, wider, strict=True):
        assert one["value"] > 0
        assert other["value"] == pytest.approx(one["value"], rel=1e-3)


def test_copper_mass_is_near_its_traces() -> None:
    asked = Asked(layers=2)
    found = figures(asked)
    traces = found["trace_length"] * asked.width * 1e-3 * 35e-6 * 8890
    assert traces < found["copper_mass"] < 1.5 * traces


def test_field_of_one_square_turn_is_the_textbooks() -> None:
    """Near 2 sqrt2 mu0 I / (pi a) at the centre of a square of side a, leads and finite width left out."""
    found = figures(replace(Asked(shape="square"), layers=1, turns=1, width=0.15, inner=24.0))
    side = 24.15e-3
    centre = 2 * math.sqrt(2) * 4e-7 * math.pi / (math.pi * side)
    assert found["flux_density"][0]["per_ampere"] == pytest.approx(centre, rel=0.05)


@pytest.mark.parametrize("shape", CURRENT_SHEET)
def test_closed_forms_stand_beside_the_engine_within_their_bias(shape: str) -> None:
    rows = figures(Asked(shape=shape, layers=1, turns=10, inner=10.0))["closed_forms"]
    assert len(rows) == 2
    for row in rows:
        assert row["usual_low"] - 0.03 < row["over_engine"] < row["usual_high"] + 0.03


MAGNET = {"form": "ring", "diameter": 8, "hole_diameter": 3, "thickness": 2, "grade": "N42", "gap": 1}
TARGET = {"form": "disc", "diameter": 14, "thickness": 0.5, "gap": 0.5, "place": "bottom"}
BESIDE = [
    {"drive": {"voltage": 1.0}, "magnet": MAGNET, "target": {**TARGET, "offset": [18, 0]}},
    {"drive": {"current": 0.5}, "magnet": {**MAGNET, "pole": "east", "offset": [2, 1]}, "target": TARGET},
    {"drive": {"voltage": 1.0, "waveform": "square", "frequency": 0.05, "duty": 0.2}},
    {"drive": {"voltage": 0.5, "waveform": "sine", "frequency": 2e5}, "magnet": {**MAGNET, "pole": "down"}},
    {"drive": {"current": 40.0}},
    pytest.param(
        {"core": [{"material": "ferrite sheet", "width": 8, "thickness": 1}], "magnet": MAGNET},
        marks=pytest.mark.slow,  # templates with cores and magnets have all figures made in any case
    ),
    pytest.param(
        {"core": [{"material": "ferrite sheet", "width": 16, "thickness": 0.2}], "magnet": MAGNET},
        marks=pytest.mark.slow,  # a thin sheet has ten times the cells
    ),
]
"""What may stand at the small coil and drive it; lengths in mm."""


@pytest.mark.parametrize("tables", BESIDE)
def test_bands_hold_their_values_and_tables_have_the_columns_told(tables: dict[str, object]) -> None:
    design = small_with(**tables)
    case = case_of(design, *draw(design))
    found = [*filter(None, map(case.solved, quantities()))]
    for figure in found:
        if figure.band is not None:
            low, high = figure.band
            slack = 1e-12 * abs(figure.value)
            assert low < high, figure.name
            assert low - slack <= figure.value <= high + slack, figure.name
        if isinstance(figure.value, list) and isinstance(figure.value[0], dict):
            assert set(figure.value[0]) == set(column_units(figure.unit)), figure.name
    raised = [caution for figure in found for caution in figure.cautions]
    assert len(raised) == len(set(raised))


@pytest.mark.parametrize("shape", EACH_SHAPE)
def test_one_turn_on_each_of_two_layers_side_by_side_has_no_capacitance_and_no_resonance(shape: str) -> None:
    found = figures(Asked(shape=shape, layers=2, turns=1, connection="parallel"))
    assert found["winding_capacitance"] == 0
    assert "self_resonance" not in found
    assert found["switch_off_voltage"] == 0.7


@pytest.mark.parametrize(("turns", "layers", "inner"), [(1, 2, 7.97893), (3, 1, 6.62894)])
def test_octagons_whose_leads_turn_back_over_the_last_corner(turns: int, layers: int, inner: float) -> None:
    width = 0.4 if layers == 2 else 0.2
    asked = Asked(
        shape="octagonal",
        layers=layers,
        turns=turns,
        inner=inner,
        width=width,
        spacing=width,
        connection="parallel" if layers == 2 else "series",
    )
    found = figures(asked)
    assert found["impedance"][0]["resistance"] == pytest.approx(found["resistance_20c"], rel=1e-3)
    assert found["winding_capacitance"] >= 0


@pytest.mark.parametrize("shape", ["rectangular", "racetrack"])
def test_parts_of_turns_of_long_windings_change_the_capacitance_little(shape: str) -> None:
    """Which of the long sides the last part of a turn has moves its mean radius by more than a pitch."""

    def capacitance(turns: float) -> float:
        design = read_text(
            f'name = "long"\n[winding]\nshape = "{shape}"\nlayers = 1\nturns = {turns}\ntrace_width = 0.5\n'
            "trace_spacing = 0.3\nouter_size = [24, 49]\n"
        )
        return float(case_of(design, *draw(design)).value("winding_capacitance"))

    whole, near = capacitance(3), capacitance(2.75)
    assert near == pytest.approx(whole, rel=0.15)


def test_layers_of_a_long_winding_whose_leads_take_part_of_a_turn_from_some_have_a_capacitance() -> None:
    """Inner layers lie as evenly as outer ones, which count a turn more with their leads."""
    text = """
name = "long"
[winding]
shape = "oval"
layers = 4
turns = {}
trace_width = 0.107
trace_spacing = 0.096
inner_size = [29.01, 42.1]
[via]
drill = 0.209
pad = 0.712
count = 2
[board]
stackup = "rigid-4-layer-1.6mm"
"""
    designs = [read_text(text.format(turns)) for turns in (7.75, 8)]
    part, whole = (case_of(each, *draw(each)).value("winding_capacitance") for each in designs)
    assert part == pytest.approx(whole, rel=0.1)
