"""Every text of every picture stands inside it and clear of the others; layers bear their names exactly."""

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from samples import TABLES, sample
from svg_reader import SVG, Element, Text, outside, overlap, read_back, texts, touching, view_box
from test_drawing import finding

from coilgen.catalogue import templates
from coilgen.design.design import Design
from coilgen.design.reading import read_text
from coilgen.exports.picture import cross_section, drawing
from coilgen.job import draw, result_of
from coilgen.result.result import Result

BODIES = {
    "core": [{"place": "pocket"}, {"width": "15 mm", "thickness": "1 mm", "place": "bottom"}],
    "magnet": {"grade": "N42", "diameter": "8 mm", "thickness": "2 mm", "gap": "1 mm", "pole": "north"},
    "target": {"width": "40 mm", "thickness": "2 mm", "gap": "3 mm", "place": "bottom"},
}
PICTURES = {"board": drawing.files, "cut": cross_section.files}


def drawn(design: Design) -> Result:
    coil, art = draw(design)
    return result_of(design, coil, art, ())


@cache
def results() -> Mapping[str, Result]:
    """Samples, the templates, one with many bodies, one with findings and a long note."""
    with_bodies = Design.model_validate({"name": "bodies", **TABLES["shutter"], **BODIES})
    noted = Design.model_validate({"name": "a-long-name" * 3, **TABLES["latch"], "note": "A note. " * 60})
    found = tuple(replace(finding(9 * count), at=complex(count * 3e-3, 0)) for count in range(4))
    return {
        **{name: sample(name) for name in TABLES},
        **{name: drawn(read_text(text)) for name, text in templates().items()},
        "bodies": drawn(with_bodies),
        "findings": replace(drawn(noted), findings=found),
    }


NAMES = (*TABLES, *templates(), "bodies", "findings")


@pytest.mark.parametrize("picture", PICTURES)
@pytest.mark.parametrize("name", NAMES)
def test_texts_are_inside_the_picture_and_clear_of_each_other(name: str, picture: str) -> None:
    root = read_back(PICTURES[picture](results()[name]))
    assert len(texts(root)) > 3
    assert outside(root) == []
    assert touching(root) == []


def lowest_line(root: Element) -> float:
    """How far down, y, rectangles and outlines of bodies go; paper and tiles of patterns left out."""
    boxes = [each for each in root.iter(f"{SVG}rect") if each.get("class") != "paper" and each.get("y")]
    lows = [float(each.get("y", "")) + float(each.get("height", "")) for each in boxes]
    outlines = [
        each.get("d", "")
        for group in root.iter(f"{SVG}g")
        if (group.get("class") or "").startswith("body")
        for each in group.iter(f"{SVG}path")
    ]
    return max([*lows, *(float(y) for data in outlines for y in re.findall(r" (-?[\d.]+)(?= |$)", data))])


@pytest.mark.parametrize("name", NAMES)
def test_the_cut_s_scale_stands_by_itself_under_everything_else(name: str) -> None:
    root = read_back(cross_section.files(results()[name]))
    *others, scale = texts(root)
    left, top, _, bottom = scale.box
    size = (bottom - top) / 0.74
    assert re.fullmatch(r"west to east through the centre; (broken where marked, )?heights × \d+", scale.says)
    lowest = max([lowest_line(root), *(each.box[3] for each in others)])
    assert size < top - lowest < 4 * size
    assert 0.9 * size < view_box(root)[3] - bottom < 1.4 * size
    assert left - view_box(root)[0] == pytest.approx(size)


def name_lines(root: Element) -> list[tuple[complex, Text]]:
    """In the cut, where each line ends that leads to a name, with the name's first line beside it."""
    (group,) = [each for each in root.iter(f"{SVG}g") if each.get("class") == "names"]
    found = []
    for path, text in pairwise(group):
        if path.tag == f"{SVG}path" and text.tag == f"{SVG}text":
            way = re.fullmatch(r"M\S+ \S+ H\S+ L(\S+) (\S+) h(\S+)", path.get("d", ""))
            assert way
            x, y, further = (float(number) for number in way.groups())
            found.append((complex(x + further, y), texts_of(text)))
    return found


def texts_of(element: Element) -> Text:
    holder = type(element)("g")
    holder.append(element)
    return texts(holder)[0]


@pytest.mark.parametrize("name", NAMES)
def test_lines_in_the_cut_lead_to_the_middle_of_their_names(name: str) -> None:
    root = read_back(cross_section.files(results()[name]))
    lines = name_lines(root)
    assert len(lines) >= results()[name].art.copper_layers
    for end, text in lines:
        left, top, _, bottom = text.box
        size = (bottom - top) / 0.74
        assert 0.2 * size < left - end.real < 0.7 * size
        assert abs(end.imag - (top + bottom) / 2) < 0.1 * size


def layer_names(count: int) -> list[str]:
    if count == 1:
        return ["copper 1 of 1, top"]
    between = [f"copper {k} of {count}" for k in range(2, count)]
    return [f"copper 1 of {count}, top", *between, f"copper {count} of {count}, bottom"]


@pytest.mark.parametrize("layers", [1, 2, 3, 4, 6])
def test_layers_bear_their_exact_names_on_the_board_s_picture(layers: int) -> None:
    """In the headings of the panels, each panel with its own layer, and in the titles of the groups."""
    result = boards(layers)
    root = read_back(drawing.files(result))
    (panels,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == "panels"]
    headings = [text.text for text in panels.iter(f"{SVG}text")]
    shown = [use.get("href") for use in panels.iter(f"{SVG}use") if "copper" in (use.get("href") or "")]
    titles = {
        group.get("id"): group.findtext(f"{SVG}title")
        for group in root.iter(f"{SVG}g")
        if group.get("class") == "copper"
    }
    names = layer_names(layers)
    assert titles == {f"copper-{k}": name for k, name in enumerate(names, 1)}
    assert headings == (names if layers > 1 else [])
    assert shown == ([f"#copper-{k}" for k in range(1, layers + 1)] if layers > 1 else [])


@cache
def boards(layers: int) -> Result:
    board = {
        "copper": ["35 um"] * layers,
        "dielectric": ["0.2 mm"] * max(layers - 1, 1),
        "material": "FR-4",
    }
    winding = {**TABLES["single"]["winding"], "layers": min(layers, 2)}  # type: ignore[dict-item]
    table = {"name": "layered", "winding": winding, "board": {"stackup": board}}
    return drawn(Design.model_validate(table))


@pytest.mark.parametrize("layers", [1, 2, 3, 4, 6])
def test_the_cut_names_its_sheets_in_their_order(layers: int) -> None:
    root = read_back(cross_section.files(boards(layers)))
    said = [each.says for each in texts(root)]
    copper = [f"copper {k}, 35.0 µm" for k in range(1, layers + 1)]
    assert [each for each in said if each.startswith("copper")] == copper
    places = [each.box[1] for each in texts(root) if each.says.startswith("copper")]
    assert places == sorted(places)


def test_numbers_of_findings_stand_on_their_discs() -> None:
    root = read_back(drawing.files(results()["findings"]))
    marks = [group for group in root.iter(f"{SVG}g") if (group.get("id") or "").startswith("finding-")]
    for mark in marks[1:]:
        *_, disc = mark.findall(f"{SVG}circle")
        (text,) = mark.findall(f"{SVG}text")
        left, top, right, bottom = texts_of(text).box
        middle = complex((left + right) / 2, (top + bottom) / 2)
        centre, radius = (
            complex(float(disc.get("cx", "")), float(disc.get("cy", ""))),
            float(disc.get("r", "")),
        )
        assert abs(middle - centre) < 0.05 * radius
        assert math.hypot(right - left, bottom - top) / 2 < radius


def test_overlap_of_boxes() -> None:
    assert overlap((0, 0, 2, 1), (1, 0.5, 3, 2))
    assert not overlap((0, 0, 2, 1), (2, 0, 3, 1))
    assert not overlap((0, 0, 2, 1), (0, 1, 2, 2))
