"""One tail for several windings, or for an array's joined coils: what every such board keeps."""

import math
from functools import cache
from itertools import pairwise

import pytest

import coilgen
from coilgen.geometry.path import Path, polyline
from coilgen.job import case_of, check, draw
from coilgen.layout.road import Port, Round, Square, levels, order, runs

COIL = {
    "shape": "round",
    "layers": 2,
    "turns": 4,
    "trace_width": 0.15,
    "trace_spacing": 0.15,
    "outer_size": 6,
}


def board(*windings, length=25, **more):
    """Windings in a row, 9 mm apart, each with its own keys; more goes over the tables."""
    coils = [
        {key: value for key, value in COIL.items() if key != "layers" or "copper_layers" not in own} | own
        for own in windings
    ]
    given = {
        "name": "flap",
        "winding": [{"name": f"w{k}", "centre": [9 * k, 0], **each} for k, each in enumerate(coils)],
        "board": {"stackup": "flex-2-layer"},
        "tail": {"length": length},
        "terminals": {"kind": "contact-fingers", "lead_width": 0.3},
    }
    return _over(given, more)


def array(*, length=25, **more):
    given = {
        "name": "flap",
        "winding": COIL,
        "array": {
            "arrangement": "ring",
            "count": 3,
            "radius": 7,
            "coils": "series",
            "connection": "star",
        },
        "board": {"stackup": "flex-2-layer"},
        "tail": {"length": length},
        "terminals": {"kind": "contact-fingers", "lead_width": 0.3},
    }
    return _over(given, more)


def _over(given, more):
    for table, keys in more.items():
        given[table] = {**given.get(table, {}), **keys} if isinstance(keys, dict) else keys
    return given


def checked(tables):
    return check(coilgen.Design.from_tables(tables))


def fault(tables):
    with pytest.raises(coilgen.DesignError) as caught:
        checked(tables)
    ((key, says),) = [(each.key, each.says) for each in caught.value.faults]
    return key, says


BOARDS = {
    "row": board({}, {}, {}),
    "aside, about, turned": board({"terminals": {"side": "west"}}, {"rotation": 30}, tail={"side": "east"}),
    "to the north": board({"terminals": {"side": "north"}}, {"terminals": {"side": "north"}}),
    "inner layers, holes": board(
        {"copper_layers": [3, 4]},
        {"copper_layers": [2, 3]},
        board={"stackup": "flex-4-layer"},
        terminals={"kind": "plated-hole", "pitch": 2.2},
    ),
    "round, pads, clockwise": board(
        {"direction": "clockwise"},
        {"rotation": 90},
        board={"outline": "round", "offset": [4.5, 0]},
        terminals={"kind": "surface-pad", "pad": 0.8, "pitch": 1.2},
        tail={"offset": 4.5},
    ),
    "fine fingers": board(
        {}, {}, terminals={"pitch": 0.5, "pad": 0.3, "lead_width": 0.5, "fingers": [1, 1, 2, 0, 3, 4, 4]}
    ),
    "star on a ring": array(tail={"side": "north"}),
    "parallel in a row": array(
        array={"arrangement": "row", "count": 4, "radius": None, "pitch": 9, "coils": "parallel", "phases": 2}
        | {"connection": "open"}
    ),
}


def _without_none(tables):
    return {
        table: {key: value for key, value in keys.items() if value is not None}
        if isinstance(keys, dict)
        else keys
        for table, keys in tables.items()
    }


@pytest.mark.parametrize("tables", BOARDS.values(), ids=BOARDS)
def test_leads_keep_every_rule_and_reach_their_terminals(tables):
    """No finding of any rule; the traces of a winding meet end to end, or in a plated hole."""
    result = checked(_without_none(tables))
    assert result.findings == ()
    holes = [via.at for via in result.coil.vias]
    for each in result.windings if result.design.array is None else ():
        for before, after in pairwise(each.coil.traces):
            assert abs(before.path.end - after.path.start) < 1e-9
            assert before.layer == after.layer or min(abs(at - after.path.start) for at in holes) < 1e-9
        ends = each.coil.traces[0].path.start, each.coil.traces[-1].path.end
        for end, terminal in zip(ends, each.coil.terminals, strict=True):
            own = terminal.fingers[0] if terminal.fingers else None
            assert abs(end - (own.at - own.span / 2 if own else terminal.at)) < 1e-9
    tail = result.coil.tail
    along = [((t.at - tail.origin) * tail.out.conjugate()).real for t in result.coil.terminals]
    assert all(20e-3 < each < 25e-3 for each in along)


def test_a_design_told_again_is_the_same_board():
    for tables in (BOARDS["aside, about, turned"], BOARDS["star on a ring"]):
        design = coilgen.Design.from_tables(tables)
        again = coilgen.Design.from_resolved(design.resolved())
        assert check(again).coil.traces == check(design).coil.traces


@cache
def case(kind, length):
    design = coilgen.Design.from_tables(
        {"w": board({}, {}), "a": array()}[kind] | {"tail": {"length": length}}
    )
    return case_of(design, *draw(design))


def test_leads_count_in_each_winding_s_resistance():
    """rho l / (w t) of 20 mm there and 20 mm back; the array's line passes two leads as well."""
    short, long = case("w", 15), case("w", 35)
    metal, thickness = short.design.board.stackup.metal, short.design.board.stackup.copper[0]
    more = metal.resistivity * 40e-3 / (0.3e-3 * thickness)
    for one, other in zip(short.windings, long.windings, strict=True):
        assert other.case.value("resistance_20c") - one.case.value("resistance_20c") == pytest.approx(more)
    lines = [case("a", length).value("line_resistance") for length in (15, 35)]
    assert [far - near for near, far in zip(*lines, strict=True)] == pytest.approx([more] * 3)


def test_leads_side_by_side_couple_windings():
    """Two pairs of wires in one row, at distances of 1, 2 and 3 steps: mu0 l / 2 pi ln(d14 d23 / (d13 d24)).

    Windings act on one another as currents in the middle of their traces; far off, they add a little.
    """
    one, other = (case("w", length).value("inductance_matrix") for length in (15, 35))
    assert one[0][1] == pytest.approx(one[1][0])
    expected = 2e-7 * 20e-3 * math.log(3 / 4)
    assert other[0][1] - one[0][1] == pytest.approx(expected, rel=0.06)


class TestRefusals:
    def test_an_order_of_fingers_that_crosses_tells_the_one_that_does(self):
        key, says = fault(board({}, {}, terminals={"fingers": [3, 4, 1, 2]}))
        assert key == "terminals.fingers"
        told = [int(each) for each in says.split("of terminals ")[1].split(";")[0].split(",")]
        assert checked(board({}, {}, terminals={"fingers": told})).findings == ()

    def test_terminals_without_a_finger_are_told(self):
        assert fault(board({}, {}, terminals={"fingers": [1, 2]}))[1].count("terminal 3, 4") == 1
        assert "names terminal 5" in fault(board({}, {}, terminals={"fingers": [1, 2, 3, 4, 5]}))[1]
        assert "give 4 or more" in fault(board({}, {}, terminals={"count": 3}))[1]
        assert "apart" in fault(board({}, {}, terminals={"fingers": [1, 2, 1, 3, 4]}))[1]

    def test_leads_above_one_another_are_of_one_winding(self):
        assert fault(board({}, {}, tail={"leads": "above"}))[0] == "tail.leads"

    def test_terminals_of_a_winding_s_own_are_told_for_all(self):
        assert fault(board({"terminals": {"pad": 1}}, {}))[0] == "winding 1.terminals.pad"

    def test_a_winding_behind_another_has_no_way(self):
        key, says = fault(board({}, {"terminals": {"side": "west"}}))
        assert key == "winding 2.rotation"
        assert "no free way" in says
        assert checked(board({}, {"terminals": {"side": "west"}, "rotation": 180})).findings == ()

    def test_one_layer_leads_nothing_out(self):
        key, says = fault(board({"layers": 1}, board={"stackup": "flex-1-layer"}))
        assert (key, "one copper layer more" in says) == ("winding 1", True)

    def test_open_coils_and_terminals_within_a_ring(self):
        assert fault(array(array={"coils": "open", "connection": "open"}))[0] == "tail"
        assert fault(array(array={"joints": "inside"}))[0] == "array.joints"


ROADS = [Square(low=-4 - 3j, high=5 + 3j), Round(centre=0.5 + 0j, radius=5.0)]


@pytest.mark.parametrize("road", ROADS, ids=["square", "round"])
def test_ways_round_never_meet(road):
    """Ports all round, two of them beside the north, to tracks aside: ways keep their distance."""
    import shapely

    ways = [1j, 1j, -1, -1j, -1j, 1, 1 + 0.3j]
    starts = [0.3j + 0.4, 0.3j + 1.4, -1, -1 - 1j, 1 - 1j, 2, 2 + 1j]
    ports = [Port(at=at, way=way / abs(way)) for at, way in zip(starts, ways, strict=True)]
    ordered = order(road, [ports[:2], ports[2:]])
    group = {0: ports[:2], 1: ports[2:]}
    tracks = [1.0 + 0.2 * k for k in range(len(ports))]
    led = [group[g][k] for _, g, k in ordered]
    found = runs(road, led, [place for place, _, _ in ordered], tracks, 0.2)
    lines = [
        shapely.LineString(
            [(p.real, p.imag) for s in Path((*run, *polyline([run[-1].end, complex(x, -20)]))).segments
             for p in [s.at(k / 64) for k in range(65)]]
        )
        for run, x in zip(found, tracks, strict=True)
    ]  # fmt: skip
    apart = min(a.distance(b) for k, a in enumerate(lines) for b in lines[k + 1 :])
    assert apart > 0.2 - 5e-3


def test_levels_part_wires_that_pass_one_another():
    assert levels([0.0, 1.0, 5.0], [2.0, 3.0, 6.0], 0.1) == (1, 0, 0)
    assert levels([0.0, 3.0], [2.0, 4.0], 0.1) == (0, 0)
    assert levels([1.0, 2.0, 3.0], [0.0, 0.5, 1.0], 0.1) == (0, 1, 2)
