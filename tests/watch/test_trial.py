"""Numbers tried and saved: only they change in the file, and the design is the one they make."""

import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.watch.trial import changed, tried

SHUTTER = templates()["optical-shutter"]


@pytest.mark.parametrize("name", templates())
def test_numbers_as_they_stand_leave_the_file_as_it_is(name: str) -> None:
    text = templates()[name]
    numbers = {each.key: each.value for each in tried(text)}
    radii = re.findall(r"^(?:inner_radius|outer_radius|angle)\b", text, re.M)
    pairs = re.findall(r"^(?:inner_size|outer_size) = \[", text, re.M)
    more = len(radii) - bool(radii) + len(pairs)
    first = [each.key for each in tried(text) if each.first]
    assert len(first) == (0 if "[[winding]]" in text else 6 + more)
    assert list(numbers)[: len(first)] == first
    assert len(set(numbers)) == len(numbers) > len(first)
    if "[drive]" in text and re.search(r"^(voltage|current)", text, re.M):
        assert changed(text, numbers) == text


@given(st.integers(2, 17), st.integers(10, 20), st.sampled_from([1, 2]), st.floats(0.5, 12))
def test_changed_numbers_are_read_back_and_nothing_else_moves(
    turns: int, width: int, layers: int, voltage: float
) -> None:
    numbers = {
        "winding.turns": float(turns),
        "winding.trace_width": width / 100,
        "winding.layers": float(layers),
        "drive.voltage": round(voltage, 3),
    }
    text = changed(SHUTTER, numbers)
    found = tomllib.loads(text)
    assert found["winding"]["turns"] == turns
    assert found["winding"]["trace_width"] == f"{width / 100:g} mm"
    assert found["winding"]["layers"] == layers
    assert found["drive"]["voltage"] == round(voltage, 3)
    before, after = SHUTTER.splitlines(), text.splitlines()
    different = [old for old, new in zip(before, after, strict=True) if old != new]
    assert len(different) <= len(numbers)
    comments = [line.partition("#")[2] for line in before]
    assert [line.partition("#")[2] for line in after] == comments


def test_the_design_is_the_one_that_is_saved() -> None:
    design = read_text(changed(SHUTTER, {"winding.turns": 14.0, "drive.voltage": 4.5}))
    assert design.winding.turns == 14
    assert design.drive.voltage == 4.5


def test_a_number_the_file_leaves_out_gets_its_table() -> None:
    text = "\n".join(line for line in SHUTTER.splitlines() if not re.match(r"voltage|ambient|\[drive", line))
    assert next(each.value for each in tried(text) if each.key == "drive.voltage") == 5
    assert "drive" not in tomllib.loads(changed(text, {"drive.voltage": 5.0}))
    assert tomllib.loads(changed(text, {"drive.voltage": 6.0}))["drive"] == {"voltage": 6}


def test_other_units_are_read_and_written_anew_in_mm() -> None:
    text = SHUTTER.replace('"0.15 mm"', '"6 mil"')
    width = next(each for each in tried(text) if each.key == "winding.trace_width")
    assert (width.value, width.unit) == (0.1524, "mm")
    assert changed(text, {"winding.trace_width": 0.1524}) == text
    assert '"0.16 mm"' in changed(text, {"winding.trace_width": 0.16})


def test_with_all_five_given_the_opening_gives_way() -> None:
    text = SHUTTER.replace('outer_size = "14 mm"', 'outer_size = "14 mm"\ninner_size = "5.3 mm"')
    assert read_text(text).winding.turns == 16
    assert "winding.inner_size" not in {each.key for each in tried(text)}
    design = read_text(changed(text, {"winding.turns": 12.0}))
    assert design.winding.inner_size > 5.3e-3
    assert "inner_size =" in changed(text, {"winding.layers": 1.0})


def test_a_current_drive_offers_its_current() -> None:
    keys = {each.key: each for each in tried(templates()["float-level-pickup"])}
    assert keys["drive.current"].value == pytest.approx(0.02)
    assert "drive.voltage" not in keys


@pytest.mark.parametrize("name", templates())
def test_any_number_of_a_file_can_be_tried_and_is_read_back(name: str) -> None:
    """A slider's step up, or down at its end; whether a coil comes of it is the design's to say."""
    text = templates()[name]
    rules = read_text(text).rules
    for each in tried(text, rules):
        assert each.low <= each.value <= each.high
        number = each.value + (each.step if each.value + each.step <= each.high else -each.step)
        number = float(f"{number:.6g}")
        moved = changed(text, {each.key: number})
        assert {one.key: one.value for one in tried(moved)}[each.key] == pytest.approx(number)
        if "drive" in tomllib.loads(text) and f"{each.key.split('.')[-1]} " in text:
            told = [(a, b) for a, b in zip(text.splitlines(), moved.splitlines(), strict=False) if a != b]
            assert len(told) <= 2


def test_a_slider_ends_at_the_shops_limit() -> None:
    rules = read_text(SHUTTER).rules
    ends = {each.key: each.low for each in tried(SHUTTER, rules)}
    assert rules.limit("trace_width") == 0.127e-3
    assert 0.127 <= ends["winding.trace_width"] < 0.137
    assert ends["winding.turns"] == 6
    assert {each.key: each.low for each in tried(SHUTTER)}["winding.trace_width"] < 0.127


def test_of_several_windings_each_number_is_chosen_by_its_key() -> None:
    text = templates()["bucking-pair"]
    offered = {each.key: each for each in tried(text)}
    assert not any(each.first for each in offered.values())
    design = read_text(changed(text, {"winding.2.turns": 8.0}))
    assert [each.design.winding.turns for each in design.windings] == [10, 8]


LONG = """name = "long"
[winding]
shape = "racetrack"
turns = 8
trace_width = 0.2
trace_spacing = 0.2
outer_size = ["34 mm", 19]  # over the copper
"""
SECTOR = """name = "sector"
[winding]
shape = "wedge"
turns = 8
trace_width = 0.2
trace_spacing = 0.2
inner_radius = 12
outer_radius = "30 mm"
angle = "40 deg"
"""


def test_each_of_two_sizes_can_be_tried() -> None:
    sizes = [each for each in tried(LONG) if "size" in each.key]
    assert [(each.key, each.says, each.value) for each in sizes] == [
        ("winding.outer_size.1", "outer size, x", 34),
        ("winding.outer_size.2", "outer size, y", 19),
    ]
    text = changed(LONG, {"winding.outer_size.1": 30.0, "winding.outer_size.2": 18.5})
    assert text == LONG.replace('["34 mm", 19]', '["30 mm", 18.5]')
    assert read_text(text).winding.outer_size == (0.03, 0.0185)


def test_a_sectors_radii_and_angle_can_be_tried() -> None:
    offered = {each.key.removeprefix("winding."): (each.value, each.unit) for each in tried(SECTOR)}
    assert offered["inner_radius"] == (12, "mm")
    assert offered["outer_radius"] == (30, "mm")
    assert offered["angle"] == (40, "deg")
    text = changed(SECTOR, {"winding.inner_radius": 11.5, "winding.angle": 45.0})
    assert text == SECTOR.replace("radius = 12", "radius = 11.5").replace("40 deg", "45 deg")


def test_a_sector_told_by_all_leaves_its_opening_open() -> None:
    told = read_text(SECTOR).winding.inner_size
    text = SECTOR + f"inner_size = {1e3 * told:.9g}\n"
    assert "winding.inner_size" not in {each.key for each in tried(text)}
    assert "inner_size" not in changed(text, {"winding.outer_radius": 31.0})


@pytest.mark.parametrize("key", ["winding.outer_size", "winding.outer_size.3", "winding.outer_size.x"])
def test_of_two_sizes_there_is_no_third(key: str) -> None:
    with pytest.raises(DesignError):
        changed(LONG, {key: 20.0})


@pytest.mark.parametrize("key", ["winding.shape", "winding.inner_size", "name", "drive.current", ""])
def test_other_keys_are_refused(key: str) -> None:
    with pytest.raises(DesignError):
        changed(SHUTTER, {key: 1.0})


def test_a_broken_file_is_refused() -> None:
    with pytest.raises(DesignError, match="broken TOML"):
        changed("[winding", {"winding.turns": 3.0})


def test_tables_of_another_kind_offer_nothing() -> None:
    assert [each.key for each in tried("winding = 3\ndrive = 4\n")] == ["winding.layers", "drive.voltage"]
    text = SHUTTER.replace("turns = 16", 'turns = "many"')
    assert "winding.turns" not in {each.key for each in tried(text)}


STANDING = (
    SHUTTER
    + """
[[core]]                            # under the coil
width = "10 mm"                     # square
thickness = 1                       # mm
material = { permeability = 900, saturation = "0.4 T" }  # by two numbers

[[variant]]                         # compared with the file's own
name = "bare"
without = ["core", "magnet"]
drive = { voltage = 2 }             # V

[[variant]]
name = "thicker"
[[variant.core]]
width = 10
thickness = "2 mm"                  # twice
"""
)


def test_what_stands_at_the_coil_stays_as_it_is_written() -> None:
    numbers = {each.key: each.value for each in tried(STANDING)}
    more = ["core.1.width", "core.1.thickness", "core.1.material.permeability", "core.1.material.saturation"]
    assert list(numbers) == [*(each.key for each in tried(SHUTTER)), *more]
    assert changed(STANDING, numbers) == STANDING
    text = changed(STANDING, {"winding.turns": 14.0, "drive.voltage": 1.5})
    before, after = STANDING.splitlines(), text.splitlines()
    different = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert [new.partition("=")[0].strip() for _, new in different] == ["turns", "voltage"]
    assert [old.partition("#")[2] for old, _ in different] == [new.partition("#")[2] for _, new in different]


def test_a_number_tried_reaches_every_variant_that_does_not_change_it() -> None:
    design = read_text(changed(STANDING, {"winding.turns": 14.0, "drive.voltage": 1.5}))
    bare, thicker = (variant.design for variant in design.variant)
    assert (design.winding.turns, bare.winding.turns, thicker.winding.turns) == (14, 14, 14)
    assert (design.drive.voltage, bare.drive.voltage, thicker.drive.voltage) == (1.5, 2.0, 1.5)
    assert (len(design.core), bare.core, thicker.core[0].thickness) == (1, (), 2e-3)


def test_a_drive_left_out_gets_its_table_after_lists_of_tables() -> None:
    text = "\n".join(
        line
        for line in STANDING.splitlines()
        if not re.match(r"(voltage|pulse|clamp|ambient) =|\[drive", line)
    )
    design = read_text(changed(text, {"drive.voltage": 6.0}))
    assert design.drive.voltage == 6.0
    assert [variant.name for variant in design.variant] == ["bare", "thicker"]
    assert design.variant[1].design.drive.voltage == 6.0
