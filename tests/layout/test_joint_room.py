"""Arrays without room for their joints: what is told would do does, and a hair less does not."""

import re

import pytest
from array_windings import WINDING

from coilgen.design.reading import read_tables
from coilgen.errors import DesignError
from coilgen.job import check

RING = {"arrangement": "ring", "count": 6, "radius": 12, "connection": "star", "joints": "inside"}
GRID = {"arrangement": "grid", "columns": 3, "rows": 3, "pitch": [14, 19], "connection": "star"}
ROW = {"arrangement": "row", "count": 3, "pitch": 14}


def board(array, winding=None, **tables):
    array = {"coils": "series", **array}
    return read_tables({"name": "a", "winding": {**WINDING, **(winding or {})}, "array": array, **tables})


def told(design):
    with pytest.raises(DesignError) as caught:
        check(design)
    (fault,) = caught.value.faults
    return fault


def clean(design):
    return check(design).findings == ()


def lengths(text):
    return [float(number) for number in re.findall(r"[\d.]+", text)]


def test_within_a_ring_the_width_and_the_radius_that_are_told_do():
    array = {**RING, "joint_width": 1.5}
    fault = told(board(array))
    assert fault.key == "array.joints"
    (width,) = lengths(re.search(r"joint_width of ([\d.]+) mm", fault.says)[1])
    (radius,) = lengths(re.search(r"radius of ([\d.]+) mm or more, or", fault.says)[1])
    assert clean(board({**array, "joint_width": width})) and clean(board({**array, "radius": radius}))
    assert told(board({**array, "joint_width": width + 0.4})).key == "array.joints"
    assert told(board({**array, "radius": radius - 0.05})).key == "array.joints"
    assert clean(board({**array, "joints": "outside"}))


def test_between_the_rows_of_a_grid_the_pitch_and_the_width_that_are_told_do():
    array = {**GRID, "joint_width": 1.5}
    fault = told(board(array))
    assert fault.key == "array.pitch"
    pitch = lengths(re.search(r"use \[(.*)\] mm", fault.says)[1])
    (width,) = lengths(re.search(r"joint_width of ([\d.]+) mm", fault.says)[1])
    assert clean(board({**array, "pitch": pitch})) and clean(board({**array, "joint_width": width}))
    assert told(board({**array, "pitch": [pitch[0], pitch[1] - 0.03]})).key == "array.pitch"
    assert told(board({**array, "joint_width": width + 0.03})).key == "array.pitch"


def test_between_pins_the_width_that_is_told_does():
    fault = told(board({**ROW, "joint_width": 4}))
    assert fault.key == "array.joint_width"
    (width,) = lengths(re.search(r"use ([\d.]+) mm", fault.says)[1])
    assert clean(board({**ROW, "joint_width": width}))
    assert told(board({**ROW, "joint_width": width + 0.02})).key == "array.joint_width"


def test_coils_that_end_inside_are_told_the_layers_that_lead_them_out():
    fault = told(board(ROW, {"connection": "parallel"}))
    assert fault.key == "array.coils"
    (stackup,) = re.findall(r"as (rigid-4[\w.-]+),", fault.says)
    assert clean(board(ROW, {"connection": "parallel"}, board={"stackup": stackup}))
    assert 'winding.connection = "series"' in fault.says and clean(board(ROW))
    stackup = {"copper": ["35 um"] * 3, "dielectric": ["0.7 mm"] * 2}
    fault = told(board(ROW, {"layers": 3}, board={"stackup": stackup}))
    assert "winding.layers = 2" in fault.says and clean(board(ROW, board={"stackup": stackup}))


@pytest.mark.parametrize(("layers", "stackup"), [(1, 2), (2, 4), (3, 4), (2, 6)])
def test_a_stack_up_of_more_layers_than_are_wound_needs_no_advice(layers, stackup):
    assert clean(board(ROW, {"layers": layers}, board={"stackup": f"rigid-{stackup}-layer-1.6mm"}))
