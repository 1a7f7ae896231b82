"""What a design's faults say: the key as written, the nearest known one, the place where it belongs."""

import pytest

from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.errors import DesignError

PLATE = {"thickness": 1, "width": 9}
DESIGN = tuple(Design.model_fields)
WINDING = {"shape": "round", "turns": 14, "trace_width": 0.15, "trace_spacing": 0.15, "outer_size": 24}


def lines(**tables):
    with pytest.raises(DesignError) as caught:
        read_tables({"name": "coil", "winding": WINDING, **tables})
    return str(caught.value).split("\n")


@pytest.mark.parametrize(
    ("tables", "line"),
    [
        ({"wnding": {}}, 'wnding: no such key; did you mean "winding"?'),
        ({"via": {"dril": 1}}, 'via.dril: no such key; did you mean "drill"?'),
        ({"via": {"voltage": 1}}, "via.voltage: no such key here; it belongs in [drive] or [tolerance]"),
        (
            {"board": {"diameter": 12}},
            "board.diameter: no such key here; its sizes are size, width, height, corner_radius; "
            "diameter belongs in [hole] or [core] or [magnet] or [target]",
        ),
        ({"voltage": 3}, "voltage: no such key here; it belongs in [drive] or [tolerance]"),
        ({"shape": "round"}, "shape: no such key here; it belongs in [winding] or [pocket]"),
        ({"via": {"xyzzy": 1}}, "via.xyzzy: no such key; use drill, pad, count"),
        ({"via": {"a b\n": 1}}, 'via."a b?": no such key; use drill, pad, count'),
        ({"core": [{}]}, "core 1.thickness: not given; add it: along z, from face to face"),
        (
            {"core": 3},
            "core: 3 is no list of tables; write each core as [[core]], in double brackets",
        ),
        (
            {"core": [{"thickness": 1, "width": 9}, {"thickness": 1, "widht": 9}]},
            'core 2.widht: no such key; did you mean "width"?',
        ),
        (
            {"core": [{"thickness": 1, "width": 9, "voltage": 3}]},
            "core 1.voltage: no such key here; it belongs in [drive] or [tolerance]",
        ),
        (
            {"core": [PLATE, {**PLATE, "material": {"permeability": 100, "densty": 5000}}]},
            'core 2.material.densty: no such key; did you mean "density"?',
        ),
        (
            {"mounting": {"base_plate": {"width": 30, "thickness": 2, "colour": 1}}},
            "mounting.base_plate.colour: no such key; use material, place, shape, diameter, width, depth, "
            "thickness, emissivity, contact",
        ),
        (
            {"mounting": {"diameter": 30}},
            "mounting.diameter: no such key here; it belongs in [hole] or [core] or [magnet] or [target]",
        ),
        (
            {"magnet": [1]},
            "magnet: a list is not a table; write it once, with its heading in single brackets, [magnet]",
        ),
        ({"variant": [{"name": "a", "xyzzy": 1}]}, f"variant 1.xyzzy: no such key; use {', '.join(DESIGN)}"),
        (
            {"variant": [{"name": "a", "drive": {"drill": 1}}]},
            "variant 1.drive.drill: no such key here; it belongs in [via] or [terminals]",
        ),
        ({"board": {"tail": {}}}, "board.tail: no such key here; [tail] is a table by itself"),
        ({"board": {"core": {}}}, "board.core: no such key here; [[core]] is a table by itself"),
        ({"pocket": {}}, 'pocket.size: not given; add it, for instance size = "6 mm"'),
        ({"via": 3}, "via: 3 is not a table; give its keys under one heading in square brackets"),
        (
            {"pocket": [1]},
            "pocket: a list is not a table; write it once, with its heading in single brackets, [pocket]",
        ),
        ({"note": 3}, "note: 3 is not text; put it in quotes"),
        (
            {"board": {"stackup": {"copper": [0.035], "dielectric": [1], "flexible": "yes"}}},
            'board.stackup.flexible: "yes" is not a yes or no; use true or false',
        ),
        (
            {"board": {"stackup": {"copper": [0.035], "dielectric": [1], "coper": 1}}},
            'board.stackup.coper: no such key; did you mean "copper"?',
        ),
        (
            {"board": {"stackup": {"copper": [0.035], "dielectric": [1, 2]}}},
            "board.stackup.dielectric: 2 given for 1 in copper, which need 1; "
            "one stands between two copper layers, or under a single one",
        ),
    ],
)
def test_each_fault_is_one_line_at_its_key(tables, line):
    assert lines(**tables) == [line]


def test_left_out_tables_and_names():
    with pytest.raises(DesignError) as caught:
        read_tables({})
    assert str(caught.value).split("\n") == [
        "name: not given; add it: the design's name, used in file names",
        "winding: not given; add a [winding] table with shape and four of its five numbers",
    ]


def test_all_faults_are_told_together():
    told = lines(
        via={"drill": 0},
        drive={"voltage": "5 A"},
        probe={"heights": []},
        pocket={"size": 20},
        core=[{**PLATE, "place": "side"}, {**PLATE, "form": "rod"}, {**PLATE, "width": 0}],
        magnet={"diameter": 5, "thickness": -1, "gap": 1, "grade": "N43"},
        mounting={"emissivity": 2, "base_plate": {"thickness": 0, "width": 30}},
        variant=[{}],
        rules={"shop": 1},
    )
    assert [line.split(":")[0] for line in told] == [
        "rules.shop",
        "pocket.size",
        "via.drill",
        "drive.voltage",
        "probe.heights",
        "core 1.place",
        "core 2.width",
        "core 2.diameter",
        "core 3.width",
        "magnet.thickness",
        "magnet.grade",
        "mounting.emissivity",
        "mounting.base_plate.thickness",
        "variant 1.name",
    ]
