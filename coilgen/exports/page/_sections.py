"""Sections of the coil page under its summary: plots, findings, tables, the design as resolved."""

from collections.abc import Mapping, Sequence
from typing import cast

from coilgen.catalogue import specimens
from coilgen.exports.page._chart import Chart, chart_svg
from coilgen.exports.page._colour_map import ColourMap, colour_map_svg
from coilgen.exports.page._design_tables import design_rows
from coilgen.exports.page._plot import Plot
from coilgen.exports.page._table import add_table
from coilgen.exports.page._words import typeset, words
from coilgen.exports.picture._section_view import section_svg
from coilgen.exports.picture._svg import Element, add
from coilgen.result.figure import Figure
from coilgen.result.figure_text import (
    GROUPS,
    KEY_FIGURES,
    band_text,
    cause_shifts,
    cells,
    is_number,
    value_text,
)
from coilgen.result.result import Result
from coilgen.result.rule import Finding

PLOTTED = ("field", "core", "force", "heat", "drive", "electrical", "winding")
"""Groups of figures in the order of their plots."""

LONGEST_TABLE = 60
"""Rows; longer tables are drawn, and written in the JSON file only."""
LONGEST_PRINTED = 16
"""Rows; of longer tables paper has the plot."""
CAUSES = 3
"""Of a band, the largest ones, that the page tells."""
CAUSES_SAY = (
    "The largest causes of each band, and how far each by itself takes the figure: money for a narrower "
    "tolerance is well spent on those that stand first."
)


def add_findings(main: Element, result: Result) -> None:
    """Numbered as on the picture."""
    section = add(main, "section", id="findings-section", aria_labelledby="findings-heading")
    add(section, "h2", "Rules", id="findings-heading")
    if not result.findings:
        add(section, "p", f"Clean: every rule of {result.design.rules.shop} is kept.")
        return
    heads = ("", "rule", "value", "limit", "layer", "at x, y in mm", "what to do")
    body = add_table(section, heads, "findings", kind="broken")
    for count, finding in enumerate(result.findings, 1):
        row = add(body, "tr")
        add(row, "th", str(count), scope="row")
        for cell in _finding_cells(finding):
            add(row, "td", cell)


def _finding_cells(finding: Finding) -> tuple[str, ...]:
    layer = "" if finding.layer is None else str(finding.layer)
    value, limit = map(typeset, finding.amounts)
    return words(finding.rule), value, limit, layer, typeset(finding.place), finding.says


def add_plots(main: Element, result: Result) -> None:
    """Every plot whose figure is there, each with the state it shows and its model."""
    plots = cast(Mapping[str, Plot], specimens("coilgen.exports.page._plots", "PLOT"))
    shown = [
        (found, plot)
        for plot in plots.values()
        if (found := result.figures.get(plot.figure)) is not None and found.value
    ]
    drawn = [
        (figure, chart)
        for figure, plot in sorted(shown, key=lambda pair: PLOTTED.index(pair[0].group))
        for chart in plot.drawn(result.figures, result.design)
    ]
    if not drawn:
        return
    section = add(main, "section", id="plots-section", aria_labelledby="plots-heading")
    add(section, "h2", "Plots", id="plots-heading")
    grid = add(section, "div", class_="plots")
    for figure, chart in drawn:
        frame = add(grid, "figure", data_figure=figure.name)
        add(frame, "figcaption", chart.title)
        frame.append(_drawn(chart))
        add(frame, "p", typeset(figure.model), class_="model")


def _drawn(chart: Chart | ColourMap) -> Element:
    return chart_svg(chart) if isinstance(chart, Chart) else colour_map_svg(chart)


def add_figures(main: Element, result: Result) -> None:
    """All figures by group with unit, band and model; those of many values in tables that unfold."""
    section = add(main, "section", id="figures-section", aria_labelledby="figures-heading")
    add(section, "h2", "Figures", id="figures-heading")
    present = dict.fromkeys(figure.group for figure in result.figures.values())
    for group in sorted(present, key=GROUPS.index):
        figures = [figure for figure in result.figures.values() if figure.group == group]
        folded = _folded(section, group, len(figures))
        _add_single(folded, [figure for figure in figures if is_number(figure.value)], group)
        for figure in figures:
            if not is_number(figure.value) and figure.value:
                _add_many(folded, figure)
    _add_windings(section, result)
    _add_causes(section, result)


def _folded(section: Element, group: str, count: int) -> Element:
    """A group of figures, to unfold; paper has it open."""
    details = add(section, "details", class_="group")
    summary = add(details, "summary")
    add(summary, "h3", group)
    add(summary, "small", f"{count} figure{'s' if count > 1 else ''}")
    return details


def _add_windings(section: Element, result: Result) -> None:
    """Each of several windings: its figures of one value side by side."""
    if not result.windings:
        return
    folded = _folded(section, "windings", len(result.windings[0].figures))
    heads = ("figure", *(each.name for each in result.kinds), "what")
    body = add_table(folded, heads, "figures of the windings", kind="figures")
    first = result.windings[0].figures
    for name in first:
        told = [each.figures.get(name) for each in result.kinds]
        if not is_number(first[name].value):
            continue
        row = add(body, "tr")
        add(row, "th", words(name), scope="row")
        for figure in told:
            cell = add(row, "td", "" if figure is None else typeset(value_text(figure)), class_="number")
            if figure is not None and (band := band_text(figure)):
                add(cell, "small", typeset(band))
        add(row, "td", typeset(first[name].says), class_="says")


def _add_causes(section: Element, result: Result) -> None:
    """What the bands of the key figures come from: where a narrower tolerance would be worth its price."""
    known = [found for name in KEY_FIGURES if (found := result.figures.get(name)) and found.contributions]
    if not known:
        return
    details = add(section, "details", class_="group")
    add(add(details, "summary"), "h3", "where the bands come from")
    add(details, "p", CAUSES_SAY, class_="model")
    heads = ("figure", "band", "largest cause", "second", "third")
    body = add_table(details, heads, "causes of the bands")
    for figure in known:
        row = add(body, "tr")
        add(row, "th", words(figure.name), scope="row")
        add(row, "td", typeset(band_text(figure)), class_="number")
        causes = cause_shifts(figure, CAUSES)
        for cause in causes + [""] * (CAUSES - len(causes)):
            add(row, "td", typeset(cause))


def _add_single(section: Element, figures: Sequence[Figure], group: str) -> None:
    if not figures:
        return
    heads = ("figure", "value", "band", "what and by which model")
    body = add_table(section, heads, f"figures of the {group}", kind="figures")
    for figure in figures:
        row = add(body, "tr")
        add(row, "th", words(figure.name), scope="row")
        add(row, "td", typeset(value_text(figure)), class_="number", data_figure=figure.name)
        add(row, "td", typeset(band_text(figure)), class_="number")
        says = add(row, "td", typeset(figure.says), class_="says")
        add(says, "small", typeset(figure.model))


def _add_many(section: Element, figure: Figure) -> None:
    details = add(section, "details", **({"class_": "long"} if len(figure.value) > LONGEST_PRINTED else {}))
    add(details, "summary", f"{words(figure.name)}: {typeset(figure.says)}")
    add(details, "p", typeset(figure.model), class_="model")
    if len(figure.value) > LONGEST_TABLE:
        add(details, "p", f"{len(figure.value)} rows: drawn under Plots, all of them in the JSON file.")
        return
    columns, rows = cells(figure, 4)
    heads = tuple(words(column) for column in columns)
    body = add_table(details, heads, words(figure.name))
    for told in rows:
        row = add(body, "tr")
        for cell in told:
            add(row, "td", typeset(cell), class_="number")


def add_section_drawing(main: Element, result: Result) -> None:
    """The cut through the board."""
    section = add(main, "section", id="cut-section", aria_labelledby="cut-heading")
    add(section, "h2", "Cut through the board", id="cut-heading")
    frame = add(section, "figure", class_="cut")
    drawing = section_svg(result)
    for size in ("width", "height"):
        del drawing.attrib[size]
    add(frame, "div", class_="frame", tabindex="0", role="region", aria_label="the cut").append(drawing)


def add_design(main: Element, result: Result) -> None:
    """The design with every default filled in, as one would write it, to unfold."""
    section = add(main, "section", id="design-section", aria_labelledby="design-heading")
    add(section, "h2", "Design as resolved", id="design-heading")
    folded = add(section, "details")
    add(folded, "summary", "every key with its value, defaults filled in")
    tables = add(folded, "div", class_="design")
    for name, rows in design_rows(result.design):
        block = add(tables, "div")
        body = add_table(block, (name, ""), name, head=False)
        for key, value in rows:
            row = add(body, "tr")
            add(row, "th", key, scope="row")
            add(row, "td", value)
