"""Plots: every one draws its figure's table where the values say, and tells what it shows."""

import re
from collections.abc import Mapping
from importlib.resources import files
from typing import cast
from xml.etree import ElementTree

import pytest
from mover_designs import FAN, changed
from samples import TABLES
from svg_reader import Element, outside, overlap, texts, touching

from coilgen import job
from coilgen.catalogue import specimens, templates
from coilgen.design.design import Design
from coilgen.design.reading import read_tables, read_text
from coilgen.exports.page._chart import (
    BOTTOM,
    HEIGHT,
    KINDS,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Chart,
    Curve,
    Mark,
    chart_svg,
)
from coilgen.exports.page._colour_map import BANDS, FINE, ColourMap, band_colour, colour_map_svg
from coilgen.exports.page._plot import Plot
from coilgen.exports.page._scale import Axis

PLOTS = cast(Mapping[str, Plot], specimens("coilgen.exports.page._plots", "PLOT"))
ROWS: dict[str, list[dict[str, object]]] = {
    "axis_flux_density": [
        {"height": h, "above": b, "below": b / 2} for h, b in ((0.5e-3, 4e-3), (1e-3, 3e-3), (5e-3, 1e-3))
    ],
    "flux_density_map": [
        {"x": x * 1e-3, "y": y * 1e-3, "flux_density": x + 10 * y} for x in range(5) for y in range(4)
    ],
    "flux_density_over_board": [
        {"x": x * 1e-3, "y": y * 1e-3, "flux_density": (9 - x * x - y * y) * 2e-3}
        for x in range(-4, 5)
        for y in range(-4, 5)
    ],
    "impedance": [
        {"frequency": 10.0**k, "resistance": k, "inductance": 1e-5 / k, "quality": 2.0**k}
        for k in range(3, 8)
    ],
    "impedance_in_place": [
        {"frequency": 10.0**k}
        | {f"resistance{end}": k for end in ("", "_low", "_high", "_bare", "_bare_low", "_bare_high")}
        | {f"inductance{end}": 1e-5 / k for end in ("", "_low", "_high", "_bare", "_bare_low", "_bare_high")}
        | {f"quality{end}": 2.0**k for end in ("", "_low", "_high")}
        | {f"quality_bare{end}": 3.0**k for end in ("", "_low", "_high")}
        for k in range(3, 8)
    ],
    "temperature_against_time": [{"time": t, "temperature": 25.0 + t} for t in range(10)],
    "current_against_time": [{"time": t * 1e-6, "current": t / 10} for t in range(10)],
    "force_against_gap": [
        {"gap": g * 1e-3, "force": 1 / g, "force_low": 0.8 / g, "force_high": 1.2 / g, "at_rest": 0.5 / g}
        for g in range(1, 9)
    ],
    "force_against_offset": [
        {"offset": k * 1e-3, "force": 1.0 - k, "sideways": k / 2, "at_rest": 0.1}
        | {"force_low": 0.9 - k, "force_high": 1.1 - k}
        for k in range(5)
    ],
    "torque_against_angle": [
        {"angle": k / 10, "torque": 1.0, "sinusoidal": 1.0 + 0.1 * (k % 3), "six_step": 1.2} for k in range(9)
    ],
    "force_against_position": [
        {"position": k * 1e-3, "force": 2.0 - 0.1 * (k % 3), "sinusoidal": 2.0, "six_step": None}
        for k in range(9)
    ],
    "torque_against_speed": [
        {"speed": 10.0 * k, "torque": 1.0 - k / 8, "current": 2.0 - k / 4, "efficiency": k / 10}
        for k in range(9)
    ],
    "force_against_speed": [
        {"speed": 0.1 * k, "force": 1.0 - k / 8, "current": 2.0 - k / 4, "efficiency": k / 10}
        for k in range(9)
    ],
    "voltage_against_angle": [
        {"angle": k / 10, "A": k - 4.0, "B": 4.0 - k, "C": (k % 3) - 1.0, "D": 0.0} for k in range(9)
    ],
    "pull_against_gap": [{"gap": g * 1e-3, "pull": 1 / g, "without_core": 0.5 / g} for g in range(1, 9)],
    "pull_against_current": [{"current": k / 10, "pull": k * k / 100} for k in range(6)],
}
MAPS = ("plane_field", "field_from_above")
DESIGN = Design.model_validate(
    {
        "name": "shutter",
        **TABLES["shutter"],
        "magnet": {"grade": "N42", "diameter": "6 mm", "thickness": "1 mm", "gap": "2 mm"},
        "target": {"place": "bottom", "width": "4 mm", "thickness": "1 mm", "gap": "3 mm"},
    }
)


@pytest.mark.parametrize("name", ["torque_of_mover", "thrust_of_mover", "voltages_of_phases"])
def test_a_period_ends_where_the_next_begins(name: str) -> None:
    plot = PLOTS[name]
    rows = ROWS[plot.figure]
    for chart in plot.charts(rows, DESIGN):
        for curve in chart.curves:
            (first, begin), *_, (before, _), (last, end) = curve.points
            second = curve.points[1][0]
            assert end == begin
            assert last - before == pytest.approx(second - first)
            assert last - first == pytest.approx(len(rows) * (second - first))


@pytest.mark.parametrize("name", PLOTS)
def test_draws_its_table(name: str) -> None:
    plot = PLOTS[name]
    for chart in plot.charts(ROWS[plot.figure], DESIGN):
        drawn = chart_svg(chart) if isinstance(chart, Chart) else colour_map_svg(chart)
        assert drawn.get("role") == "img"
        assert drawn.get("aria-label") == chart.says
        assert chart.title
        numbers = re.findall(r'"(-?[\d.]+)"', ElementTree.tostring(drawn, encoding="unicode"))
        assert len(numbers) > 10


LETTERS = 13.0
"""Size of letters in plots, in their units: of `.chart` in the style sheet."""


def pictures(name: str, rows: list[dict[str, object]] | None = None) -> list[Element]:
    charts = PLOTS[name].charts(ROWS[PLOTS[name].figure] if rows is None else rows, DESIGN)
    return [chart_svg(each) if isinstance(each, Chart) else colour_map_svg(each) for each in charts]


def test_letters_are_as_large_as_the_style_sheet_makes_them() -> None:
    style = (files("coilgen.exports.page") / "style.css").read_text(encoding="utf-8")
    assert re.findall(r"\.chart \{[^}]*font-size: (\S+)px", style) == [f"{LETTERS:g}"]


def test_the_style_sheet_knows_every_kind_of_curve() -> None:
    style = (files("coilgen.exports.page") / "style.css").read_text(encoding="utf-8")
    known = re.findall(r"\.curve-(\d) path \{ stroke: var\(--curve-\1\);", style)
    assert known == [str(kind) for kind in range(1, KINDS + 1)]


@pytest.mark.parametrize("name", PLOTS)
def test_texts_are_inside_the_plot_and_clear_of_each_other(name: str) -> None:
    for drawn in pictures(name):
        assert len(texts(drawn, LETTERS)) > 4
        assert outside(drawn, LETTERS) == []
        assert touching(drawn, LETTERS) == []


@pytest.mark.parametrize("name", [name for name in PLOTS if name not in MAPS])
def test_lines_of_the_key_are_inside_the_plot_and_off_its_words(name: str) -> None:
    """Four entries in one row ran over the scale and out of the picture."""
    for drawn in pictures(name):
        words = [text.box for text in texts(drawn, LETTERS)]
        for path in drawn.iter("path"):
            found = re.fullmatch(r"M(\S+) (\S+) H(\S+)", path.get("d", ""))
            if found and float(found[2]) < TOP and path.get("fill") == "none":
                left, y, right = (float(number) for number in found.groups())
                assert 0 <= left < right <= WIDTH
                assert not any(overlap((left, y - 1, right, y + 1), box) for box in words)


@pytest.mark.parametrize("name", [name for name in PLOTS if name not in MAPS])
def test_labels_stand_at_their_lines(name: str) -> None:
    """Under upright lines and left of level ones, centred on them, in their order."""
    for drawn in pictures(name):
        (grid,) = [group for group in drawn.iter("g") if group.get("class") == "grid"]
        for line, label in zip(grid, list(grid)[1:], strict=False):
            numbers = [float(each) for each in re.findall(r"[\d.]+", line.get("d", ""))]
            if line.tag != "path":
                continue
            left, top, right, bottom = texts(_holding(label), LETTERS)[0].box
            if "H" in line.get("d", ""):
                assert (top + bottom) / 2 == pytest.approx(numbers[1], abs=1.0)
                assert 4 < numbers[0] - right < 10
            else:
                assert (left + right) / 2 == pytest.approx(numbers[0], abs=1e-6)
                assert 6 < top - numbers[1] < 12


def _holding(element: Element) -> Element:
    holder = ElementTree.Element("g")
    holder.append(element)
    return holder


def places(chart: Chart) -> list[list[tuple[float, float]]]:
    curves = [g for g in chart_svg(chart).iter("g") if (g.get("class") or "").startswith("curve ")]
    return [
        [
            (float(x), float(y))
            for x, y in re.findall(r"([\d.]+) ([\d.]+)", g[0].get("d", "").replace("H", " 0 "))
        ]
        for g in curves
    ]


def test_points_stand_where_their_values_say() -> None:
    line = Curve(says="line", points=((0.0, 0.0), (5.0, 50.0), (10.0, 100.0)))
    axes = {"across": Axis(says="x", unit="1"), "up": Axis(says="y", unit="1")}
    (drawn,) = places(Chart(title="t", says="s", **axes, curves=(line,)))
    assert drawn[0] == pytest.approx((LEFT, HEIGHT - BOTTOM), abs=0.1)
    assert drawn[2] == pytest.approx((WIDTH - RIGHT, TOP), abs=0.1)
    middle = ((drawn[0][0] + drawn[2][0]) / 2, (drawn[0][1] + drawn[2][1]) / 2)
    assert drawn[1] == pytest.approx(middle, abs=0.11)


def test_curves_differ_in_kind_and_are_named_when_there_are_two() -> None:
    axes = {"across": Axis(says="x", unit="1"), "up": Axis(says="y", unit="1")}
    curves = tuple(Curve(says=name, points=((0.0, k), (1.0, k + 1))) for k, name in enumerate(("one", "two")))
    level = Curve(says="limit", points=((0.0, 3.0), (1.0, 3.0)))
    root = chart_svg(Chart(title="t", says="s", **axes, curves=curves, level=level))
    kinds = {g.get("class") for g in root.iter("g")} - {"grid"}
    assert kinds == {"curve curve-1", "curve curve-2", "curve level"}
    keys = [text.text for text in root.iter("text") if text.get("class") == "key"]
    assert sorted(keys) == ["limit", "one", "two"]


def pointers(chart: Chart) -> list[tuple[float, str]]:
    """Place and words of what is pointed out."""
    groups = [g for g in chart_svg(chart).iter("g") if g.get("class") == "pointer"]
    return [(float(re.findall(r"[\d.]+", g[0].get("d", ""))[0]), g[1].text or "") for g in groups]


@pytest.mark.parametrize(("name", "gap"), [("force_on_magnet", 2), ("pull_on_target", 3)])
def test_the_design_s_gap_is_pointed_out(name: str, gap: int) -> None:
    (chart,) = PLOTS[name].charts(ROWS[PLOTS[name].figure], DESIGN)
    assert isinstance(chart, Chart)
    ((x, says),) = pointers(chart)
    assert says == f"as designed, {gap} mm"
    assert x == pytest.approx(LEFT + gap / 8 * (WIDTH - LEFT - RIGHT), abs=0.1)


def test_nothing_is_pointed_out_past_the_curves() -> None:
    axes = {"across": Axis(says="x", unit="1"), "up": Axis(says="y", unit="1")}
    curve = Curve(says="one", points=((0.0, 0.0), (5.0, 50.0)))
    assert pointers(Chart(title="t", says="s", **axes, curves=(curve,), mark=Mark(says="m", at=6.0))) == []
    assert pointers(Chart(title="t", says="s", **axes, curves=(curve,), mark=Mark(says="m", at=5.0))) != []


def test_a_column_of_zeros_is_left_out_beside_others() -> None:
    rows = [{**row, "at_rest": 0.0} for row in ROWS["force_against_offset"]]
    (chart,) = PLOTS["force_sideways"].charts(rows, DESIGN)
    assert isinstance(chart, Chart)
    assert [curve.says for curve in chart.curves] == ["along, + up", "sideways, + outward"]


@pytest.mark.parametrize(("hottest", "drawn"), [(60.0, False), (90.0, True), (150.0, True)])
def test_the_limit_is_drawn_once_the_coil_comes_near_it(hottest: float, drawn: bool) -> None:
    rows = [{"time": t, "temperature": 20.0 + t * (hottest - 20.0)} for t in (0.0, 0.5, 1.0)]
    (chart,) = PLOTS["temperature"].charts(rows, DESIGN)
    assert isinstance(chart, Chart)
    assert (chart.level is not None) == drawn
    if chart.level:
        assert chart.level.says == "lasting use of FR-4, 130 °C"


def test_a_curve_has_its_band_where_the_table_has_one() -> None:
    rows: list[dict[str, object]] = [
        {"gap": g * 1e-3, "force": 1 / g, "force_low": 0.8 / g, "force_high": 1.3 / g} for g in range(1, 5)
    ]
    (chart,) = PLOTS["force_on_magnet"].charts(rows, DESIGN)
    assert isinstance(chart, Chart)
    assert chart.curves[0].band[0] == (1e-3, 0.8, 1.3)
    root = chart_svg(chart)
    (outline,) = [g[0].get("d", "") for g in root.iter("g") if g.get("class") == "band curve-1"][:1]
    heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", outline)]
    line = next(g[0].get("d", "") for g in root.iter("g") if g.get("class") == "curve curve-1")
    middle = [float(y) for y in re.findall(r"[ML]?[\d.]+ ([\d.]+)", line)]
    assert all(top < at < foot for top, at, foot in zip(heights[:4], middle, heights[:3:-1], strict=True))
    assert min(heights) >= TOP
    assert "band" in [each.says for each in texts(root)]


def test_a_band_that_reaches_under_nothing_is_cut_off_on_a_logarithmic_axis() -> None:
    rows = [
        {"frequency": 10.0**k, "resistance": k, "resistance_low": -0.5, "resistance_high": 2.0 * k}
        | {"inductance": None, "quality": None}
        for k in range(3, 8)
    ]
    (chart,) = PLOTS["impedance"].charts(rows, DESIGN)
    assert isinstance(chart, Chart)
    assert chart.curves[0].band[0][1] == -0.5
    bands = [g[0].get("d", "") for g in chart_svg(chart).iter("g") if g.get("class") == "band curve-1"]
    heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", bands[0])]
    assert max(heights) <= HEIGHT - BOTTOM + 0.1


def test_rows_without_a_value_are_left_out() -> None:
    rows = [{**row, "inductance": None} if row["frequency"] == 1e7 else row for row in ROWS["impedance"]]
    charts = {chart.title: chart for chart in PLOTS["impedance"].charts(rows, DESIGN)}
    chart = charts["Inductance of the bare coil against frequency"]
    assert isinstance(chart, Chart)
    assert len(chart.curves[0].points) == 4


@pytest.mark.parametrize("name", ["resistance", "inductance", "quality"])
def test_two_positive_values_make_a_curve_of_the_impedance_and_one_makes_none(name: str) -> None:
    def drawn(*values: float | None) -> list[tuple[tuple[float, float], ...]]:
        """Points of that quantity's plot, the others without values."""
        empty = {"resistance": None, "inductance": None, "quality": None}
        rows = [{**empty, "frequency": 10.0**k, name: value} for k, value in enumerate(values, 3)]
        charts = PLOTS["impedance"].charts(rows, DESIGN)
        assert [each.title for each in charts] == [
            f"{name.capitalize()} of the bare coil against frequency"
        ] * len(charts)
        return [each.curves[0].points for each in charts if isinstance(each, Chart)]

    assert drawn(1.0, 2.0) == [((1e3, 1.0), (1e4, 2.0))]
    assert drawn(None, 1.0, 0.0, 2.0, -1.0) == [((1e4, 1.0), (1e6, 2.0))]
    assert drawn(1.0) == drawn(1.0, None) == drawn(None, 0.0, 1.0) == []
    nothing_at_rest = {"frequency": 0.0, "resistance": 1.0, "inductance": 1.0, "quality": 1.0}
    assert PLOTS["impedance"].charts([nothing_at_rest, {**nothing_at_rest, "frequency": 1e3}], DESIGN) == []


def a_map(values: dict[tuple[float, float], float]) -> ColourMap:
    axis = Axis(says="x", unit="m")
    cells = tuple((x, y, value) for (x, y), value in values.items())
    return ColourMap(title="t", says="s", across=axis, up=axis, shown=Axis(says="B", unit="T"), cells=cells)


def test_a_map_s_cells_cover_its_frame_once() -> None:
    values = {(x * 1e-3, y * 1e-3): float(x * y) for x in range(7) for y in range(4)}
    root = colour_map_svg(a_map(values))
    frame = next(each for each in root.iter("rect") if each.get("class") == "frame")
    cells = next(group for group in root.iter("g") if group.get("class") == "cells")
    boxes = [
        [float(edge) for edge in box]
        for path in cells
        for box in re.findall(r"M([\d.]+) ([\d.]+)H([\d.]+)V([\d.]+)H", path.get("d", ""))
    ]
    areas = [(right - left) * (bottom - top) for left, top, right, bottom in boxes]
    whole = float(frame.get("width", "")) * float(frame.get("height", ""))
    assert sum(areas) == pytest.approx(whole, rel=0.01)
    assert {each.get("fill") for each in cells} <= {band_colour(band) for band in range(BANDS)}


def test_a_map_keeps_its_proportions_and_the_plots_width() -> None:
    values = {(x * 1e-3, y * 1e-3): float(x * y) for x in range(31) for y in range(11)}
    root = colour_map_svg(a_map(values))
    frame = next(each for each in root.iter("rect") if each.get("class") == "frame")
    across, up = (float(frame.get(key, "")) for key in ("width", "height"))
    assert across / up == pytest.approx(30 / 10, rel=2e-3)
    assert float((root.get("viewBox") or "").split()[2]) == WIDTH
    keys = [float(text.get("y", "")) for text in list(root)[-1].iter("text") if not text.get("class")]
    assert min(b - a for a, b in zip(keys[1:], keys, strict=False)) > 12


def test_a_map_of_one_value_has_one_colour_a_row() -> None:
    root = colour_map_svg(a_map({(x, y): 1.0 for x in (0.0, 1.0, 2.0) for y in (0.0, 1.0)}))
    cells = next(group for group in root.iter("g") if group.get("class") == "cells")
    assert [path.get("d", "").count("M") for path in cells] == [FINE // 2 + 1]


def test_a_map_is_drawn_finer_than_its_grid_and_straight_between() -> None:
    """A slope from 0 to 16 over one cell shows its colours in stripes, all alike."""
    root = colour_map_svg(a_map({(x, y): 16.0 * x for x in (0.0, 1.0) for y in (0.0, 1.0)}))
    cells = next(group for group in root.iter("g") if group.get("class") == "cells")
    spans = []
    for path in cells:
        left, right = re.findall(r"M([\d.]+) [\d.]+H([\d.]+)", path.get("d", ""))[0]
        spans.append(float(right) - float(left))
    assert len(spans) > BANDS // 2
    assert max(spans[1:-1]) - min(spans[1:-1]) < 2.1 * sum(spans) / FINE


def test_a_map_with_a_hole_is_refused() -> None:
    with pytest.raises(ValueError, match="grid"):
        colour_map_svg(a_map({(0.0, 0.0): 1.0, (1.0, 0.0): 1.0, (0.0, 1.0): 1.0}))


def test_a_field_of_a_tenth_is_told_from_one_of_a_hundredth_and_none_is_drawn() -> None:
    plot = PLOTS["plane_field"]
    rows = [
        {"x": x * 1e-3, "z": z * 1e-3, "flux_density": 10.0 ** -(x + z)} for x in range(2) for z in range(2)
    ]
    (chart,) = plot.charts(rows, DESIGN)
    shares = [chart.scale.share(value) for _, _, value in chart.cells]
    assert len({round(share, 6) for share in shares}) == 3
    (nothing,) = plot.charts([{**row, "flux_density": 0.0} for row in rows], DESIGN)
    assert nothing.shown.logarithmic is False
    assert colour_map_svg(nothing) is not None


def test_lines_over_a_map_stand_where_their_values_say() -> None:
    """A field that rises along x has its contours upright, at the places of its scale's marks."""
    rows = [
        {"x": x * 1e-3, "y": y * 1e-3, "flux_density": x * 1e-3} for x in range(-4, 5) for y in range(-4, 5)
    ]
    (drawn,) = pictures("field_from_above", rows)
    frame = next(each for each in drawn.iter("rect") if each.get("class") == "frame")
    left, width = (float(frame.get(key, "")) for key in ("x", "width"))
    inks = {
        group.get("class"): [path.get("d", "") for path in group if path.get("class") == "ink"]
        for group in drawn.iter("g")
        if (group.get("class") or "").startswith("map-lines") and "key" not in group.get("class", "")
    }
    found = {
        round((float(x) - left) / width * 8 - 4, 2)
        for x in re.findall(r"([\d.]+) [\d.]+", inks["map-lines contour"][0])
    }
    assert found == {-4.0, -3.0, -2.0, -1.0, 1.0, 2.0, 3.0}
    assert set(inks) == {f"map-lines {kind}" for kind in ("contour", "zero", "winding", "magnet")}


def test_a_map_with_both_signs_has_nothing_in_the_middle_of_its_colours() -> None:
    (chart,) = PLOTS["field_from_above"].charts(ROWS["flux_density_over_board"], DESIGN)
    assert isinstance(chart, ColourMap)
    assert chart.scale.low == -chart.scale.high
    assert [each.kind for each in chart.lines] == ["contour", "zero", "winding", "magnet", "film"]


def test_a_plane_through_the_axis_shows_what_it_cuts() -> None:
    """A ring is cut in two beside its hole, a disc at its diameter; a body off the plane is left out."""
    text = templates()["optical-shutter"].replace(
        'diameter = "5 mm"', 'diameter = "5 mm"\nhole_diameter = "2 mm"'
    )
    rows = [{"x": x * 1e-3, "z": z * 1e-3, "flux_density": 1e-3} for x in (-9, 9) for z in (-3, 3)]

    def magnet(told: str) -> tuple[tuple[tuple[float, float], ...], ...]:
        (chart,) = PLOTS["plane_field"].charts(rows, read_text(told))
        return next((each.lines for each in chart.lines if each.kind == "magnet"), ())

    ring = magnet(text.replace('form = "disc"', 'form = "ring"'))
    across = sorted({round(1e3 * x, 6) for line in ring for x, _ in line})
    heights = sorted({round(1e3 * z, 6) for line in ring for _, z in line})
    assert across == [-2.5, -1.0, 1.0, 2.5]
    assert heights == [0.5, 2.5]
    assert magnet(text.replace('form = "disc"', 'form = "ring"\noffset = [0, 3]')) == ()


def test_cores_that_stand_turned_are_cut_as_they_stand() -> None:
    """In the east of a ring a core 1.8 by 0.8 mm stands along y: the plane through the axis cuts 0.8 mm."""
    core = {"place": "pocket", "form": "plate", "width": 1.8, "depth": 0.8, "thickness": 1.6}
    design = read_tables(changed(FAN, {"pocket.size": 2.2, "core": [core]}))
    rows = [{"x": x * 1e-3, "z": z * 1e-3, "flux_density": 1e-3} for x in (-20, 20) for z in (-3, 3)]
    (chart,) = PLOTS["plane_field"].charts(rows, design)
    (cores,) = (each.lines for each in chart.lines if each.kind == "core")
    ends = [sorted({round(1e3 * x, 6) for x, _ in line}) for line in cores]
    assert sorted(ends) == [[-13.4, -12.6], [12.6, 13.4]]


def test_a_rise_of_current_is_drawn_between_the_cold_and_the_hot_coil_s_current() -> None:
    """A board so small and a voltage so high that they are far from one another."""
    design = read_tables({"name": "shutter", **TABLES["shutter"], "drive": {"voltage": 1.6}})
    case = job.case_of(design, *job.draw(design))
    figures = {name: case.figure(name) for name in ("current", "hot_current", "current_against_time")}
    (chart,) = PLOTS["current"].drawn(figures, design)
    rise, cold, hot = chart.curves
    assert rise.points[-1][1] == pytest.approx(hot.points[-1][1], rel=0.01) == figures["hot_current"].value
    assert {y for _, y in cold.points} == {figures["current"].value}
    assert cold.points[0][1] > 1.2 * hot.points[0][1]
    assert cold.says.startswith("current, cold, ")
    assert hot.says.startswith("hot_current, settled, ")
