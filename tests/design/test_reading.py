"""Reading a design file: whatever is in it, a design comes out or one clear line for each fault."""

import datetime
import json
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilgen.catalogue import names, rows, templates
from coilgen.design.design import Design
from coilgen.design.reading import LARGEST_FILE, json_schema, read, read_tables, read_text
from coilgen.errors import DesignError

SHORT = """name = "coil"
[winding]
shape = "round"
turns = 14
trace_width = "0.15 mm"
trace_spacing = "0.15 mm"
outer_size = "24 mm"
"""

FULL = """
name = "optical-shutter"
note = "blade coil"
[winding]
shape = "hexagonal"
layers = 2
turns = 14
trace_width = "6 mil"
trace_spacing = "0.15 mm"
outer_size = "24 mm"
direction = "clockwise"
corner = "chamfered"
corner_size = "0.2 mm"
[board]
outline = "rectangle"
width = "30 mm"
height = "40 mm"
corner_radius = "1 mm"
[board.stackup]
copper = ["35 um", "1 oz"]
dielectric = ["1.53 mm"]
material = "FR-4"
[pocket]
shape = "square"
size = "6.1 mm"
corner_radius = "0.5 mm"
[via]
drill = "0.3 mm"
pad = "0.6 mm"
count = 2
[terminals]
kind = "plated-hole"
pad = "1.8 mm"
drill = "1.0 mm"
pitch = "3.5 mm"
side = "north"
distance = "16 mm"
[rules]
shop = "rigid-standard"
trace_spacing = "0.12 mm"
[drive]
current = "300 mA"
waveform = "square"
frequency = "20 kHz"
duty = 0.25
pulse = "20 ms"
clamp = "24 V"
ambient = 40
[probe]
heights = [0.5, 1, "0.2 cm", 5]
[[core]]
form = "rod"
place = "pocket"
diameter = "6 mm"
thickness = "1.2 mm"
rise = "-0.1 mm"
material = "silicon steel"
[[core]]
form = "ring"
place = "top"
diameter = "20 mm"
hole_diameter = "8 mm"
thickness = 1
gap = "0.1 mm"
contact = "solid"
[core.material]
name = "bought strip"
like = "soft iron"
field_strength = [0, 100, 1000, 20e3]
flux_density = [0, 0.9, "1.5 T", "1900 mT"]
density = 7700
resistivity = 4e-7
heat_conductivity = 30
heat_capacity = 460
[magnet]
form = "block"
width = "5 mm"
depth = "4 mm"
thickness = "2 mm"
remanence = "1.3 T"
pole = "north"
place = "top"
gap = "0.5 mm"
gap_tolerance = "0.1 mm"
offset = [1, "-200 um"]
[target]
form = "bar"
material = "soft iron"
width = "20 mm"
depth = "3 mm"
thickness = "1 mm"
mass = "12 g"
place = "bottom"
gap = "4 mm"
offset = [0, 0.5]
[mounting]
orientation = "vertical"
emissivity = 0.85
contact_resistance = [1e-4, 2e-4, 5e-4]
forced_convection = 25
limit_temperature = "80 degC"
[mounting.base_plate]
material = "brass"
place = "bottom"
shape = "rectangle"
width = "40 mm"
depth = "50 mm"
thickness = "2 mm"
emissivity = 0.1
contact = "foam-tape"
[[variant]]
name = "bare, 5 V"
without = ["core", "magnet.offset", "drive.current", "mounting.base_plate"]
drive = { voltage = 5 }
[[variant]]
name = "thicker ring"
[[variant.core]]
form = "ring"
diameter = "20 mm"
place = "top"
hole_diameter = "8 mm"
thickness = 2
"""


def fault(text):
    with pytest.raises(DesignError) as caught:
        read_text(text)
    assert len(caught.value.faults) == 1
    return str(caught.value)


def test_every_key_of_the_format_is_read():
    design = read_text(FULL)
    resolved = design.resolved()
    assert resolved["winding"]["trace_width"] == 0.0001524
    assert resolved["board"]["stackup"]["copper"] == [35e-6, 34.3253e-6]
    assert resolved["terminals"]["distance"] == 0.016
    assert resolved["drive"] == {
        "voltage": None,
        "current": 0.3,
        "current_limit": None,
        "waveform": "square",
        "frequency": 20e3,
        "duty": 0.25,
        "pulse": 0.02,
        "clamp": 24.0,
        "ambient": 40.0,
    }
    assert resolved["probe"]["heights"] == [0.0005, 0.001, 0.002, 0.005]
    assert [(core["form"], core["rise"], core["gap"]) for core in resolved["core"]] == [
        ("rod", -1e-4, None),
        ("ring", None, 1e-4),
    ]
    assert resolved["core"][1]["material"]["flux_density"] == [0.0, 0.9, 1.5, 1.9]
    assert resolved["magnet"]["offset"] == [1e-3, -2e-4]
    assert (resolved["target"]["mass"], resolved["target"]["depth"]) == (0.012, 0.003)
    assert resolved["mounting"]["base_plate"]["contact"] == "foam-tape"
    assert resolved["variant"] == ["bare, 5 V", "thicker ring"]
    bare, thicker = (variant.design for variant in design.variant)
    assert (bare.core, bare.magnet.offset, bare.drive.voltage) == ((), (0.0, 0.0), 5.0)
    assert thicker.core[0].thickness == 2e-3


def test_the_example_of_every_key_leaves_none_out():
    written = set(re.findall(r"\b([a-z_]+) =|\.([a-z_]+)\]", FULL))
    keys = {
        key
        for table in ("Core", "SoftMaterial", "Magnet", "Target", "Mounting", "BasePlate", "Drive")
        for key in json_schema()["$defs"][table]["properties"]
    }
    excluded_by_others = {"grade", "permeability", "saturation", "knee", "current_limit"}
    assert keys - {key for pair in written for key in pair} == excluded_by_others


def test_templates_read_without_a_fault():
    for text in templates().values():
        assert isinstance(read_text(text), Design)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a = ", "line 1, column 5"),
        ('name = "coil"\nnote = "open\n', "line 2, column 13"),
        ("[winding]\n\nturns 14", "line 3, column 7"),
        ("a = [1,\n2", "line 2, column 2"),
        ("a = '''\n", "line 2, column 1"),
        ("a = 1" + "1" * 900 + " mm", "line 1, column 907"),
        ("a = 1," + "1" * 900, "line 1, column 6"),
    ],
)
def test_broken_toml_is_told_with_its_place(text, place):
    says = fault(text)
    assert says.startswith(f"{place}: broken TOML: ")
    assert len(says) < 150


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a = 0.15 mm", '0.15 mm is not in quotes; a number with a unit is text: write "0.15 mm"'),
        ("a = 35um  # thick", 'write "35 um"'),
        ("a = 0,15", "0,15 has a decimal comma; write a point: 0.15"),
        ("a = 1\na = 2", "line 2, column 6: a is told twice; keep one of the two"),
        ("[a]\nb = 1\n[a]\nc = 1", "[a] is told twice; keep one of the two"),
    ],
)
def test_slips_of_the_pen_are_told_with_their_mend(text, says):
    assert says in fault(text)


@pytest.mark.parametrize(
    ("text", "line"), [("a = 1\n[core]\nb = 1\n [[ core ]] # two\n", 4), ("[[core]]\nb = 1\n\n[core]\n", 4)]
)
def test_one_table_and_several_of_its_name_are_told_in_words(text, line):
    told = "[core] and [[core]] stand together; write [[core]] for each of several, or one [core]"
    assert fault(text) == f"line {line}: {told}"


@pytest.mark.parametrize("text", ["a = " + "[" * 50_000, "a = " + "9" * 5000])
def test_toml_that_no_parser_bears(text):
    assert fault(text).startswith("text: ")


def test_a_number_too_long_to_print_is_told():
    huge = f"0x{'f' * 5000}"
    assert fault(SHORT.replace("14", huge)).startswith("winding.turns: a number of over 19 digits")
    assert "winding.layers: a number of over 19 digits" in fault(SHORT + f"layers = {huge}")


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (".".join(["a"] * 20_000) + " = 1", "line 2: a key of 20000 steps; no key needs more than 20"),
        ("[" + " . ".join(["'a'"] * 3000) + "]", "line 2: a key of 3000 steps"),
        ("[[variant]]\n[variant." + ".".join(["core"] * 3000) + "]\nb = 1", "line 3: a key of 3001 steps"),
        ("a = " + "{a = " * 30 + "1" + "}" * 30, "text: tables and lists are nested 31 deep"),
        ("a = " + "[" * 30 + "]" * 30, "text: tables and lists are nested 30 deep"),
        ("a = " + "[" * 3000 + "]" * 3000, "text: brackets are nested too deep"),
        (
            "".join(f"k{number} = 1\n" for number in range(9999)),
            "text: a table of 10000 keys; none needs more",
        ),
    ],
)
def test_keys_without_end_are_one_fault(more, says):
    with pytest.raises(DesignError) as caught:
        read_text('name = "a"\n' + more)
    (found,) = caught.value.faults
    assert str(found).startswith(says)


def test_dots_in_texts_and_comments_are_no_keys():
    dots = ".".join(["a"] * 50)
    text = f'note = """{dots}\n{dots}"""  # {dots}\n' + SHORT
    assert read_text(text).note == f"{dots}\n{dots}"


def test_a_key_left_out_by_an_endless_name_is_told():
    """However often it is given."""
    endless = "'" + ".".join(["winding"] * 3000) + "'"
    text = SHORT + f"[[variant]]\nname = 'b'\nwithout = [{endless}, {endless}]\n"
    with pytest.raises(DesignError, match=r"^variant 1\.without: .* is no key of this design") as caught:
        read_text(text)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    "more",
    [
        "".join(f"k{number} = 1\n" for number in range(150)) + SHORT,
        SHORT + "".join(f"[[variant]]\nname = 'v{n}'\nk1 = 1\nk2 = 1\n" for n in range(90)),
        SHORT + f"[[variant]]\nname = 'v'\nwithout = {[f'k{n}' for n in range(90)]}\n",
    ],
)
def test_of_very_many_faults_the_first_are_told(more):
    with pytest.raises(DesignError) as caught:
        read_text(more)
    assert len(caught.value.faults) == 51
    assert str(caught.value).endswith("\nand there are more faults; mend these first")


def test_a_name_without_end_is_told_at_its_key():
    told = fault(SHORT.replace('name = "', 'name = "' + "a" * 5000))
    assert re.fullmatch('name: "a{60}…" names files; use 1 to 64 of the letters .*', told)


def test_a_file_with_a_mark_and_foreign_line_ends(tmp_path):
    path = tmp_path / "coil.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SHORT.replace("\n", "\r\n").encode())
    assert read(path) == read(str(path)) == read_text(SHORT)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'name = "\xff"', "line 1 is not UTF-8"),
        (b"\n\n\xc3", "line 3 is not UTF-8"),
        (b"#" * (LARGEST_FILE + 1), r"is 0\.3 MB, over the 0\.25 MB"),
        (b"", r"name: not given"),
    ],
)
def test_files_that_are_no_design(tmp_path, content, says):
    path = tmp_path / "coil.toml"
    path.write_bytes(content)
    with pytest.raises(DesignError, match=says):
        read(path)


def test_a_huge_file_is_refused_unread(tmp_path):
    path = tmp_path / "coil.toml"
    with path.open("wb") as file:
        file.truncate(100_000_000_000)  # sparse: would not fit in memory
    with pytest.raises(DesignError, match="MB"):
        read(path)


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("nowhere.toml", "no such file"),
        (".", "is a folder"),
        ("/dev/null", "not a regular file"),
        ("a\0b", "no such name"),
        ("x" * 5000, "too long"),
        ("file/inside", "not a directory"),
    ],
)
def test_paths_that_are_no_file(tmp_path, monkeypatch, path, says):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").touch()
    with pytest.raises(DesignError, match=says) as caught:
        read(path)
    assert str(caught.value).isprintable()


KEYS = sorted(
    {key for model in json_schema()["$defs"].values() for key in model["properties"]}
    | set(Design.model_fields)
)
WORDS = st.sampled_from(
    [
        *("round", "FR-4", "flex-2-layer", "rigid-standard", "sine", "0.3 mm", "1 oz", "5 V", "sharp"),
        *("soft iron", "N42", "ring", "rod", "plate", "pocket", "top", "thin-tape", "core", "winding.turns"),
    ]
)
SCALARS = (
    WORDS
    | st.integers()
    | st.floats()
    | st.booleans()
    | st.text(max_size=5)
    | st.just(20_000).map(lambda bits: 1 << bits)
    | st.just(datetime.date(2030, 1, 1))
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
)
NAMES = st.sampled_from(KEYS) | st.text(max_size=6)
WINDINGS = st.fixed_dictionaries(
    {}, optional=dict.fromkeys(Design.model_fields["winding"].annotation.model_fields, VALUES)
)


def only_design_errors(reading, given):
    try:
        assert isinstance(reading(given), Design)
    except DesignError as error:
        assert error.faults
        for told in error.faults:
            assert told.says
            assert str(told).isprintable()
            assert not re.search(
                r"[Ii]nput|pydantic|Value error|validat|NoneType|see `coilgen schema`", told.says
            )


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(tables=st.dictionaries(NAMES, VALUES, max_size=6), winding=WINDINGS)
def test_any_tables_are_a_design_or_a_design_error(tables, winding):
    only_design_errors(read_tables, tables)
    only_design_errors(read_tables, {"name": "coil", **tables, "winding": winding})


SOUND = {"name": "coil", "winding": {"shape": "round", "turns": 9, "trace_width": 0.2, "trace_spacing": 0.2}}


@settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow])
@given(
    table=st.sampled_from(sorted(Design.model_fields)),
    key=st.sampled_from(KEYS),
    value=VALUES,
    whole=st.booleans(),
)
def test_any_single_value_is_taken_or_told(table, key, value, whole):
    sound = {**SOUND, "winding": {**SOUND["winding"], "outer_size": 30}}
    old = sound.get(table, {})
    only_design_errors(
        read_tables, {**sound, table: value if whole or not isinstance(old, dict) else {**old, key: value}}
    )


@settings(max_examples=200)
@given(
    st.text() | st.lists(st.sampled_from([*SHORT.split("\n"), "[via]", "a = 1"]), max_size=12).map("\n".join)
)
def test_any_text_is_a_design_or_a_design_error(text):
    only_design_errors(read_text, text)


@pytest.mark.parametrize("cut", range(0, len(FULL), 7))
def test_a_design_file_cut_short_is_told(cut):
    only_design_errors(read_text, FULL[:cut])


def test_the_schema_describes_the_file_as_written():
    schema = json_schema()
    assert json.loads(json.dumps(schema)) == schema
    assert set(schema["properties"]) == set(Design.model_fields)
    assert schema["required"] == ["name", "winding"]
    for model in schema["$defs"].values():
        assert model["additionalProperties"] is False
        assert all(key["description"] for key in model["properties"].values())
    winding = schema["$defs"]["Winding"]
    assert winding["properties"]["shape"]["enum"] == list(names("coilgen.layout.shapes"))
    assert winding["required"] == ["shape"]
    ways = {tuple(way["required"]) for way in winding["anyOf"]}
    assert (
        len(ways) == 5 + 3
    )  # four of five numbers, or a sector's angle with two of its radii and radial size
    assert schema["$defs"]["Rules"]["properties"]["shop"]["enum"] == list(rows("shops"))
    assert schema["$defs"]["Board"]["properties"]["stackup"]["anyOf"][0]["enum"] == list(rows("stackups"))
    assert schema["$defs"]["Drive"]["properties"]["voltage"]["x-unit"] == "V"


def test_the_schema_knows_no_null_and_no_default_in_si():
    text = json.dumps(json_schema())
    assert "null" not in text  # whole words and figures as people write them, no number in SI
    for value in re.findall(r'"default": ([^,}]+)', text):
        assert value in (
            '"custom"',
            '"FR-4"',
            "1",
            '"counterclockwise"',
            '"series"',
            '"sharp"',
            '"round"',
            '"south"',
            '"dc"',
            "25.0",
            '""',
            '"plate"',
            '"disc"',
            '"top"',
            '"A"',  # revision
            "2",  # class
            '"single"',
            '"tented"',
            '"bottom"',
            '"up"',
            '"face-up"',
            '"aluminium"',
            '"rectangle"',
        )
