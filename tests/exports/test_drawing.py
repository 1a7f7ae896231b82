"""The SVG read back: scale, lengths, pads, holes, findings, colours, and that it is well formed."""

import math
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

import pytest
import shapely
from designs import measured_by
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import TABLES, sample
from svg_reader import SVG, Element, read_back, texts

from coilgen.catalogue import names
from coilgen.design.design import Design
from coilgen.errors import UserError
from coilgen.exports.picture import _board_view, _raster, drawing
from coilgen.exports.picture._current_marks import current_places
from coilgen.exports.picture._sheet import winding_spans
from coilgen.exports.picture._svg import path_data
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.region import chords
from coilgen.job import draw, result_of
from coilgen.layout.seen import copper_edges
from coilgen.result.result import Result
from coilgen.result.rule import Finding


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def root_of(result: Result) -> Element:
    return read_back(drawing.files(result))


def by_id(root: Element, name: str) -> Element:
    (found,) = (element for element in root.iter() if element.get("id") == name)
    return found


def strokes(data: str) -> Iterator[tuple[complex, complex, float]]:
    """Start, end and length of every piece of a path's d, y up; arcs as in SVG 1.1, appendix F.6."""
    start = first = 0j
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        numbers = [float(word) for word in rest.split()]
        end = complex(numbers[-2], -numbers[-1]) if numbers else first
        if letter == "A":
            radius, other_radius, turn, large = numbers[:4]
            assert (radius, turn, large) == (other_radius, 0, 0)
            chord = abs(end - start)
            yield start, end, 2 * radius * math.asin(min(1.0, chord / 2 / radius))
        elif letter == "L":
            yield start, end, abs(end - start)
        elif letter == "M":
            first = end
        start = end


def arc_centre(start: complex, end: complex, radius: float, clockwise: bool) -> complex:
    half = (end - start) / 2
    rise = math.sqrt(max(0.0, radius**2 - abs(half) ** 2)) * half / abs(half)
    return start + half + rise * (-1j if clockwise else 1j)


def drawing_shapes() -> tuple[str, ...]:
    return names("coilgen.layout.shapes")


def asked(shape: str) -> dict[str, Any]:
    """A design of some shape."""
    measure = measured_by(shape)
    if measure.sector:
        size: Mapping[str, object] = {"inner_radius": 10, "outer_radius": 26, "angle": 60}
    else:
        size = {"outer_size": 16 if measure.count == 1 else [24, 16]}
    winding = {"shape": shape, "turns": 4, "trace_width": 0.3, "trace_spacing": 0.2, **size}
    return {"name": "wound", "winding": winding}


def wound(shape: str, side: str, corner: str) -> Result:
    tables = asked(shape)
    winding = {**tables["winding"], "corner": corner}
    design = Design.model_validate({**tables, "winding": winding, "terminals": {"side": side}})
    coil, art = draw(design)
    return Result(design=design, coil=coil, art=art, findings=(), figures={}, cautions=())


def test_is_named_after_the_design(result: Result) -> None:
    assert list(drawing.files(result)) == [f"{result.design.name}.svg"]


def test_is_true_to_scale_in_millimetres(result: Result) -> None:
    root = root_of(result)
    _, _, width, height = (float(word) for word in root.get("viewBox", "").split())
    assert root.get("width") == f"{width:.6f}".rstrip("0").rstrip(".") + "mm"
    assert root.get("height") == f"{height:.6f}".rstrip("0").rstrip(".") + "mm"


def test_a_group_for_each_copper_layer_bottom_first(result: Result) -> None:
    names = [group.get("id", "") for group in by_id(root_of(result), "view")]
    copper = [name for name in names if name.startswith("copper")]
    assert copper == [f"copper-{k}" for k in range(result.art.copper_layers, 0, -1)]


def test_traces_have_the_art_s_lengths_and_widths(result: Result) -> None:
    root = root_of(result)
    for layer in range(1, result.art.copper_layers + 1):
        traces_group, _ = by_id(root, f"copper-{layer}").findall(f"{SVG}g")
        assert traces_group.get("stroke-linecap") == traces_group.get("stroke-linejoin") == "round"
        assert traces_group.get("fill") == "none"
        for path, trace in zip(traces_group, result.art.traces_on(layer), strict=True):
            pieces = list(strokes(path.get("d", "")))
            assert sum(length for *_, length in pieces) == pytest.approx(trace.path.length * 1e3, rel=1e-5)
            assert abs(pieces[0][0] - trace.path.start * 1e3) < 2e-6
            assert abs(pieces[-1][1] - trace.path.end * 1e3) < 2e-6
            assert float(path.get("stroke-width", "")) == pytest.approx(trace.width * 1e3)


def circles(group: Element) -> list[tuple[float, ...]]:
    rows = [[float(disc.get(key, "")) for key in ("cx", "cy", "r")] for disc in group.iter(f"{SVG}circle")]
    return sorted((x, -y, 2 * r) for x, y, r in rows)


def wanted(parts: Iterator[tuple[complex, float]]) -> list[tuple[float, ...]]:
    return sorted(
        tuple(round(length * 1e3, 6) + 0.0 for length in (at.real, at.imag, size)) for at, size in parts
    )


def test_pads_holes_and_openings_are_the_art_s(result: Result) -> None:
    root, art = root_of(result), result.art
    for layer in range(1, art.copper_layers + 1):
        pads = wanted((pad.at, pad.diameter) for pad in art.pads_on(layer))
        assert circles(by_id(root, f"copper-{layer}")) == pads
    assert circles(by_id(root, "holes")) == wanted((hole.at, hole.diameter) for hole in art.holes)
    for side in ("top", "bottom"):
        openings = wanted((each.at, each.diameter) for each in art.openings if each.side == side)
        assert circles(by_id(root, f"openings-{side}")) == openings


def test_profile_and_pocket(result: Result) -> None:
    board = by_id(root_of(result), "board")
    drawn = {path.get("id"): path.get("d", "") for path in board}
    paths = {"board-profile": result.art.outline, "core-pocket": next(iter(result.art.pockets), None)}
    assert set(drawn) == {name for name, path in paths.items() if path is not None}
    for name, data in drawn.items():
        path = paths[name]
        assert path is not None
        assert data.endswith("Z")
        assert sum(length for *_, length in strokes(data)) == pytest.approx(path.length * 1e3, rel=1e-5)


def test_terminals_are_numbered_once(result: Result) -> None:
    """By what is printed beside them; where nothing is, on the pad itself."""
    assert not by_id(root_of(result), "terminals").findall(f"{SVG}text") or not result.art.legend
    bare = replace(result, art=replace(result.art, legend=()))
    numbers = by_id(root_of(bare), "terminals").findall(f"{SVG}text")
    assert [text.text for text in numbers] == ["1", "2"]
    for text, terminal in zip(numbers, result.coil.terminals, strict=True):
        assert float(text.get("x", "")) == pytest.approx(terminal.at.real * 1e3, abs=1e-6)
        assert abs(float(text.get("y", "")) + terminal.at.imag * 1e3) < terminal.pad / 2 * 1e3


def test_sizes_are_told(result: Result) -> None:
    labels = [text.text for text in by_id(root_of(result), "dimensions").iter(f"{SVG}text")]
    design = result.design
    assert f"{design.winding.outer_size * 1e3:g} mm" in labels
    assert (design.pocket is None) or f"{design.pocket.size * 1e3:g} mm" in labels
    assert len(labels) == 1 + (design.pocket is not None) + (design.board.outline != "none") + (
        design.board.outline == "rectangle"
    )


def test_dimension_of_a_round_winding_ends_on_its_copper() -> None:
    result = sample("shutter")
    root = root_of(result)
    tips = [
        float(arrow.get("points", "").split(",")[0])
        for arrow in by_id(root, "dimensions")[0].iter(f"{SVG}polygon")
    ]
    arcs = [piece for piece in result.art.traces_on(1)[0].path.segments if isinstance(piece, Arc)]
    reach = [piece.at(part / 512).real for piece in arcs for part in range(513)]
    half_width = result.design.winding.trace_width / 2
    assert sorted(tips) == pytest.approx(
        [(min(reach) - half_width) * 1e3, (max(reach) + half_width) * 1e3], abs=1e-5
    )


@pytest.mark.parametrize("corner", ["sharp", "chamfered", "rounded"])
@pytest.mark.parametrize("side", ["north", "east", "south", "west"])
@pytest.mark.parametrize("shape", drawing_shapes())
def test_the_copper_ends_where_its_dimension_does(shape: str, side: str, corner: str) -> None:
    result = wound(shape, side, corner)
    (trace,) = result.art.traces_on(1)
    chords = {piece: 256 if isinstance(piece, Arc) else 1 for piece in trace.path.segments}
    points = [piece.at(part / count) for piece, count in chords.items() for part in range(count + 1)]
    copper = shapely.LineString([(at.real, at.imag) for at in points]).buffer(trace.width / 2, quad_segs=64)
    entry = result.coil.terminals[0].at
    outer = result.design.winding.outer_size
    spans = winding_spans(result)
    assert tuple(size for *_, size in spans) == ((outer,) if isinstance(outer, float) else outer)
    for start, end, size in spans:
        assert abs(end - start) == pytest.approx(size, rel=1e-9)
        along = (end - start) / size
        if (entry * along.conjugate()).real > 0:
            start, end, along = end, start, -along
        # Away from the terminals no lead reaches past the winding.
        line = shapely.LineString([(at.real, at.imag) for at in (start, end + along)])
        reach = (shapely.get_coordinates(copper.intersection(line)) @ [along.real, along.imag]).max()
        assert reach == pytest.approx((end * along.conjugate()).real, abs=1e-6)


def test_scale_bar_is_as_long_as_it_says(result: Result) -> None:
    bar = by_id(root_of(result), "scale-bar")
    (line,), (text,) = bar.findall(f"{SVG}path"), bar.findall(f"{SVG}text")
    ((_, _, length),) = strokes(line.get("d", ""))
    assert text.text == f"{length:g} mm"


def test_panels_repeat_each_layer_with_its_board(result: Result) -> None:
    root = root_of(result)
    identifiers = [element.get("id") for element in root.iter() if element.get("id")]
    used = [use.get("href", "") for use in root.iter(f"{SVG}use")]
    assert len(identifiers) == len(set(identifiers))
    assert all(name.removeprefix("#") in identifiers for name in used)
    layers = result.art.copper_layers
    assert [name for name in used if "copper" in name] == [
        f"#copper-{k}" for k in range(1, layers + 1) if layers > 1
    ]


def test_says_what_it_is_to_those_who_cannot_see_it(result: Result) -> None:
    root = root_of(result)
    assert root.get("role") == "img"
    title, description = (by_id(root, name) for name in root.get("aria-labelledby", "").split())
    assert (title.tag, description.tag) == (f"{SVG}title", f"{SVG}desc")
    assert result.design.name in (title.text or "")
    assert f"{result.design.winding.turns:g} turns" in (description.text or "")


def test_all_letters_and_art_lie_on_the_sheet(result: Result) -> None:
    root = root_of(result)
    left, top, width, height = (float(word) for word in root.get("viewBox", "").split())
    for text in root.iter(f"{SVG}text"):
        x, y, size = (float(text.get(key, "")) for key in ("x", "y", "font-size"))
        anchor = {"start": 0.0, "middle": 0.5}[text.get("text-anchor", "")]
        needed = 0.5 * size * len(text.text or "")
        assert left <= x - anchor * needed
        assert x + (1 - anchor) * needed <= left + width
        assert top <= y - size
        assert y <= top + height


def finding(count: int) -> Finding:
    return Finding(
        rule="trace_spacing",
        value=0.12e-3,
        limit=0.15e-3,
        unit="m",
        layer=1,
        at=complex(count * 1e-4, -1e-3),
        says="Widen <spacing> & check.",
    )


def test_findings_are_marked_at_their_place_and_listed() -> None:
    placeless = replace(
        finding(0), rule="drill_aspect_ratio", value=9.5, limit=8.0, unit="1", at=None, layer=None
    )
    root = root_of(replace(sample("latch"), findings=(finding(1), placeless, finding(3))))
    marks = by_id(root, "finding-marks")
    assert [mark.get("id") for mark in marks] == ["finding-1", "finding-3"]
    for mark, count in zip(marks, (1, 3), strict=True):
        ring = mark[0]
        assert float(ring.get("cx", "")) == pytest.approx(count * 0.1)
        assert float(ring.get("cy", "")) == pytest.approx(1.0)
        assert [text.text for text in mark.findall(f"{SVG}text")] == [str(count)]
    lines = [text.text for text in by_id(root, "caption").iter(f"{SVG}text")]
    assert "1  trace spacing: 0.12 mm, limit 0.15 mm, copper 1. Widen <spacing> & check." in lines
    assert any(line.startswith("2  drill aspect ratio: 9.5, limit 8.") for line in lines)


def test_findings_beyond_twenty_are_counted() -> None:
    root = root_of(replace(sample("latch"), findings=tuple(finding(count) for count in range(33))))
    assert len(by_id(root, "finding-marks")) == 20
    lines = [text.text for text in by_id(root, "caption").iter(f"{SVG}text")]
    assert lines[-1] == "and 13 more, all in the JSON file"


def test_a_clean_design_has_no_marks(result: Result) -> None:
    assert len(by_id(root_of(result), "finding-marks")) == 0


def test_any_note_is_written_as_it_was_said() -> None:
    plain = sample("shutter")
    design = Design.model_validate({"name": "shutter", **TABLES["shutter"], "note": 'a < b & "c" µ \x07 \''})
    lines = [text.text for text in root_of(replace(plain, design=design)).iter(f"{SVG}text")]
    assert 'a < b & "c" µ   \'' in lines


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.1, definition), 0 to 1."""
    channels = [value / 255 for value in bytes.fromhex(colour[1:])]
    red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("layers", range(1, 13))
def test_layers_grow_lighter_downwards_and_stay_apart_from_the_board(layers: int) -> None:
    shades = [luminance(_board_view.colour(layer, layers)) for layer in range(1, layers + 1)]
    assert all(lower > upper for upper, lower in pairwise(shades))
    assert all(shade < 0.6 * luminance(_board_view.BOARD_FILL) for shade in shades)
    if layers <= 8:
        contrast = [(b + 0.05) / (a + 0.05) for a, b in pairwise(shades)]
        assert min(contrast, default=2.0) > 1.15


def protanope(colour: str) -> tuple[float, ...]:
    """As a protanope sees it: Viénot, Brettel, Mollon, Color Res. Appl. 24(4), 1999, to all digits as
    the library daltonlens 0.1.5 computes them from the paper's own cones."""
    red, green, blue = (value**2.2 for value in bytes.fromhex(colour[1:]))
    mixed = 0.11238 * red + 0.88762 * green
    return mixed, mixed, 0.00401 * red - 0.00401 * green + blue


@pytest.mark.parametrize("layers", [2, 4, 6, 8])
def test_no_two_layers_look_alike_without_red_cones(layers: int) -> None:
    seen = [protanope(_board_view.colour(layer, layers)) for layer in range(1, layers + 1)]
    full = 255**2.2
    assert all(math.dist(a, b) / full > 0.02 for a, b in combinations(seen, 2))


pieces = st.one_of(
    st.builds(
        Line,
        st.complex_numbers(max_magnitude=0.02),
        st.complex_numbers(min_magnitude=0.03, max_magnitude=0.05),
    ),
    st.builds(
        Arc,
        st.complex_numbers(max_magnitude=0.02),
        st.floats(1e-3, 0.02),
        st.floats(-7, 7),
        st.floats(-6.28, 6.28).filter(lambda sweep: abs(sweep) > 0.05),
    ),
)


@settings(deadline=None)
@given(pieces)
def test_any_piece_keeps_its_ends_length_and_side(piece: Line | Arc) -> None:
    data = path_data(Path((piece,)))
    drawn = list(strokes(data))
    assert abs(drawn[0][0] - piece.start * 1e3) < 2e-6
    assert abs(drawn[-1][1] - piece.end * 1e3) < 2e-6
    # Half circles are read from rounded ends: the arc sine is steep there.
    assert sum(length for *_, length in drawn) == pytest.approx(piece.length * 1e3, rel=2e-3)
    if isinstance(piece, Arc):
        clockwise = data.split()[6] == "1"
        start, end, _ = drawn[0]
        centre = arc_centre(start, end, round(piece.radius * 1e3, 6), clockwise)
        assert abs(centre - piece.centre * 1e3) < 2e-2


@pytest.mark.parametrize("direction", ["counterclockwise", "clockwise"])
@pytest.mark.parametrize("shape", drawing_shapes())
def test_arrowheads_go_round_as_the_current_does(shape: str, direction: str) -> None:
    """Along the outer edge of the copper, next to it."""
    tables = asked(shape)
    winding = {**tables["winding"], "layers": 4, "direction": direction}
    design = Design.model_validate({**tables, "winding": winding})
    _, art = draw(design)
    edge = shapely.LineString(chords(copper_edges(design)[0], 1e-7))
    for layer in range(1, 5):
        places = current_places(art, layer)
        assert 3 <= len(places) <= 5
        for at, heading in places:
            assert abs(heading) == pytest.approx(1.0)
            point = shapely.Point(at.real, at.imag)
            assert edge.distance(point) < 2.5 * design.winding.trace_width
            along = edge.project(point)
            before, after = (edge.interpolate(along + step) for step in (-1e-5, 1e-5))
            tangent = complex(after.x - before.x, after.y - before.y) / 2e-5
            sense = 1 if direction == "counterclockwise" else -1
            assert sense * (tangent.conjugate() * heading).real > 0.9


def test_the_view_shows_the_top_layer_s_arrowheads(result: Result) -> None:
    root = root_of(result)
    (use,) = by_id(root, "current")
    assert use.get("href") == "#current-1"
    assert len(by_id(root, "current-1")) >= 3


def test_pads_tell_what_they_belong_to(result: Result) -> None:
    told = [disc.get("data-part", "") for disc in by_id(root_of(result), "copper-1").iter(f"{SVG}circle")]
    assert sorted(part for part in told if part.startswith("terminal")) == ["terminal 1", "terminal 2"]
    assert sum(part.startswith("via between copper ") for part in told) == len(result.coil.vias)


def test_as_png_it_is_as_large_as_600_dots_per_inch_make_it(result: Result) -> None:
    (content,) = drawing.files(result).values()
    png = _raster.png(content)
    root = root_of(result)
    assert png.startswith(b"\x89PNG\r\n")
    for start, side in ((16, "width"), (20, "height")):
        pixels = int.from_bytes(png[start : start + 4], "big")
        length = float((root.get(side) or "").removesuffix("mm"))
        assert pixels == pytest.approx(length / 25.4 * 600, abs=1.5)


def test_png_without_its_library_is_refused_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(UserError, match="pip install"):
        _raster.png(b"")


def test_long_names_and_notes_stay_on_the_sheet() -> None:
    note = " ".join(["the blade's magnet hangs half a millimetre above the coil's top face"] * 5)
    table = {**TABLES["single"], "name": "optical-shutter-" * 4, "note": note}
    design = Design.model_validate(table)
    coil, art = draw(design)
    result = Result(design=design, coil=coil, art=art, findings=(), figures={}, cautions=())
    root = root_of(result)
    left, top, width, height = (float(word) for word in root.get("viewBox", "").split())
    texts = by_id(root, "caption").findall(f"{SVG}text")
    assert " ".join(text.text or "" for text in texts).count("half a millimetre") == 5
    for text in texts:
        size, x, y = (float(text.get(key, "")) for key in ("font-size", "x", "y"))
        assert x >= left
        letter = 0.62 if text.get("font-weight") == "bold" else 0.52  # of DejaVu Sans, measured
        assert x + letter * size * len(text.text or "") <= left + width
        assert top + size <= y <= top + height
    places = [float(text.get("y", "")) for text in texts]
    assert places == sorted(places)


def test_true_to_scale_on_paper_and_large_enough_on_a_screen(result: Result) -> None:
    """Media queries: W3C, Media Queries Level 3; a screen's rule leaves the attributes in mm to the rest."""
    root = root_of(result)
    width, height = (float(each) for each in root.get("viewBox", "").split()[2:])
    for side, size in (("width", width), ("height", height)):
        assert float(root.get(side, "").removesuffix("mm")) == pytest.approx(size)
    style = next(root.iter(f"{SVG}style")).text or ""
    assert style.startswith("@media screen")
    across, up = (float(each) for each in re.findall(r"([\d.]+)px", style))
    assert across / up == pytest.approx(width / height, rel=5e-3)
    assert across == 1200 or up == 800


@pytest.mark.parametrize("height", ["40 mm", "47.2258 mm", "123.457 mm"])
def test_the_board_s_height_is_told_between_board_and_panels(height: str) -> None:
    """However many digits it has."""
    board = {"outline": "rectangle", "width": "34 mm", "height": height}
    design = Design.model_validate({"name": "tall", **TABLES["shutter"], "board": board})
    root = read_back(drawing.files(result_of(design, *draw(design), ())))
    (label,) = [each for each in texts(root) if each.says == height]
    (panels,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == "panels"]
    places = [each.get("transform", "") for each in panels]
    shifts = [float(found.group(1)) for place in places if (found := re.match(r"translate\((\S+)", place))]
    assert label.box[0] > 17
    assert label.box[2] < min(shifts) - 17 / 2
