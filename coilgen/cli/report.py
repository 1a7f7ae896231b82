"""What a result looks like to a reader: its figures, and the summary of what was written."""

import os
import shlex
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import cast

from coilgen.catalogue import specimens
from coilgen.cli.axis_field import show_axis_field
from coilgen.cli.findings import NOTE, show_remarks
from coilgen.cli.terminal import Row, group_row, show_table, show_text
from coilgen.result.caution import warns
from coilgen.result.export import READERS, Export, Reader
from coilgen.result.figure import Figure
from coilgen.result.figure_text import (
    GROUPS,
    KEY_FIGURES,
    band_text,
    causes_text,
    cells,
    is_number,
    key_figures,
    value_text,
)
from coilgen.result.result import Result
from coilgen.result.verdict import verdict

LONGEST, DENSEST = 15, 200
"""Rows of a curve's table that are all shown, and rows of any beyond which none is."""
SUMMARY = ("trace_length", "smallest_spacing", *KEY_FIGURES)


def show_in_short(result: Result, design: Path) -> None:
    """Whether to use it, the figures most asked for and what warns, on one screen."""
    show_text(str(verdict(result)), style="bold")
    show_table(("figure", "value", "band", "mostly from"), _in_short(result))
    show_remarks([caution for caution in result.cautions if warns(caution)])
    quoted = shlex.quote(str(design))
    if result.findings:
        show_text(f"coilgen check {quoted}", label="which rules, and where:", style="bold")
    notes = sum(not warns(caution) for caution in result.cautions)
    told = f"{len(result.figures)} figures and {notes} note{'' if notes == 1 else 's'}"
    show_text(f"coilgen figures {quoted} --all", label=f"all {told}:", style="bold")


def _in_short(result: Result) -> list[Row]:
    """Of several windings alike but for their names, such as the coils of an array, one stands for all."""
    rows = _key_rows(result.figures)
    for each in result.kinds:
        rows += [group_row(each.name, 4), *_key_rows(each.figures)]
    return rows


def _key_rows(figures: Mapping[str, Figure]) -> list[Row]:
    return [
        (each.name, value_text(each), band_text(each), causes_text(each))
        for each in key_figures(figures, SUMMARY)
    ]


def show_figures(result: Result) -> None:
    """All figures by group, the board's and then those of each of several windings."""
    _show_all(result.figures.values())
    for each in result.kinds:
        if result.design.array is None:
            first, second = (terminal.number for terminal in each.coil.terminals)
            show_text(f"terminals {first} and {second}", label=f"winding {each.name}:", style="bold")
        else:
            show_text("by itself, nothing near it", label=f"{each.name}:", style="bold")
        _show_all(each.figures.values())


def _show_all(given: Iterable[Figure]) -> None:
    """Figures by group; those with many values in tables of their own below."""
    figures = sorted(given, key=lambda figure: GROUPS.index(figure.group))
    rows: list[Row] = []
    for group in GROUPS:
        single = [figure for figure in figures if figure.group == group and is_number(figure.value)]
        rows += [group_row(group, 5)] if single else []
        rows += [
            (figure.name, value_text(figure), band_text(figure), causes_text(figure), figure.says)
            for figure in single
        ]
    show_table(("figure", "value", "band", "mostly from", "what"), rows)
    show_text("")
    for figure in figures:
        if not is_number(figure.value):
            _show_many(figure)


def _show_many(figure: Figure) -> None:
    """A figure of many values: a table with named columns, or a matrix by layer."""
    show_text(figure.says, label=f"{figure.name}:", style="bold")
    if not figure.value:
        show_text("no value applies")
    else:
        _show_rows(figure)
    if figure.name in ("flux_density", "core_flux_density"):
        show_axis_field(figure)
    show_text("")


def _show_rows(figure: Figure) -> None:
    """A long table of a curve thinned, of other things whole, and one that covers a plane not at all."""
    columns, rows = cells(figure)
    heads = tuple(column.replace("_", " ") for column in columns)
    if len(rows) > DENSEST:
        show_text(f"{len(rows)} rows: on the page, and with --json")
        return
    step = -(-len(rows) // LONGEST) if _is_curve(figure) else 1
    shown = [row for count, row in enumerate(rows) if count % step == 0 or count == len(rows) - 1]
    show_table(heads, shown)
    if len(shown) < len(rows):
        show_text(f"{len(shown)} of {len(rows)} rows; all with --json")


def _is_curve(figure: Figure) -> bool:
    """Whether its rows go by a number; those that go by words, such as a circuit's elements, each count."""
    first = figure.value[0]
    return isinstance(first, Mapping) and is_number(next(iter(first.values())))


def show_summary(result: Result, design: Path, target: Path) -> None:
    """Whether to order, the figures most asked for, what warns, and which file is for whom, on one screen."""
    show_text(str(verdict(result)), style="bold")
    rows = _summary(result.figures)
    for each in result.kinds:
        rows += [group_row(each.name, 3), *_summary(each.figures)]
    show_table(("figure", "value", "band"), rows)
    show_remarks([caution for caution in result.cautions if warns(caution)])
    _show_where_notes_are(result, target)
    name = result.design.name
    if name != design.stem:
        show_text(
            f'the design is named "{name}" in {design}, and so are its files', label="note:", style=NOTE
        )
    show_text(f"{len(result.files)} files in {target}{os.sep}", style="bold")
    for reader, paths in _by_reader(result).items():
        show_text(", ".join(paths), label=f"  {READERS[reader]:<15}")
    show_text(f"coilgen figures {shlex.quote(str(design))} --all", label=f"  {'all figures':<15}")
    if result.design.sweep:
        show_text(f"coilgen sweep {shlex.quote(str(design))} --out FILE.csv", label=f"  {'its sweep':<15}")


def _show_where_notes_are(result: Result, target: Path) -> None:
    notes = sum(not warns(caution) for caution in result.cautions)
    count = "the note" if notes == 1 else f"the {notes} notes"
    page = target / f"{result.design.name}.html"
    show_text(
        f"All figures are estimates: read {count} in {page} before you order.", label="note:", style=NOTE
    )


def _summary(figures: Mapping[str, Figure]) -> list[Row]:
    shown = key_figures(figures, SUMMARY)
    return [(figure.name, value_text(figure), band_text(figure)) for figure in shown]


def _by_reader(result: Result) -> dict[Reader, list[str]]:
    """The files of a result by whom they are for; what is sent as one ZIP is told as that."""
    exports = cast(Mapping[str, Export], specimens("coilgen.exports", "EXPORT"))
    found: dict[Reader, list[str]] = {reader: [] for reader in READERS}
    for export in exports.values():
        own = (path for path in result.files if export.writes(path, result.design.name))
        found[export.reader] += [path for path in own if "/" not in path]
    return {reader: paths for reader, paths in found.items() if paths}
