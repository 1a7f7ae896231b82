"""Matrices between coils and phases of arrays, and what joints add to them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from array_windings import WINDING

from coilgen.design.reading import read_tables
from coilgen.figures.field._paths import strand_path, winding_path
from coilgen.figures.several._linkage import path_of
from coilgen.figures.several._network import joints_heat, network, phase_flows
from coilgen.job import case_of, draw
from coilgen.layout.coil import conductor
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.field.biot_savart import axis_flux_density, path_flux_density
from coilgen.physics.field.filaments import filaments
from coilgen.physics.inductance.facing import linkage_apart
from coilgen.physics.inductance.winding import layer_inductances


def case(array, winding=None, **tables):
    given = {"name": "a", "winding": {**WINDING, **(winding or {})}, "array": array, **tables}
    return case_of(*drawn(given))


def drawn(tables):
    design = read_tables(tables)
    return design, *draw(design)


def ring(count, **more):
    radius = 12 / (2 * math.sin(math.pi / count))
    return case({"arrangement": "ring", "count": count, "radius": radius, **more})


def one_by_one(design):
    """The same coils, written one by one."""
    return [
        {
            **WINDING,
            "name": each.name,
            "centre": [each.centre.real * 1e3, each.centre.imag * 1e3],
            "rotation": each.rotation,
        }
        for each in design.windings
    ]


@pytest.mark.parametrize(
    "array",
    [
        {"arrangement": "ring", "count": 5, "radius": 11, "phases": 1},
        {"arrangement": "grid", "columns": 3, "rows": 2, "pitch": [12, 14], "phases": 1},
    ],
)
def test_coils_that_lie_alike_are_computed_once_and_as_if_written_one_by_one(array):
    found = case(array)
    apart = case_of(*drawn({"name": "a", "winding": one_by_one(found.design)}))
    # Weights of phases make forces those of currents in phase here, as there.
    for name in ("inductance_matrix", "coupling", "winding_resistances"):
        assert np.allclose(found.value(name), apart.value(name), rtol=1e-6, atol=1e-15)
    for one, other in zip(found.value("force_on_windings"), apart.value("force_on_windings"), strict=True):
        assert [one[k] for k in "xyz"] == pytest.approx([other[k] for k in "xyz"], rel=1e-4, abs=3e-8)


def test_phases_of_open_coils_are_sums_over_them():
    found = ring(6, phase_order="AaBbCc")
    senses = np.zeros((6, 3))
    for k, each in enumerate(found.design.windings):
        senses[k, each.phase] = each.sense
    wanted = senses.T @ np.array(found.value("inductance_matrix")) @ senses
    assert np.allclose(found.value("phase_inductance_matrix"), wanted)
    assert found.value("phase_resistance") == pytest.approx(
        [2 * found.windings[0].case.value("resistance_20c")] * 3
    )
    assert found.figure("line_resistance") is None


def test_a_phase_in_series_is_its_coils_and_what_joins_them():
    found = ring(6, phase_order="ABCABC", coils="series")
    own = 2 * found.windings[0].case.value("resistance_20c")
    stackup = found.design.board.stackup
    sheet = stackup.metal.resistivity / stackup.copper[0]
    for phase, value in enumerate(found.value("phase_resistance")):
        joints = [
            trace
            for trace in found.coil.traces[6 * len(found.windings[0].coil.traces) :]
            if trace.net == "ABC"[phase]
        ]
        flat = sheet * sum(trace.path.length / trace.width for trace in joints)
        assert (
            own + 0.99 * flat < value < own + flat + 6.5e-3
        )  # barrels: two of tracks, two of leads on the bottom


def test_a_star_is_read_between_its_lines():
    found = ring(6, coils="series", connection="star", joint_width=1)
    phases, lines = found.value("phase_resistance"), found.value("line_resistance")
    assert found.figure("line_resistance").labels == ("1-2", "1-3", "2-3")
    for line, (one, other) in zip(lines, [(0, 1), (0, 2), (1, 2)], strict=True):
        assert line == pytest.approx(phases[one] + phases[other], rel=0.02)
    matrix = np.array(found.value("phase_inductance_matrix"))
    assert np.allclose(matrix, matrix.T, rtol=1e-9)
    way = np.array([1, -1, 0])
    assert found.value("line_inductance")[0] == pytest.approx(way @ matrix @ way, rel=0.02)


def test_a_delta_is_two_thirds_of_a_phase():
    found = ring(3, coils="series", connection="delta", joint_width=1)
    assert found.value("line_resistance") == pytest.approx(
        [2 / 3 * found.windings[0].case.value("resistance_20c")] * 3, rel=0.07
    )


@pytest.fixture(scope="module")
def in_row():
    """Three coils in series on narrow joints, at a voltage, and their copper as one conductor."""
    array = {"arrangement": "row", "count": 3, "pitch": 12, "phases": 1, "coils": "series"}
    found = case(array, drive={"voltage": 0.5})
    (flow,) = phase_flows(found)
    count = len(found.coil.traces) - len(flow.pieces)
    traces = [
        trace if current > 0 else replace(trace, path=trace.path.reversed())
        for trace, current in zip(found.coil.traces[count:], flow.pieces, strict=True)
    ]
    way = replace(found.coil, traces=(*found.coil.traces[:count], *traces))
    return found, conductor(way, found.design.board.stackup)


def test_inductance_of_a_phase_is_that_of_its_whole_way(in_row):
    """The copper from terminal to terminal as one conductor, every piece with every other."""
    found, way = in_row
    whole = layer_inductances(way).matrix.sum()
    ((value,),) = found.value("phase_inductance_matrix")
    bare = np.array(found.value("inductance_matrix")).sum()
    assert abs(whole - bare) > 0.01 * whole  # joints count
    assert value == pytest.approx(whole, rel=3e-3)


def test_field_of_a_phase_is_that_of_its_whole_way(in_row):
    """Piece by piece of all copper, each by itself, in any order; the axis is one of the places."""
    found, way = in_row
    lines = [
        filaments(Conductor(**{name: value[k : k + 1] for name, value in vars(way).items()}), closed=False)
        for k in range(len(way.width))
    ]
    heights = [1e-3, 5e-3]
    at = found.axis
    points = np.array(
        [*([at.real, at.imag, height] for height in heights), [0, -8e-3, 2e-3], [15e-3, -9e-3, -3e-3]]
    )
    wanted = sum(path_flux_density(line, points) for line in lines)
    coils = path_flux_density(strand_path(found.strands, 2e-5), points)
    value = path_flux_density(winding_path(found), points)
    assert np.abs(coils - wanted).max() > 0.05 * np.abs(wanted).max()  # joints count
    assert np.allclose(value[:, 2], wanted[:, 2], atol=1e-3 * np.abs(wanted).max())
    told = {(row["side"], row["height"]): row["per_ampere"] for row in found.value("flux_density")}
    assert [told["top", height] for height in heights] == pytest.approx(wanted[:2, 2], rel=5e-3)


def test_a_supply_s_voltage_falls_over_coils_and_joints(in_row):
    found, _ = in_row
    (resistance,) = found.value("phase_resistance")
    own = found.windings[0].case
    assert 3 * own.value("resistance_20c") < 0.97 * resistance
    assert own.value("current") * resistance == pytest.approx(0.5, rel=5e-3)
    assert found.value("power") == pytest.approx(0.5 * own.value("current"), rel=5e-3)
    rows = found.value("winding_temperatures")
    (current,) = {round(row["current"], 6) for row in rows[:1]}
    assert sum(row["resistance"] for row in rows) * current == pytest.approx(0.5, rel=0.01)


def test_coils_side_by_side_on_long_narrow_joints_are_told_to_share_unevenly():
    array = {"arrangement": "row", "count": 3, "pitch": 12, "phases": 1, "coils": "parallel"}
    told = case(array, {"turns": 1}).figure("phase_resistance").cautions
    assert any("times their equal share" in caution for caution in told)
    assert any("times as dense" in caution for caution in told)
    told = case({**array, "joint_width": 3}).figure("phase_resistance").cautions
    assert len(told) == 1 and "of the coils' heat" in told[0]


def test_coil_phases_tell_who_belongs_where():
    first, second, *_ = ring(6, phase_order="AaBbCc").value("coil_phases")
    assert (first["coil"], first["phase"], first["sense"]) == ("A1", "A", 1)
    assert (second["coil"], second["phase"], second["sense"]) == ("a2", "A", -1)
    assert (first["x"], first["y"], first["rotation"]) == (pytest.approx(12e-3), 0, 90)


def test_mutual_inductances_hardly_feel_the_chords_of_their_arcs():
    found = case({"arrangement": "ring", "count": 3, "radius": 6, "phases": 1}, {"shape": "round"})
    one, other = (path_of(found, each, 5e-6) for each in found.windings[:2])
    mutual = found.value("inductance_matrix")[0][1]
    assert mutual == pytest.approx(linkage_apart(one, other), rel=1e-4)
    assert mutual == pytest.approx(linkage_apart(other, one), rel=1e-4)


def test_fields_are_told_over_the_middle_of_the_first_coil():
    found = ring(6, phase_order="AaBbCc")
    assert found.axis == pytest.approx(found.design.windings[0].centre)
    row = found.value("flux_density")[0]
    parts = found.windings[0].case.strands
    alone = sum(each.share * axis_flux_density(each.conductor, [row["height"]])[0, 2] for each in parts)
    assert row["per_ampere"] == pytest.approx(alone, rel=0.1)
    near = found.value("axis_flux_density")
    heights, above = ([each[key] for each in near] for key in ("height", "above"))
    assert np.interp(row["height"], heights, above) == pytest.approx(row["flux_density"], rel=0.02)
    assert "coil A1" in found.figure("axis_flux_density").model


def test_phases_and_lines_have_bands_as_wide_as_a_coils():
    found = ring(6, coils="series", connection="star", joint_width=1)
    rows = found.value("phase_bands")
    assert [row["between"] for row in rows] == ["A", "B", "C", "1-2", "1-3", "2-3"]
    coil = found.windings[0].case.figure("resistance_20c")
    for row, value in zip(rows[3:], found.value("line_resistance"), strict=True):
        assert row["resistance"] == pytest.approx(value)
        assert row["resistance_high"] / value == pytest.approx(coil.band[1] / coil.value)
        assert row["inductance_low"] < row["inductance"] < row["inductance_high"]


def test_coils_beside_one_another_tell_no_capacitance_between_them():
    assert ring(6).figure("capacitance_between") is None


STEPS = {
    "star": np.array([[1.0, -1.0, 0.0], [1.0, 0.0, -1.0], [0.0, 1.0, -1.0]]),
    "delta": np.array([[2.0, -1.0, -1.0], [-1.0, 2.0, -1.0], [-1.0, -1.0, 2.0]]) / 3,
}
"""Currents of phases in three of six steps, the others are these turned round, over the line's."""


@pytest.mark.parametrize("connection", STEPS)
def test_joints_make_the_same_share_of_heat_in_six_steps(connection):
    found = ring(6, coils="series", connection=connection)
    runs, barrels, coils = (
        np.mean((STEPS[connection] @ [getattr(flow, part) for flow in phase_flows(found)]) ** 2, axis=0)
        for part in ("pieces", "barrels", "coils")
    )
    made = runs @ network(found).pieces + barrels.sum() * network(found).barrel
    own = coils.sum() * found.windings[0].case.value("resistance_20c")
    assert joints_heat(found) > 0.001
    assert joints_heat(found) == pytest.approx(made / own, rel=1e-9)
