"""The cut through the board: copper where the art has it, layers at their heights, holes open."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import TABLES, sample
from svg_reader import SVG, Element, read_back

from coilgen.exports.picture import cross_section
from coilgen.exports.picture._section import between, copper, crossings, merged, without
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.line import Line
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def root_of(result: Result) -> Element:
    return read_back(cross_section.files(result))


def boxes(group: Element) -> list[tuple[float, float, float, float]]:
    """x, y, width, height of rectangles, mm."""
    keys = ("x", "y", "width", "height")
    found = [tuple(float(box.get(key, "")) for key in keys) for box in group.findall(f"{SVG}rect")]
    return [(x, y, w, h) for x, y, w, h in found]


def test_is_named_after_the_design(result: Result) -> None:
    assert list(cross_section.files(result)) == [f"{result.design.name}-cross-section.svg"]


def exaggeration(root: Element) -> float:
    texts = [text.text or "" for text in root.findall(f"{SVG}text")]
    return float(texts[-1].rpartition("× ")[2])


def test_copper_stands_at_its_height(result: Result) -> None:
    root, stackup = root_of(result), result.design.board.stackup
    for layer in range(1, stackup.layers + 1):
        group = next(each for each in root.iter() if each.get("id") == f"section-copper-{layer}")
        for _, y, _, height in boxes(group):
            assert height == pytest.approx(stackup.copper[layer - 1] * 1e3 * exaggeration(root), rel=1e-3)
            assert -(y + height / 2) == pytest.approx(
                stackup.height(layer) * 1e3 * exaggeration(root), rel=1e-3
            )


def test_every_sheet_of_the_stackup_is_named(result: Result) -> None:
    root, stackup = root_of(result), result.design.board.stackup
    names = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert sum(name.startswith("copper ") for name in names) == stackup.layers
    assert sum(name.startswith(stackup.material) for name in names) == len(stackup.dielectric)
    films = sum(name.startswith(("solder mask", "coverlay")) for name in names)
    assert films == len(stackup.masked_faces) == min(stackup.layers, 2)


@pytest.mark.parametrize("name", ["shutter", "latch", "chamfered"])
def test_each_whole_turn_is_cut_on_both_sides(name: str) -> None:
    result = sample(name)
    winding = result.design.winding
    for layer in range(1, winding.layers + 1):
        cut = [c for c in copper(result.art, layer) if max(map(abs, c)) <= winding.outer_size / 2 + 1e-6]
        for side in (-1, 1):
            turns = [c for c in cut if c[0] * side > 0 and abs(c[0]) > winding.inner_size / 2 - 3e-4]
            assert abs(len(turns) - winding.turns) <= 1.5


def test_traces_of_polygons_are_as_wide_as_asked() -> None:
    winding = sample("latch").design.winding
    cut = copper(sample("latch").art, 1)
    widths = [high - low for low, high in cut if abs(low) > winding.inner_size / 2 - 1e-4]
    assert len(widths) == 16
    assert widths == pytest.approx([winding.trace_width] * 16, rel=1e-6)


def test_says_what_it_is(result: Result) -> None:
    root = root_of(result)
    assert root.get("role") == "img"
    assert result.design.name in (root.findtext(f"{SVG}title") or "")


def test_the_pocket_is_open() -> None:
    result = sample("latch")
    low, high = between(*result.art.pockets)[0]
    assert (low, high) == (pytest.approx(-4e-3), pytest.approx(4e-3))
    for group in root_of(result).findall(f"{SVG}g[@class='sheet']"):
        for x, _, width, _ in boxes(group):
            assert x + width <= low * 1e3 + 1e-6 or x >= high * 1e3 - 1e-6


def test_inside_of_closed_paths() -> None:
    assert between(circle(2.0)) == [(pytest.approx(-1.0), pytest.approx(1.0))]
    assert between(rectangle(4.0, 2.0, corner_radius=0.5)) == [(pytest.approx(-2.0), pytest.approx(2.0))]


angles = st.floats(-6.2, 6.2).filter(lambda angle: abs(angle) > 0.05)


@given(st.complex_numbers(max_magnitude=1.0), st.floats(0.1, 2.0), st.floats(-4, 4), angles)
def test_an_arc_s_crossings_lie_on_it_and_on_the_cut(
    centre: complex, radius: float, start: float, sweep: float
) -> None:
    arc = Arc(centre, radius, start, sweep)
    found = crossings(arc)
    assert all(abs(at.imag) < 1e-9 and arc.distance(at) < 1e-9 for at in found)
    heights = [arc.at(k / 999).imag for k in range(1000)]
    changes = sum((a < 0) != (b < 0) for a, b in pairwise(heights))
    assert len(found) >= changes
    assert len(found) <= 2


@given(st.complex_numbers(max_magnitude=1.0), st.complex_numbers(max_magnitude=1.0))
def test_a_line_crosses_once_where_its_ends_are_on_two_sides(start: complex, end: complex) -> None:
    found = crossings(Line(start, end))
    assert len(found) == ((start.imag < 0) != (end.imag < 0))
    assert all(abs(at.imag) < 1e-12 for at in found)


intervals = st.lists(st.tuples(st.floats(-9, 9), st.floats(0.1, 3)).map(lambda p: (p[0], p[0] + p[1])))


@given(intervals)
def test_merging_and_taking_away_share_the_whole(pieces: list[tuple[float, float]]) -> None:
    gaps = merged(pieces)
    inside = sum(max(0.0, min(high, 5.0) - max(low, -5.0)) for low, high in gaps)
    left = sum(high - low for low, high in without((-5.0, 5.0), gaps))
    assert math.isclose(inside + left, 10.0, abs_tol=1e-9)
