"""The page of a sweep: of one key a plot for each figure, of two a map, of three small maps. Only numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from coilgen import __version__
from coilgen.design.as_made import calibration_told
from coilgen.exports.page._chart import Chart, Curve, chart_svg
from coilgen.exports.page._colour_map import BANDS, band_colour
from coilgen.exports.page._scale import Axis
from coilgen.exports.page._table import add_table
from coilgen.exports.page._words import typeset, words
from coilgen.exports.page.page import document
from coilgen.exports.picture._svg import Element, add
from coilgen.study.plan import told_of
from coilgen.study.sweep_text import choice_text
from coilgen.units import DIMENSIONS, readable

if TYPE_CHECKING:
    from coilgen.design import sweeping
    from coilgen.study.plan import Plan
    from coilgen.study.sweep_block import Row

_STYLE = """
.sweep-map table { width: auto; }
.sweep-map td, .sweep-map th { padding: 0.3em 0.6em; text-align: right; }
.sweep-maps { display: flex; flex-wrap: wrap; gap: 1.5em; }
.sweep-maps figure { margin: 0; max-width: 100%; }
.sweep-maps .sweep-map { font-size: 0.85em; }
.sweep-map td.dark { color: #ffffff; }
.sweep-map td.light { color: #000000; }
"""
_SCREENED = "Screened: the table's column exact tells which rows are computed as coilgen figures does."
_MOST_KEYS, _MOST_ROWS = 3, 20_000
"""Of a page."""
_MIDDLING = 0.179
"""Relative luminance at which black and white stand out alike, 4.6 to 1 [WCAG 2.2, contrast ratio]."""


def has_page(plan: Plan) -> bool:
    """Whether a sweep can be drawn: one to three keys, of numbers, with no more rows than can be seen."""
    several = all(axis.numeric and len(axis.choices) > 1 for axis in plan.axes)
    return several and len(plan.axes) <= _MOST_KEYS and plan.count <= _MOST_ROWS


def page(plan: Plan, rows: Sequence[Row]) -> bytes:
    """One self-contained HTML file. rows: all, in their order."""
    main = Element("main", {"id": "coil"})
    header = add(main, "header")
    *others, last = (axis.key for axis in plan.axes)
    add(header, "h1", f"{plan.design.name}: {', '.join(others)}{' and ' if others else ''}{last}")
    lighter = " Lighter is more, where all are negative the more negative." if len(plan.axes) > 1 else ""
    says = f"Estimates, cold unless a figure says otherwise; blank where it cannot be built.{lighter}"
    add(header, "p", says)
    if plan.screened:
        add(header, "p", _SCREENED)
    for each in calibration_told(plan.design):
        add(header, "p", each)
    for place, name in enumerate(plan.figures):
        values = [row.values[place] for row in rows]
        if any(value is not None for value in values):
            _add_figure(main, plan, name, values)
    add(main, "footer", f"coilgen {__version__}")
    return document(plan.design.name, [main], extra_style=_STYLE)


def _add_figure(main: Element, plan: Plan, name: str, values: Sequence[float | None]) -> None:
    section = add(main, "section")
    says, unit = told_of(name)
    add(section, "h2", f"{words(name)}: {typeset(says)}")
    known = [value for value in values if value is not None]
    bounds = _bounds(known)
    if len(plan.axes) == 1:
        section.append(_plot(plan.axes[0], name, says, unit, values))
    elif len(plan.axes) < _MOST_KEYS:
        _add_map(section, plan.axes, unit, values, bounds, " \\ ".join(map(_named, plan.axes)))
    else:
        _add_maps(section, plan.axes, unit, values, bounds)


def _bounds(known: Sequence[float]) -> tuple[float, float]:
    """What is dark and what is light: the least and the most, in size where the sign is but a direction."""
    least, most = min(known), max(known)
    return (most, least) if most <= 0 else (least, most)


def _plot(axis: sweeping.Axis, name: str, says: str, unit: str, values: Sequence[float | None]) -> Element:
    known = [(_si(axis, choice), value) for choice, value in zip(axis.choices, values, strict=True)]
    points = tuple(sorted((x, value) for x, value in known if value is not None))
    across = Axis(says=axis.key, unit=_unit(axis))
    chart = Chart(
        title=name,
        says=f"{says} against {axis.key}",
        across=across,
        up=Axis(says=words(name), unit=unit),
        curves=(Curve(says=name, points=points),),
    )
    return chart_svg(chart)


def _si(axis: sweeping.Axis, choice: sweeping.Choice) -> float:
    """A number of a key in the unit in which axes are scaled: SI for lengths, else its own."""
    assert isinstance(choice, int | float)
    return choice * float(DIMENSIONS["length"].units["mm"]) if axis.unit == "mm" else float(choice)


def _unit(axis: sweeping.Axis) -> str:
    return "m" if axis.unit == "mm" else axis.unit or "1"


def _add_maps(
    section: Element,
    axes: Sequence[sweeping.Axis],
    unit: str,
    values: Sequence[float | None],
    bounds: tuple[float, float],
) -> None:
    """A map of the last two keys for each value of the first, all in one scale of colours."""
    first, *others = axes
    down, across = map(_named, others)
    add(section, "p", f"Downward {down}; to the right {across}.")
    maps, size = add(section, "div", class_="sweep-maps"), len(values) // len(first.choices)
    for k, choice in enumerate(first.choices):
        figure = add(maps, "figure")
        add(figure, "figcaption", f"{_named(first)}: {choice_text(choice)}")
        _add_map(figure, others, unit, values[k * size : (k + 1) * size], bounds, "")


def _add_map(
    section: Element,
    axes: Sequence[sweeping.Axis],
    unit: str,
    values: Sequence[float | None],
    bounds: tuple[float, float],
    corner: str,
) -> None:
    """A table whose cells are coloured, lighter for more: the first key downward, the second across."""
    down, across = axes
    heads = (corner, *(choice_text(choice) for choice in across.choices))
    body = add_table(section, heads, f"map over {_named(down)} and {_named(across)}", kind="sweep-map")
    for k, choice in enumerate(down.choices):
        line = add(body, "tr")
        add(line, "th", choice_text(choice), scope="row")
        for value in values[k * len(across.choices) : (k + 1) * len(across.choices)]:
            _add_cell(line, value, *bounds, unit)


def _add_cell(line: Element, value: float | None, dark: float, light: float, unit: str) -> None:
    if value is None or not math.isfinite(value):
        add(line, "td", "")
        return
    if light == dark:
        add(line, "td", typeset(readable(value, unit)))
        return
    band = min(BANDS - 1, int((value - dark) / (light - dark) * BANDS))
    cell = add(
        line,
        "td",
        typeset(readable(value, unit)),
        class_="dark" if _luminance(band_colour(band)) < _MIDDLING else "light",
    )
    cell.set("style", f"background: {band_colour(band)}")


def _luminance(colour: str) -> float:
    """Relative luminance of a colour, 0 of black to 1 of white [WCAG 2.2].

    >>> round(_luminance("#ffffff"), 6), round(_luminance("#808080"), 3)
    (1.0, 0.216)
    """
    parts = (part / 255 for part in bytes.fromhex(colour.removeprefix("#")))
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _named(axis: sweeping.Axis) -> str:
    return f"{axis.key}, {axis.unit}" if axis.unit else axis.key
