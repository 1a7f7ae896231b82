"""What is refused of cores, magnet and target: each measure and word, in one line at its key."""

import math

import pytest
from small_design import faults_with, small_with

from coilgen.design.filling import MOST_CORES

LENGTH = 'write a number in mm or a string with a unit such as "0.15 mm"'
SOFT = (
    "soft iron, low-carbon steel, silicon steel, ferrite sheet, absorber sheet, Mn-Zn ferrite, Ni-Zn ferrite"
)
PLATE = {"form": "plate", "width": 20, "thickness": 1}
MAGNET = {"diameter": 5, "thickness": 2, "gap": 0.5, "grade": "N42"}
TARGET = {"width": 20, "depth": 4, "thickness": 1, "gap": 0.2}


@pytest.mark.parametrize(
    ("core", "told"),
    [
        ({"form": "disc"}, ['core 2.diameter: not given; form = "disc" needs it']),
        (
            {"form": "rod", "width": 3},
            [
                'core 2.width: has no use with form = "rod"; it takes diameter',
                'core 2.diameter: not given; form = "rod" needs it',
            ],
        ),
        ({"form": "ring", "diameter": 9}, ['core 2.hole_diameter: not given; form = "ring" needs it']),
        (
            {"form": "ring", "diameter": 9, "hole_diameter": 9},
            ["core 2.hole_diameter: 9 mm is not under the ring's diameter, 9 mm; make it smaller"],
        ),
        ({}, ['core 2.width: not given; form = "plate" needs it']),
        (
            {"depth": 3},
            ['core 2.width: not given; form = "plate" needs it'],
        ),
        ({"form": "plat", "width": 3}, ['core 2.form: "plat" is not known; did you mean "plate"?']),
        (
            {"width": 3, "place": "side"},
            ['core 2.place: "side" is not known; use one of top, bottom, pocket'],
        ),
        ({"width": 3, "rise": 1}, ['core 2.rise: belongs to place = "pocket"; use gap']),
        ({"width": 3, "gap": -1}, ["core 2.gap: -1 mm is outside what is allowed, 0 mm to 2000 mm"]),
        (
            {"width": 3, "contact": "glue"},
            [
                'core 2.contact: "glue" is not known; use one of solid, '
                "thin-tape, hand-taped, foam-tape, air-gap"
            ],
        ),
        (
            {"width": "3 mill"},
            ['core 2.width: "3 mill": "mill" is not a unit of length; use one of mm, um, µm, m, cm, mil, in'],
        ),
        (
            {"width": math.nan},
            [f"core 2.width: nan is not a finite number; {LENGTH}"],
        ),
        (
            {"width": True},
            [f"core 2.width: true is not a length; {LENGTH}"],
        ),
    ],
)
def test_cores(core, told):
    assert faults_with(core=[PLATE, {"thickness": 1, **core}]) == told


def test_a_gap_is_not_for_the_pocket():
    assert faults_with(core=[{"place": "pocket", "gap": 1}], pocket={"size": 6}) == [
        'core 1.gap: has no use with place = "pocket"; leave it out, `rise` tells how the core stands'
    ]


@pytest.mark.parametrize("given", [{}, {"thickness": 1}, "soft iron", 3, True])
def test_cores_are_a_list(given):
    (told,) = faults_with(core=given)
    assert told.startswith("core: ")
    assert told.endswith("is no list of tables; write each core as [[core]], in double brackets")


def test_there_is_an_end_to_the_number_of_cores():
    many = [{"width": 3, "thickness": 1}] * (MOST_CORES + 1)
    assert faults_with(core=many) == [f"core: {MOST_CORES + 1} given; up to {MOST_CORES} are allowed"]
    assert len(small_with(core=many[1:]).core) == MOST_CORES


def test_an_entry_that_is_no_table():
    assert faults_with(core=[PLATE, 3]) == [
        "core 2: 3 is not a table; give its keys under one heading in square brackets"
    ]


@pytest.mark.parametrize(
    ("magnet", "told"),
    [
        (
            {"grade": None},
            "magnet.grade: not given; give a grade from `coilgen list magnets`, or a remanence",
        ),
        ({"grade": "n42"}, 'magnet.grade: "n42" is not known; did you mean "N42"?'),
        ({"remanence": "1.3 T"}, "magnet.remanence: given besides grade; keep one of the two"),
        (
            {"grade": None, "remanence": 1.3},
            "magnet.remanence: 1.3 mT is outside what is allowed, 20 mT to 2000 mT; "
            'a number without a unit is in mT, for tesla write "1.3 T"',
        ),
        (
            {"grade": None, "remanence": "13 T"},
            'magnet.remanence: "13 T" is outside what is allowed, 20 mT to 2000 mT',
        ),
        ({"gap": 0}, "magnet.gap: 0 mm is outside what is allowed, 0.02 mm to 2000 mm"),
        (
            {"gap": math.inf},
            f"magnet.gap: inf is not a finite number; {LENGTH}",
        ),
        (
            {"pole": "left"},
            'magnet.pole: "left" is not known; use one of up, down, north, east, south, west',
        ),
        ({"place": "pocket"}, 'magnet.place: "pocket" is not known; use one of top, bottom'),
        ({"offset": 1}, "magnet.offset: 1 is not a list; write it in square brackets"),
        ({"offset": [1]}, "magnet.offset: a list of 1 entries; only 2 are allowed"),
        (
            {"offset": [0, "1 N"]},
            'magnet.offset: entry 2: "1 N": "N" is not a unit of length; '
            "use one of mm, um, µm, m, cm, mil, in",
        ),
        ({"form": "rod"}, 'magnet.form: "rod" is not known; use one of disc, ring, block'),
        ({"hole_diameter": 2}, 'magnet.hole_diameter: has no use with form = "disc"; it takes diameter'),
        ({"gradd": "N42"}, 'magnet.gradd: no such key; did you mean "grade"?'),
    ],
)
def test_magnets(magnet, told):
    given = {key: value for key, value in {**MAGNET, **magnet}.items() if value is not None}
    assert faults_with(magnet=given) == [told]


@pytest.mark.parametrize(
    ("target", "told"),
    [
        ({"mass": 0}, "target.mass: 0 g is outside what is allowed, 1e-06 g to 100000 g"),
        ({"mass": "3 N"}, 'target.mass: "3 N": "N" is not a unit of mass; use one of g, kg, mg'),
        ({"form": "rod"}, 'target.form: "rod" is not known; use one of plate, bar, disc, ring'),
        ({"diameter": 3}, 'target.diameter: has no use with form = "plate"; it takes width, depth'),
        ({"thickness": -1}, "target.thickness: -1 mm is outside what is allowed, 0.001 mm to 2000 mm"),
        (
            {"material": "brass"},
            f'target.material: "brass" is not known; use one of {SOFT}',
        ),
        (
            {"material": {"permeability": 0.9}},
            "target.material.permeability: 0.9 is outside what is allowed, 1.001 to 1e+06",
        ),
    ],
)
def test_targets(target, told):
    assert faults_with(target={**TARGET, **target}) == [told]


def test_magnet_and_target_are_not_on_one_side():
    assert faults_with(magnet=MAGNET, target=TARGET) == [
        'target.place: "top" is the magnet\'s side too; put them on different sides'
    ]
    assert small_with(magnet=MAGNET, target={**TARGET, "place": "bottom"}).target.place == "bottom"


@pytest.mark.parametrize("place", ["top", "bottom"])
def test_a_face_gives_its_heat_to_one_body(place):
    """A magnet that is stuck to a face, beside a core or a base plate there."""
    other = "bottom" if place == "top" else "top"
    stuck = {**MAGNET, "gap": 4, "place": place, "contact": "thin-tape"}
    assert faults_with(magnet=stuck, core=[{**PLATE, "place": place}]) == [
        f'magnet.contact: "thin-tape" sticks it to the {place}, which carries a core; leave it out, or put '
        "one of them on the other face"
    ]
    plate = {"width": 20, "thickness": 1, "place": place}
    assert faults_with(magnet=stuck, mounting={"base_plate": plate}) == [
        f'mounting.base_plate.place: "{place}" has a magnet stuck to it (magnet.contact); use the other face'
    ]
    assert small_with(magnet=stuck, core=[{**PLATE, "place": other}]).magnet.contact == "thin-tape"
    assert small_with(magnet=stuck, mounting={"base_plate": {**plate, "place": other}}).magnet is not None
    assert faults_with(magnet={**stuck, "contact": "glue"}) == [
        'magnet.contact: "glue" is not known; use one of solid, thin-tape, hand-taped, foam-tape, air-gap'
    ]
