"""Coils of an array that overlap, or hang over a board too small: what is told to mend it mends it."""

import re

import pytest
from small_design import TABLES

from coilgen.design.reading import read_tables
from coilgen.errors import DesignError, Fault
from coilgen.job import draw_copper

WEDGE = {**TABLES["winding"], "shape": "wedge", "inner_radius": 9, "outer_radius": 19}
WEDGES = {"winding": {key: value for key, value in WEDGE.items() if key != "outer_size"}}
ROW = {"arrangement": "row", "count": 3, "pitch": 30}


def told(tables: dict[str, object]) -> list[Fault]:
    """Faults of an array of the small winding as it is drawn."""
    try:
        draw_copper(read_tables({**TABLES, **tables}))
    except DesignError as error:
        return [*error.faults]
    return []


@pytest.mark.parametrize(
    ("key", "wrong", "array"),
    [
        ("radius", 12.0, {"arrangement": "ring", "count": 9}),
        ("pitch", 10.0, {"arrangement": "row", "count": 3}),
        ("pitch", [30.0, 10.0], {"arrangement": "grid", "columns": 2, "rows": 2}),
    ],
)
def test_coils_that_overlap_are_told_from_where_on_they_do_not(
    key: str, wrong: object, array: dict[str, object]
) -> None:
    (fault,) = told({"array": {**array, key: wrong}})
    assert fault.key == f"array.{key}" and "overlap" in fault.says
    (least,) = re.findall(rf"need a {key} of ([0-9.]+) mm", fault.says)
    assert not [each for each in told({"array": {**array, key: float(least)}}) if "overlap" in each.says]
    (again,) = told({"array": {**array, key: 0.98 * float(least)}})
    assert again.key == fault.key


def test_wedges_too_wide_for_their_ring_are_told_the_widest() -> None:
    ring = {"array": {"arrangement": "ring", "count": 9}}
    (fault,) = told({"winding": {**WEDGES["winding"], "angle": 50}, **ring})
    assert fault.key == "winding.angle" and "too wide for 9 wedges" in fault.says
    (most,) = re.findall(r"use ([0-9.]+) or less", fault.says)
    assert told({"winding": {**WEDGES["winding"], "angle": float(most)}, **ring}) == []


def test_a_board_too_small_for_an_array_is_told_how_much_it_lacks() -> None:
    (fault,) = told({"array": ROW, "board": {"width": 40, "height": 20}})
    assert fault.key == "board" and "reach 18 mm over its edge" in fault.says
    (lacks,) = re.findall(r"make it ([0-9.]+) mm larger", fault.says)
    larger = {"width": 40 + float(lacks), "height": 20 + float(lacks)}
    assert told({"array": ROW, "board": larger}) == []
