"""The netlist keeps the columns of IPC-D-356A (1998), table of test records; column numbers from memory."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.exports.fab.netlist import EXPORT
from coilgen.layout.coil import Via

# Field: first and last column, counted from 1, of records 317 (through hole) and 327 (surface).
COLUMNS = {
    "record": (1, 3),
    "net": (4, 17),
    "blank": (18, 20),
    "reference": (21, 26),
    "dash": (27, 27),
    "pin": (28, 31),
    "middle": (32, 32),
    "hole": (33, 33),
    "hole_diameter": (34, 37),
    "plated": (38, 38),
    "access": (39, 41),
    "x_mark": (42, 42),
    "x": (43, 49),
    "y_mark": (50, 50),
    "y": (51, 57),
    "width_mark": (58, 58),
    "width": (59, 62),
    "height_mark": (63, 63),
    "height": (64, 67),
    "rotation_mark": (68, 68),
    "rotation": (69, 71),
    "second_blank": (72, 72),
    "mask_mark": (73, 73),
    "mask": (74, 74),
}


def records(result):
    (content,) = EXPORT.files(result).values()
    lines = content.decode("ascii").split("\n")
    assert lines[-2:] == ["999", ""]
    tests = [line for line in lines[:-2] if line[0] not in "CP"]
    assert all(len(line) == 74 for line in tests)
    return [{field: line[first - 1 : last] for field, (first, last) in COLUMNS.items()} for line in tests]


def test_columns_leave_no_gap():
    ends = [0, *(last for _, last in COLUMNS.values())]
    assert [first for first, _ in COLUMNS.values()] == [end + 1 for end in ends[:-1]]


def test_header_states_format_and_unit(result):
    (path,), (content,) = zip(*EXPORT.files(result).items(), strict=True)
    parameters = {line[3:8].rstrip(): line[9:] for line in content.decode().splitlines() if line[0] == "P"}
    assert path == f"fab/{result.design.name}-netlist.ipc"
    assert parameters["VER"] == "IPC-D-356A"
    assert parameters["UNITS"] == "CUST 1"
    assert parameters["JOB"] == result.design.name


def test_one_record_for_each_via_and_terminal(result):
    subjects = [(record["reference"].strip(), record["pin"].strip()) for record in records(result)]
    assert subjects == [("VIA", "")] * len(result.coil.vias) + [("L1", "1"), ("L1", "2")]


def test_fixed_fields(result):
    for record in records(result):
        assert record["net"].rstrip() == "COIL"
        assert record["blank"].strip() == record["second_blank"].strip() == ""
        marks = ("dash", "x_mark", "y_mark", "width_mark", "height_mark", "rotation_mark", "mask_mark")
        assert "".join(record[mark] for mark in marks) == "-XYXYRS"
        assert (record["height"], record["rotation"]) == ("0000", "000")


def test_places_and_sizes_in_microns(result):
    things = [*result.coil.vias, *result.coil.terminals]
    for thing, record in zip(things, records(result), strict=True):
        assert int(record["x"]) == round(thing.at.real * 1e6)
        assert int(record["y"]) == round(thing.at.imag * 1e6)
        assert int(record["width"]) == round(thing.pad * 1e6)


def test_through_holes(four_layers):
    things = [*four_layers.coil.vias, *four_layers.coil.terminals]
    for thing, record in zip(things, records(four_layers), strict=True):
        assert (record["record"], record["access"]) == ("317", "A00")
        assert (record["hole"], record["plated"]) == ("D", "P")
        assert int(record["hole_diameter"]) == round(thing.drill * 1e6)


def test_surface_pads_have_no_hole_and_are_reached_from_their_layer(flexible):
    for record in records(flexible):
        assert (record["record"], record["access"]) == ("327", "A01")
        assert record["hole"] + record["hole_diameter"] + record["plated"] == " " * 6


def test_vias_are_no_ends_of_the_net(four_layers):
    assert [record["middle"] for record in records(four_layers)] == ["M", "M", "M", " ", " "]


def test_mask_codes_tell_what_is_covered(four_layers, flexible):
    """0: mask on neither side, 2: on the bottom alone, 3: on both."""
    assert [record["mask"] for record in records(four_layers)] == ["3", "3", "3", "0", "0"]
    assert [record["mask"] for record in records(flexible)] == ["2", "2"]


microns = st.integers(-999_999, 999_999)


@settings(max_examples=100, deadline=None)
@given(x=microns, y=microns, drill=st.integers(1, 9999), pad=st.integers(1, 9999))
def test_any_via_stays_in_its_columns(two_layers, x, y, drill, pad):
    via = Via(at=complex(x, y) * 1e-6, drill=drill * 1e-6, pad=pad * 1e-6, joins=(1, 2))
    record = records(replace(two_layers, coil=replace(two_layers.coil, vias=(via,))))[0]
    assert (int(record["x"]), int(record["y"])) == (x, y)
    assert (int(record["hole_diameter"]), int(record["width"])) == (drill, pad)


def test_a_pad_too_large_for_its_columns_is_left_blank(two_layers):
    via = Via(at=0j, drill=0.3e-3, pad=12e-3, joins=(1, 2))
    assert records(replace(two_layers, coil=replace(two_layers.coil, vias=(via,))))[0]["width"] == "    "


def far(result, at):
    via = Via(at=at, drill=0.3e-3, pad=0.6e-3, joins=(1, 2))
    return replace(result, coil=replace(result.coil, vias=(via,)))


@pytest.mark.parametrize("at", [1.0 + 0j, 0.2 - 2.0j, -2.5399 + 1j])
def test_a_place_too_far_for_millimetres_is_told_in_inches(two_layers, at):
    """Unit "CUST 0": 0.0001 inch (from memory)."""
    result = far(two_layers, at)
    assert b"P  UNITS CUST 0\n" in next(iter(EXPORT.files(result).values()))
    via = records(result)[0]
    assert abs(int(via["x"]) * 2.54e-6 - at.real) <= 1.28e-6
    assert abs(int(via["y"]) * 2.54e-6 - at.imag) <= 1.28e-6
    assert (via["hole_diameter"], via["width"]) == ("0118", "0236")


def test_a_place_the_format_cannot_say_is_refused(two_layers):
    with pytest.raises(ValueError, match=r"2\.5400 m"):
        EXPORT.files(far(two_layers, 2.55 + 0j))
