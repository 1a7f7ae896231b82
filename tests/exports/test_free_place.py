"""Names and numbers on the board's picture keep off sizes, pads and one another."""

import re
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from samples import TABLES
from svg_reader import SVG, Box, Element, overlap, read_back, texts
from test_drawing import by_id, finding

from coilgen.catalogue import templates
from coilgen.design.design import Design
from coilgen.design.reading import read_text
from coilgen.exports.picture import drawing
from coilgen.exports.picture._free_place import Box as Place
from coilgen.exports.picture._free_place import freest
from coilgen.job import check


@cache
def root_of(name: str) -> Element:
    return read_back(drawing.files(check(read_text(templates()[name]))))


def names(root: Element) -> list[tuple[str, Box]]:
    """Of bodies and bends."""
    groups = [
        each for each in root.iter(f"{SVG}g") if each.get("class") == "bend" or each.get("id") == "bodies"
    ]
    return [(each.says, each.box) for group in groups for each in texts(group)]


def sizes(root: Element) -> list[Box]:
    """Boxes of the lines of all sizes, and of their words."""
    group = by_id(root, "dimensions")
    found = [each.box for each in texts(group)]
    return [*found, *(grown(line_box(path), 0.01) for path in group.iter(f"{SVG}path"))]


def pads(root: Element) -> list[Box]:
    groups = [each for each in root.iter(f"{SVG}g") if each.get("class") == "pads"]
    return [disc(each) for group in groups for each in group.iter(f"{SVG}circle")]


def disc(circle: Element) -> Box:
    x, y, radius = (float(circle.get(name, "")) for name in ("cx", "cy", "r"))
    return x - radius, y - radius, x + radius, y + radius


@pytest.mark.parametrize("name", ["specimen-drawer-latch", "mirror-tilt-drive", "fan-stator", "focus-stage"])
def test_names_stand_clear_of_sizes_pads_and_names(name: str) -> None:
    """The pin's name lay on the pocket's size, the bend's on a line of the winding's, a plate's on vias."""
    root = root_of(name)
    told = names(root)
    assert told
    windings = [each for each in root.iter(f"{SVG}g") if each.get("id") == "winding-names"]
    others = [*sizes(root), *pads(root), *(each.box for group in windings for each in texts(group))]
    assert [says for says, box in told if any(overlap(box, other) for other in others)] == []
    assert [(a, b) for (a, one), (b, other) in combinations(told, 2) if overlap(one, other)] == []


@pytest.mark.parametrize("side", ["south", "east", "north", "west"])
def test_sizes_and_bends_of_a_tail_stand_clear_of_lines(side: str) -> None:
    """The board's height lay on the window that goes past the tail's end, a bend's name on a line."""
    design = read_text(templates()["mirror-tilt-drive"]).changed({"tail.side": side})
    root = read_back(drawing.files(check(design)))
    windows = [line_box(each) for each in by_id(root, "openings-top").iter(f"{SVG}path")]
    dimensions = by_id(root, "dimensions")
    lines = [grown(line_box(each), 0.01) for each in dimensions.iter(f"{SVG}path")]
    ((_, bend),) = ((says, box) for says, box in names(root) if says == "bend")
    told = [each.box for each in texts(dimensions)]
    assert len(windows) == 1
    assert len(lines) >= 12
    clear = 0.3 * (bend[3] - bend[1]) / 0.74
    assert not any(overlap(grown(box, clear), each) for box in told for each in windows)
    assert not any(overlap(grown(bend, clear), each) for each in lines)


def line_box(path: Element) -> Box:
    places = re.findall(r"[ML](\S+) (\S+)", path.get("d", ""))
    x, y = ([float(each) for each in along] for along in zip(*places, strict=True))
    return min(x), min(y), max(x), max(y)


def grown(box: Box, margin: float) -> Box:
    return box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin


@pytest.mark.parametrize("name", ["fan-stator", "focus-stage"])
def test_a_mover_s_names_stand_off_the_windings(name: str) -> None:
    """Where its outlines lead past them."""
    root = root_of(name)
    traces = [each for each in root.iter(f"{SVG}g") if each.get("class") == "traces"]
    ends = [
        (float(x), float(y))
        for group in traces
        for path in group.iter(f"{SVG}path")
        for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)(?= |$)", path.get("d", ""))
    ]
    for says, (left, top, right, bottom) in names(root):
        inside = [1 for x, y in ends if left < x < right and top < y < bottom]
        assert len(inside) < 6, says


def test_numbers_of_findings_close_together_do_not_hide_one_another() -> None:
    design = Design.model_validate({"name": "latch", **TABLES["latch"]})
    near = [complex(3e-3 + 2e-4 * count, 5e-3 + 1e-4 * count) for count in range(6)]
    found = tuple(replace(finding(1), at=at) for at in near)
    root = read_back(drawing.files(replace(check(design), findings=found)))
    marks = [group for group in root.iter(f"{SVG}g") if (group.get("id") or "").startswith("finding-")][1:]
    discs = [disc(mark.findall(f"{SVG}circle")[-1]) for mark in marks]
    assert len(discs) == 6
    assert not any(overlap(one, other) for one, other in combinations(discs, 2))


def test_the_freest_meets_the_least() -> None:
    left, middle, right = (Place(complex(x), 1 + 1j) for x in (0, 10, 20))
    assert freest([left, middle, right], [Place(0j, 1 + 1j)]) == middle
    assert freest([left, middle, right], [Place(0j, 1 + 1j)], [10 + 0j]) == right
    assert freest([left, middle], [Place(0j, 1 + 1j), Place(10 + 0j, 1 + 1j)]) == left
    assert freest([], []) is None
