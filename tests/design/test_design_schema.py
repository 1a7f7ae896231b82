"""The JSON Schema of a design file: it takes what reading takes, and refuses the plain mistakes."""

import copy
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from schema_reader import keeps_to
from small_design import TABLES

from coilgen.catalogue import rows, templates
from coilgen.design.reading import json_schema, read_tables
from coilgen.errors import DesignError

SCHEMA = json_schema()

PLATE = {"width": "10 mm", "thickness": 1}
MAGNET = {"diameter": 5, "thickness": "2 mm", "gap": "0.5 mm", "grade": "N42"}
TARGET = {"width": 20, "thickness": 1, "gap": 0.2, "mass": "12 g"}
WHOLE = {
    **TABLES,
    "pocket": {"size": "6 mm"},
    "core": [
        {**PLATE, "material": "ferrite sheet", "contact": "solid"},
        {
            "place": "pocket",
            "rise": "-0.1 mm",
            "thickness": 1,
            "material": {"permeability": 900, "saturation": "0.4 T"},
        },
        {**PLATE, "material": {"field_strength": [0, 1e3], "flux_density": [0, "1.2 T"]}},
    ],
    "magnet": {**MAGNET, "offset": [1, "0.2 mm"], "pole": "down"},
    "target": {**TARGET, "place": "bottom", "material": {"like": "soft iron"}},
    "mounting": {
        "contact_resistance": [1e-4, 2e-4, 3e-4],
        "limit_temperature": "60 degC",
        "base_plate": {"shape": "round", "diameter": "30 mm", "thickness": 0.4, "place": "top"},
    },
    "drive": {"voltage": "3 V", "pulse": "20 ms", "clamp": 24, "ambient": "300 K"},
    "variant": [
        {"name": "bare", "without": ["core", "drive.pulse"]},
        {"name": "more", "magnet": {"gap": 2}, "core": [PLATE], "note": "thick", "drive": {"voltage": 5}},
    ],
}


def taken(tables):
    try:
        read_tables(tables)
    except DesignError:
        return False
    return True


@pytest.mark.parametrize("name", templates())
def test_the_templates_keep_to_it(name):
    assert keeps_to(tomllib.loads(templates()[name]), SCHEMA, SCHEMA)


def test_a_file_with_every_table_keeps_to_it():
    assert taken(WHOLE)
    assert keeps_to(WHOLE, SCHEMA, SCHEMA)


@pytest.mark.parametrize(
    ("limits", "fine"),
    [
        ({"temperature": {"most": 80, "sure": True}}, True),
        ({"flux_density": {"top": {"2mm": {"least": "1 mT"}}}}, True),
        ({"impedance": {"10kHz": {"quality": {"least": 4}}}, "inductance": {"most": "1 mH"}}, True),
        ({"temperature": 80}, False),
    ],
)
def test_limits_of_a_search_may_be_of_a_table_s_cells(limits, fine):
    search = {"largest": "inductance", "vary": {"winding": {"turns": [5, 6]}}, "limits": limits}
    given = {**TABLES, "optimize": search}
    assert taken(given) == keeps_to(given, SCHEMA, SCHEMA) == fine


@pytest.mark.parametrize("kind", ["materials", "magnets", "contacts"])
def test_it_names_every_row_that_may_be_given(kind):
    tables = {
        "materials": lambda name: {"core": [{**PLATE, "material": name}]},
        "magnets": lambda name: {"magnet": {**MAGNET, "grade": name}},
        "contacts": lambda name: {"mounting": {"contact": name}},
    }[kind]
    for name, row in rows(kind).items():
        given = {**TABLES, **tables(name)}
        allowed = kind != "materials" or row["sort"] == "soft-magnetic"
        assert taken(given) == keeps_to(given, SCHEMA, SCHEMA) == allowed


def put(tables, path, value):
    """A copy of the tables with another value at a path of keys and places."""
    found = copy.deepcopy(tables)
    inside = found
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value
    return found


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("core",), {"width": 1, "thickness": 1}),
        (("core", 0, "thickness"), 0),
        (("core", 0, "widht"), 3),
        (("core", 0, "material"), "brass"),
        (("core", 0, "material"), 3),
        (("core", 1, "material"), {"permeability": 0.5}),
        (("core", 2, "material", "flux_density"), [0, 50]),
        (("core", 2, "place"), "left"),
        (("core", 0), "plate"),
        (("core", 0), {"width": 10}),
        (("magnet", "pole"), "left"),
        (("magnet", "remanence"), 1.3),
        (("magnet", "offset"), [1]),
        (("magnet", "gap"), "1 V"),
        (("target", "mass"), "12"),
        (("target", "mass"), True),
        (("mounting", "orientation"), "up"),
        (("mounting", "contact_resistance"), [1e-4]),
        (("mounting", "base_plate", "material"), "soft iron"),
        (("mounting", "base_plate"), 3),
        (("drive", "pulse"), "1 min"),
        (("drive", "current"), "1 A"),
        (("variant", 0, "name"), ""),
        (("variant", 0, "without"), "core"),
        (("variant", 0, "wihtout"), ["core"]),
        (("variant",), {"name": "bare"}),
    ],
)
def test_plain_mistakes_are_refused_by_both(path, value):
    given = put(WHOLE, path, value)
    assert not taken(given)
    assert not keeps_to(given, SCHEMA, SCHEMA)


PATHS = [
    *(("core", 0, key) for key in ("width", "depth", "thickness", "gap", "material", "contact", "form")),
    *(("core", 1, key) for key in ("diameter", "rise", "thickness")),
    *(("magnet", key) for key in ("diameter", "gap", "offset", "grade", "pole", "place", "thickness")),
    *(("target", key) for key in ("width", "mass", "gap", "form", "offset", "material")),
    *(("mounting", key) for key in ("orientation", "emissivity", "forced_convection", "limit_temperature")),
    *(("mounting", "base_plate", key) for key in ("thickness", "diameter", "emissivity", "contact")),
    *(("drive", key) for key in ("pulse", "clamp", "ambient", "voltage")),
    *(("variant", 1, key) for key in ("name", "without", "magnet", "core", "drive")),
]
NUMBERS = st.integers(-3, 40) | st.floats(-1, 50)
VALUES = (
    NUMBERS
    | st.tuples(NUMBERS, st.sampled_from(["mm", "um", "g", "V", "ms", "degC", "T"])).map(
        lambda told: f"{told[0]} {told[1]}"
    )
    | st.sampled_from(["soft iron", "disc", "plate", "top", "up", "solid", "N35", "face-down", "drive", True])
    | st.lists(NUMBERS | st.sampled_from(["core", "1 mm"]), max_size=3)
    | st.fixed_dictionaries(
        {}, optional={"gap": NUMBERS, "permeability": NUMBERS, "like": st.just("soft iron")}
    )
    | st.just([PLATE])
)


@settings(max_examples=300)
@given(st.lists(st.tuples(st.sampled_from(PATHS), VALUES), min_size=1, max_size=2))
def test_it_takes_whatever_reading_takes(changes):
    given = WHOLE
    for path, value in changes:
        given = put(given, path, value)
    assert keeps_to(given, SCHEMA, SCHEMA) or not taken(given)
