"""How the coil is mounted: defaults, joints for heat, the base plate, and what is refused."""

import pytest
from small_design import faults_with, small_with

from coilgen.catalogue import rows
from coilgen.design.mounting import BasePlate, Mounting

PLATE = {"width": 40, "thickness": 2}


def test_what_is_left_out():
    mounting = small_with().mounting
    assert (mounting.orientation, mounting.emissivity, mounting.contact) == ("face-up", 0.9, "thin-tape")
    assert mounting.contact_resistance is mounting.forced_convection is mounting.base_plate is None
    assert mounting.limit_temperature is None
    plate = BasePlate.model_validate(PLATE)
    assert (plate.material, plate.place, plate.shape) == ("aluminium", "bottom", "rectangle")
    assert (plate.depth, plate.emissivity, plate.contact) == (0.04, 0.2, None)
    assert plate.facts == rows("materials")["aluminium"]


@pytest.mark.parametrize("name", rows("contacts"))
def test_a_contact_has_the_resistances_of_its_row(name):
    band = tuple(rows("contacts")[name]["resistance"])
    assert Mounting(contact=name).contact_band(None) == band
    assert Mounting().contact_band(name) == band


def test_own_resistances_stand_for_the_mountings_contact_alone():
    mounting = Mounting.model_validate({"contact_resistance": [1e-4, 2e-4, 4e-4]})
    assert mounting.contact_band(None) == (1e-4, 2e-4, 4e-4)
    assert mounting.contact_band("air-gap") == tuple(rows("contacts")["air-gap"]["resistance"])


@pytest.mark.parametrize("own", [{"contact": "solid"}, {"contact": "foam-tape"}])
def test_contact_or_resistances(own):
    assert faults_with(mounting={**own, "contact_resistance": [1e-4, 2e-4, 4e-4]}) == [
        "mounting.contact_resistance: given besides contact; keep one of the two"
    ]


@pytest.mark.parametrize(
    ("mounting", "told"),
    [
        ({"orientation": "up"}, 'orientation: "up" is not known; use one of face-up, face-down, vertical'),
        ({"orientation": "Face-Up"}, 'orientation: "Face-Up" is not known; did you mean "face-up"?'),
        ({"emissivity": 1.1}, "emissivity: 1.1 is outside what is allowed, 0 to 1"),
        (
            {"emissivity": "90 %"},
            'emissivity: "90 %" is text; write the number without quotes or unit, such as 14',
        ),
        ({"contact": "thin tape"}, 'contact: "thin tape" is not known; did you mean "thin-tape"?'),
        (
            {"contact_resistance": 1e-4},
            "contact_resistance: 0.0001 is not a list; write it in square brackets",
        ),
        ({"contact_resistance": [1e-4, 2e-4]}, "contact_resistance: a list of 2 entries; only 3 are allowed"),
        (
            {"contact_resistance": [2e-4, 1e-4, 4e-4]},
            "contact_resistance: does not rise; give least, typical and most in this order",
        ),
        (
            {"contact_resistance": [0, 1e-4, 4e-4]},
            "contact_resistance: entry 1: 0 is outside what is allowed, 1e-09 to 10",
        ),
        ({"forced_convection": 0}, "forced_convection: 0 is outside what is allowed, 0.1 to 100000"),
        (
            {"limit_temperature": "140 F"},
            'limit_temperature: "140 F": "F" is not a unit of temperature; use one of degC, °C, K',
        ),
        (
            {"base_plate": True},
            "base_plate: true is not a table; give its keys under one heading in square brackets",
        ),
        ({"base_plate": {}}, "base_plate.thickness: not given; add it: of the plate"),
        ({"baseplate": {}}, 'baseplate: no such key; did you mean "base_plate"?'),
    ],
)
def test_a_fault_is_one_line(mounting, told):
    assert faults_with(mounting=mounting) == [f"mounting.{told}"]


@pytest.mark.parametrize(
    ("plate", "told"),
    [
        ({"thickness": 2}, ['width: not given; shape = "rectangle" needs it']),
        ({"thickness": 2, "width": 0}, ["width: 0 mm is outside what is allowed, 0.001 mm to 2000 mm"]),
        (
            {"thickness": 2, "shape": "round", "width": 30},
            [
                'diameter: not given; shape = "round" needs it',
                'width: has no use with shape = "round"; leave it out',
            ],
        ),
        (
            {**PLATE, "diameter": 30},
            ['diameter: has no use with shape = "rectangle"; leave it out'],
        ),
        (
            {**PLATE, "material": "soft iron"},
            [
                'material: "soft iron" is not known; use one of aluminium, brass, stainless steel, '
                "copper plate, glass"
            ],
        ),
        ({**PLATE, "place": "pocket"}, ['place: "pocket" is not known; use one of top, bottom']),
        ({**PLATE, "emissivity": -0.1}, ["emissivity: -0.1 is outside what is allowed, 0 to 1"]),
        (
            {**PLATE, "contact": 1},
            ["contact: 1 is not a word; use one of solid, thin-tape, hand-taped, foam-tape, air-gap"],
        ),
    ],
)
def test_faults_of_the_base_plate(plate, told):
    assert faults_with(mounting={"base_plate": plate}) == [f"mounting.base_plate.{line}" for line in told]


@pytest.mark.parametrize("place", ["top", "bottom"])
def test_a_face_carries_a_core_or_a_base_plate(place):
    plate = {"base_plate": {**PLATE, "place": place}}
    core = {"width": 10, "thickness": 1}
    assert faults_with(mounting=plate, core=[{**core, "place": place}]) == [
        f'mounting.base_plate.place: "{place}" carries a core already; use the other face'
    ]
    other = "top" if place == "bottom" else "bottom"
    assert small_with(mounting=plate, core=[{**core, "place": other}]).mounting.base_plate.place == place


@pytest.mark.parametrize(("rise", "place", "out"), [(0.5, "top", "0.5 mm"), (-0.2, "bottom", "0.2 mm")])
def test_a_core_out_of_the_pocket_keeps_a_base_plate_off(rise, place, out):
    tables = {"pocket": {"size": 6}, "core": [{"place": "pocket", "rise": rise}]}
    assert faults_with(mounting={"base_plate": {**PLATE, "place": place}}, **tables) == [
        f'mounting.base_plate.place: "{place}" has a core {out} out of it; '
        "use the other face, or shorten or shift the core"
    ]
    flush = {**tables, "core": [{"place": "pocket"}]}
    assert small_with(mounting={"base_plate": {**PLATE, "place": place}}, **flush).core[0].rise == 0.0


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("magnet", {"diameter": 5, "thickness": 2, "grade": "N42"}),
        ("target", {"width": 5, "thickness": 2}),
    ],
)
def test_a_base_plate_leaves_room_for_what_is_beyond_it(name, body):
    beyond = {name: {**body, "place": "bottom", "gap": 2}}
    assert faults_with(mounting={"base_plate": PLATE}, **beyond) == [
        f"mounting.base_plate.thickness: 2 mm stands in the {name}'s gap of 2 mm; "
        "use the other face or widen that gap"
    ]
    for thickness, place in ((1.9, "bottom"), (2, "top")):
        plate = {**PLATE, "thickness": thickness, "place": place}
        assert small_with(mounting={"base_plate": plate}, **beyond).mounting.base_plate.place == place


def test_forced_convection_and_a_limit_are_kept_as_given():
    mounting = small_with(mounting={"forced_convection": 25, "limit_temperature": "333.15 K"}).mounting
    assert mounting.forced_convection == 25.0
    assert mounting.limit_temperature == pytest.approx(60.0)


def test_own_resistances_are_read_back_from_what_is_told():
    own = {"contact_resistance": [1e-4, 2e-4, 4e-4]}
    assert Mounting.model_validate(Mounting.model_validate(own).model_dump()) == Mounting.model_validate(own)
