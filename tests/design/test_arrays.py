"""Arrays in a design file: where the coils stand, which phases they make, and what is refused."""

import cmath
import math

import pytest
from schema_reader import keeps_to
from small_design import TABLES

from coilgen.design import phases
from coilgen.design.arrays import order_notes, with_order
from coilgen.design.design import Design
from coilgen.design.reading import json_schema, read_tables
from coilgen.errors import DesignError

WEDGE = {
    "shape": "wedge",
    "turns": 5,
    "layers": 2,
    "trace_width": 0.15,
    "trace_spacing": 0.15,
    "inner_radius": 9,
    "outer_radius": 19,
}
RING = {"arrangement": "ring", "count": 9, "radius": 45}
ROW = {"arrangement": "row", "count": 4, "pitch": 30}
GRID = {"arrangement": "grid", "columns": 20, "rows": 20, "pitch": 30}


def array(tables=None, **changed):
    return read_tables({**TABLES, "array": {**(tables or RING), **changed}})


def lines(tables=None, **changed):
    with pytest.raises(DesignError) as caught:
        array(tables, **changed)
    return [str(fault) for fault in caught.value.faults]


def electrical(count, poles):
    return [math.pi * poles * k / count for k in range(count)]


def test_coil_1_of_a_ring_stands_in_the_east_with_its_terminals_outward():
    coils = array().windings
    assert [each.name for each in coils[:4]] == ["A1", "B2", "C3", "A4"]
    assert coils[0].centre == 45e-3 and coils[0].rotation == 90
    for k, each in enumerate(coils):
        assert cmath.isclose(each.centre, cmath.rect(45e-3, math.tau * k / 9))
        south = cmath.rect(1, math.radians(each.rotation - 90))  # where the terminals of a turned coil point
        assert cmath.isclose(south, each.centre / 45e-3)


def test_terminals_of_another_side_point_outward_too():
    tables = {**TABLES, "terminals": {"side": "east"}, "array": RING}
    assert read_tables(tables).windings[0].rotation == 0


def test_a_row_runs_east_and_a_grid_row_by_row_southward():
    row = array({"arrangement": "row", "count": 3, "pitch": 30}).windings
    assert [each.centre for each in row] == [-30e-3, 0, 30e-3]
    grid = array({"arrangement": "grid", "columns": 2, "rows": 2, "pitch": [30, 40]}).windings
    assert [each.centre for each in grid] == [
        -15e-3 + 20e-3j,
        15e-3 + 20e-3j,
        -15e-3 - 20e-3j,
        15e-3 - 20e-3j,
    ]


def test_wedges_share_their_ring_less_one_spacing():
    design = read_tables({"name": "a", "winding": WEDGE, "array": {"arrangement": "ring", "count": 9}})
    own = design.windings[0].design.winding
    assert abs(design.windings[0].centre) == pytest.approx(14e-3)
    # Between two lines from one centre, at the inner radius on one of them, to the other.
    assert 9e-3 * math.sin(math.tau / 9 - own.angle) == pytest.approx(0.15e-3)


def test_told_and_read_back_changed_and_in_the_schema():
    design = array(phase_order="AaABbBCcC")
    told = design.resolved()
    assert told["array"]["phase_order"] == "AaABbBCcC" and isinstance(told["winding"], dict)
    assert Design.from_resolved(told) == design
    assert [each.sense for each in design.windings[:3]] == [1, -1, 1]
    assert len(design.changed({"array.count": 6, "array.phase_order": None}).windings) == 6
    assert keeps_to({**TABLES, "array": RING}, json_schema(), json_schema())
    assert "array" not in read_tables(TABLES).resolved()


def test_every_coil_is_the_design_of_the_one_winding():
    design = array()
    assert {id(each.design) for each in design.windings} == {id(design.windings[0].design)}
    assert design.windings[0].design.winding == read_tables(TABLES).winding


@pytest.mark.parametrize(
    ("changed", "key", "says"),
    [
        ({"radius": None}, "array.radius", "a ring of coils of 16 mm needs it"),
        ({"pitch": 3}, "array.pitch", "has no use in a ring"),
        ({"count": None}, "array.count", "not given"),
        ({"count": 73}, "array.count", "1 to 72"),
        ({"phases": 2}, "array.phases", "9 coils do not divide into 2 phases"),
        ({"phase_order": "ABC"}, "array.phase_order", "has 3 letters for 9 coils"),
        ({"phase_order": "ABCABCABD"}, "array.phase_order", "beyond the 3 phases"),
        ({"phase_order": "ABCABCABB"}, "array.phase_order", "A 3, B 4, C 2"),
        ({"phase_order": "AB?ABCABC"}, "array.phase_order", "not a phase order"),
        ({"connection": "star"}, "array.connection", "coils are open"),
        ({"coils": "serial"}, "array.coils", "series"),
    ],
)
def test_what_cannot_be_is_told_with_its_key(changed, key, says):
    given = {name: value for name, value in {**RING, **changed}.items() if value is not None}
    (line,) = lines(given)
    assert line.startswith(f"{key}: ") and says in line


@pytest.mark.parametrize(
    ("tables", "key", "says"),
    [
        ({**ROW, "pitch": [30, 40]}, "array.pitch", "a row has one pitch and not a list"),
        (GRID, "array.rows", "400 coils in all; up to 72"),
        ({**ROW, "phases": 2, "coils": "series", "connection": "star"}, "array.connection", "there are 2"),
        ({**RING, "joints": "inside"}, "array.joints", "has no use with open coils"),
        ({**RING, "joint_width": 0.3}, "array.joint_width", "has no use with open coils"),
        (
            {**ROW, "coils": "series", "joints": "inside"},
            "array.joints",
            "no side of a row; use below or above",
        ),
    ],
)
def test_places_and_joints_that_cannot_be_are_told_with_their_keys(tables, key, says):
    (line,) = lines(tables)
    assert line.startswith(f"{key}: ") and says in line


def test_cores_in_pockets_stand_in_every_coil_and_those_on_a_face_once():
    pocket = {"pocket": {"size": 3}, "array": RING}
    inside = {"material": "soft iron", "place": "pocket"}
    below = {"material": "soft iron", "form": "disc", "place": "bottom", "thickness": 1, "diameter": 100}
    design = read_tables({**TABLES, **pocket, "core": [below, inside]})
    assert [body.number for body in design.stand.bodies] == [1] + RING["count"] * [2]
    lying = [(body.centre, body.turn) for body in design.stand.bodies[1:]]
    assert lying == [(each.centre, each.rotation) for each in design.windings]
    assert design.core[1].size == (3e-3, 3e-3) and design.core[1].thickness == pytest.approx(1.6e-3)
    assert Design.from_resolved(design.resolved()) == design


@pytest.mark.parametrize(
    ("core", "pocket", "told"),
    [
        ({"diameter": 3.2}, {"pocket": {"size": 3}}, "does not go into the pocket"),
        ({"diameter": 2}, {}, "needs a [pocket] table"),
    ],
)
def test_cores_in_pockets_of_arrays_are_checked_as_those_of_one_coil(core, pocket, told):
    tables = {**TABLES, **pocket, "core": [{"place": "pocket", **core}]}
    found = []
    for array in ({"array": RING}, {}):
        with pytest.raises(DesignError) as caught:
            read_tables({**tables, **array})
        found.append([str(fault) for fault in caught.value.faults])
    assert found[0] == found[1]
    assert any(told in line for line in found[0]), found


def test_what_wedges_and_lists_of_windings_refuse():
    wedges = {"name": "a", "winding": WEDGE, "array": RING}
    with pytest.raises(DesignError, match=r"array\.radius: has no use with wedges"):
        read_tables(wedges)
    joined = {"arrangement": "ring", "count": 9, "coils": "series", "joints": "inside"}
    with pytest.raises(DesignError, match=r"array\.joints: .* wedges have theirs outward"):
        read_tables({"name": "a", "winding": WEDGE, "array": joined})
    with pytest.raises(DesignError, match="array: repeats one winding"):
        read_tables({"name": "a", "winding": [{"name": "x", **TABLES["winding"]}], "array": RING})
    with pytest.raises(DesignError, match=r"winding\.turns: 0 is outside"):
        read_tables({**TABLES, "winding": {**TABLES["winding"], "turns": 0}, "array": RING})


@pytest.mark.parametrize(
    ("tables", "faults"),
    [
        ({"array": {"arrangement": "ring", "count": 0}}, ["array.count"]),
        ({"array": {"arrangement": "ring"}}, ["array.count"]),
        ({"drive": {"voltage": -1}}, ["drive.voltage"]),
        ({"mover": {"arrangement": "ring", "poles": 8}}, ["mover.gap", "mover.magnet"]),
        ({"winding": {**WEDGE, "turns": 0}, "drive": {"voltage": 0}}, ["winding.turns", "drive.voltage"]),
    ],
)
def test_faults_elsewhere_leave_a_wedge_its_angle(tables, faults):
    with pytest.raises(DesignError) as caught:
        read_tables({"name": "a", "winding": WEDGE, "array": {"arrangement": "ring", "count": 9}, **tables})
    assert sorted(fault.key for fault in caught.value.faults) == sorted(faults)


def test_a_mover_without_an_array_is_told_beside_other_faults():
    with pytest.raises(DesignError, match=r"mover: passes the coils of an \[array\]"):
        read_tables({"name": "a", "winding": WEDGE, "mover": {"arrangement": "ring"}})


# Distribution factors of concentrated coils in closed form: q phasors a step of a apart add to
# sin(q a / 2) / (q sin(a / 2)), with q = 3, a = 20 deg and q = 2, a = 30 deg where they are not in phase.
@pytest.mark.parametrize(
    ("count", "poles", "order", "factor"),
    [
        (9, 8, "AaABbBCcC", 0.9598),
        (12, 10, "AabBCcaABbcC", 0.9659),
        (6, 4, "ABCABC", 1.0),
        (9, 6, "ABCABCABC", 1.0),
    ],
)
def test_orders_and_their_distribution_factors(count, poles, order, factor):
    found = phases.by_star_of_slots(electrical(count, poles), 3)
    assert found == order
    assert phases.least_factor(electrical(count, poles), order, 3) == pytest.approx(factor, abs=1e-4)


@pytest.mark.parametrize("count", [6, 9, 12, 15, 24])
@pytest.mark.parametrize("poles", [2, 4, 8, 10, 14, 16, 22])
def test_no_deal_of_equal_phases_adds_more(count, poles):
    """Each coil is at best half a sector, 30 degrees, off its phase's axis."""
    found = phases.by_star_of_slots(electrical(count, poles), 3)
    if found is not None:
        assert phases.least_factor(electrical(count, poles), found, 3) >= 3 / math.pi - 1e-9
    else:  # as many phasors of the star as go evenly to six sectors, or none
        assert (count // math.gcd(count, poles // 2)) % 3


def test_an_order_that_cancels_is_told_with_one_that_does_not():
    told = with_order(array(phase_order="ABCABCABC").array, None)
    (note,) = order_notes(told, {"poles": 8})
    assert "cancel" in note and '"AaABbBCcC" gives 0.960' in note
    assert order_notes(told, {"poles": 6}) == ()
    assert order_notes(told, None) == ()
