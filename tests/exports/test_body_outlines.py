"""Outlines of bodies on the board's picture: as large as the design says, at their place, named."""

import math
import re
from dataclasses import replace

import pytest
from samples import TABLES, sample
from svg_reader import SVG
from test_drawing import by_id, root_of, strokes

from coilgen.design.design import Design
from coilgen.exports.page import page
from coilgen.geometry.extent import extent
from coilgen.result.result import Result

BODIES = {
    "core": [{"place": "pocket"}, {"width": "90 mm", "depth": "12 mm", "thickness": "1 mm"}],
    "magnet": {
        "form": "ring",
        "grade": "N42",
        "diameter": "8 mm",
        "hole_diameter": "3 mm",
        "thickness": "2 mm",
        "gap": "1 mm",
        "offset": ["2 mm", "-1 mm"],
    },
}


def with_bodies() -> Result:
    design = Design.model_validate({"name": "shutter", **TABLES["shutter"], **BODIES})
    return replace(sample("shutter"), design=design)


def test_outlines_have_the_bodies_lengths_and_places() -> None:
    group = by_id(root_of(with_bodies()), "bodies")
    lines = [path.get("d") or "" for path in group.iter(f"{SVG}path") if path.get("class") == "outline"]
    lengths = [sum(length for *_, length in strokes(line)) for line in lines]
    assert lengths == pytest.approx([math.pi * 6.1, 2 * (90 + 12), math.pi * 8, math.pi * 3], rel=1e-6)
    first = re.match(r"M(-?[\d.]+) (-?[\d.]+)", lines[2])
    assert first is not None
    assert (float(first[1]), -float(first[2])) == pytest.approx((2 + 4, -1))


def test_each_body_is_named_on_the_board() -> None:
    root = root_of(with_bodies())
    names = {text.text: text for text in by_id(root, "bodies").iter(f"{SVG}text")}
    assert list(names) == ["core 1", "core 2", "magnet"]
    outline = sample("shutter").art.outline
    assert outline is not None
    reach = 1e3 * extent(outline)[1].real
    assert all(abs(float(text.get("x", "9e9"))) < reach for text in names.values())


def test_without_bodies_there_is_neither_group_nor_switch() -> None:
    assert not [each for each in root_of(sample("shutter")).iter() if each.get("id") == "bodies"]
    assert b'data-shows="bodies"' not in page.page(sample("shutter"))
    assert b'data-shows="bodies"' in page.page(with_bodies())


def test_a_body_all_round_the_board_has_no_name_on_it() -> None:
    plate = {"width": "200 mm", "thickness": "1 mm"}
    design = Design.model_validate({"name": "shutter", **TABLES["shutter"], "core": [plate]})
    group = by_id(root_of(replace(sample("shutter"), design=design)), "bodies")
    assert list(group.iter(f"{SVG}text")) == []
