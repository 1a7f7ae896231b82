"""What a result looks like to a reader: findings, figures, remarks, and the summary of what was written."""

import os
import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from coilgen.cli.terminal import Row, group_row, show_table, show_text
from coilgen.figure import Figure
from coilgen.result import Result
from coilgen.rule import Finding
from coilgen.units import readable

GROUPS = ("winding", "electrical", "drive", "field", "core", "force", "heat")
READERS = (
    ("for the fab", ("-fab.zip",)),
    ("for a layout", (".dxf", "-centrelines.dxf", "-pads.csv")),
    ("for the eye", (".html", ".svg", "-cross-section.svg")),
    ("for a simulator", (".cir", ".s1p")),
    ("for programs", (".json",)),
)
"""Which files are for whom, by the endings that follow the design's name."""
NOTE = "yellow"
SUMMARY = (
    "turns_total",
    "trace_length",
    "smallest_spacing",
    "resistance_20c",
    "inductance",
    "current",
    "power",
    "temperature",
    "moment",
)


def show_findings(findings: Sequence[Finding]) -> None:
    """The findings with value, limit and place, then what to do about each."""
    if not findings:
        show_text("clean", label="rules:", style="bold green")
        return
    show_table(
        ("", "rule", "value", "limit", "layer", "at x, y mm"),
        [_finding_row(number, finding) for number, finding in enumerate(findings, 1)],
    )
    for numbers, says in _advice(findings):
        show_text(says, label=numbers)
    count = f"{len(findings)} finding{'s' if len(findings) > 1 else ''}"
    show_text(count, label="rules:", style="bold red")


def _finding_row(number: int, finding: Finding) -> Row:
    at = finding.at
    return (
        f"{number:>2}",
        finding.rule,
        _amount(finding.value, finding.unit),
        _amount(finding.limit, finding.unit),
        "" if finding.layer is None else str(finding.layer),
        "" if at is None else f"{at.real * 1e3:.3f}, {at.imag * 1e3:.3f}",
    )


def _advice(findings: Sequence[Finding]) -> list[tuple[str, str]]:
    """Each sentence once, after the numbers of its findings: alone, or from first to last of a run."""
    told: list[tuple[list[int], str]] = []
    for number, finding in enumerate(findings, 1):
        if told and told[-1][1] == finding.says:
            told[-1][0].append(number)
        else:
            told.append(([number], finding.says))
    return [(f"{run[0]:>2}" if len(run) == 1 else f"{run[0]:>2} to {run[-1]}", says) for run, says in told]


def _amount(value: float, unit: str) -> str:
    """A value beside its limit: to the nanometre, so that the two never look alike.

    >>> _amount(0.000149999, "m"), _amount(8.25, "1"), _amount(60.0, "V")
    ('0.149999 mm', '8.25', '60 V')
    """
    if unit == "m":
        return f"{round(value * 1e3, 6):.9g} mm"
    return f"{value:.6g}" if unit == "1" else f"{value:.6g} {unit}"


def show_figures(result: Result) -> None:
    """All figures by group; those with many values in tables of their own below."""
    figures = sorted(result.figures.values(), key=lambda figure: GROUPS.index(figure.group))
    rows: list[Row] = []
    for group in GROUPS:
        single = [figure for figure in figures if figure.group == group and _is_number(figure.value)]
        rows += [group_row(group, 4)] if single else []
        rows += [(figure.name, _value(figure), _band(figure), figure.says) for figure in single]
    show_table(("figure", "value", "band", "what"), rows)
    show_text("")
    for figure in figures:
        if not _is_number(figure.value):
            _show_many(figure)


def _show_many(figure: Figure) -> None:
    """A figure of many values: a table with named columns, or a matrix by layer."""
    show_text(figure.says, label=f"{figure.name}:", style="bold")
    if not figure.value:
        show_text("no value applies")
    elif isinstance(figure.value[0], Mapping):
        _show_columns(figure.value, figure.unit)
    else:
        _show_matrix(figure.value, figure.unit)
    show_text("")


def _show_columns(rows: Sequence[Mapping[str, Any]], unit: str) -> None:
    """A table; where each row tells the unit of its own value, that column goes into the value."""
    units = column_units(unit)
    columns = [column for column in rows[0] if column != "unit"]
    shown = [
        [_cell(row[column], units.get(column) or row.get("unit", "1")) for column in columns] for row in rows
    ]
    show_table(columns, shown)


def column_units(unit: str) -> dict[str, str]:
    """Units of a table's columns, from the unit of its figure.

    >>> column_units("table(side, height m, per_ampere T/A)")
    {'side': '', 'height': 'm', 'per_ampere': 'T/A'}
    """
    inside = unit.removeprefix("table(").removesuffix(")")
    columns = (column.strip().partition(" ") for column in inside.split(","))
    return {name: told for name, _, told in columns}


def _cell(value: Any, unit: str) -> str:
    return readable(value, unit) if _is_number(value) else str(value)


def _show_matrix(rows: Sequence[Sequence[float]], unit: str) -> None:
    headers = ("", *(f"L{k}" for k in range(1, len(rows[0]) + 1)))
    cells = [(f"L{k}", *(readable(value, unit) for value in row)) for k, row in enumerate(rows, 1)]
    show_table(headers, cells)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float)


def _value(figure: Figure) -> str:
    return readable(figure.value, figure.unit)


def _band(figure: Figure) -> str:
    """Both ends with their unit, or half their distance where it is too small for the digits shown."""
    if figure.band is None:
        return ""
    low, high = (readable(end, figure.unit) for end in figure.band)
    if low == high:
        half = (figure.band[1] - figure.band[0]) / 2 / abs(figure.value or 1.0)
        return f"± {100 * half:.1g} %"
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def show_summary(result: Result, design: Path, target: Path) -> None:
    """The figures most asked for, what to know, and which file is for whom."""
    shown = [result.figures[name] for name in SUMMARY if name in result.figures]
    show_table(
        ("figure", "value", "band"),
        [(figure.name, _value(figure), _band(figure)) for figure in shown],
    )
    show_remarks(result.cautions)
    name = result.design.name
    if name != design.stem:
        show_text(
            f'the design is named "{name}" in {design}, and so are its files', label="note:", style=NOTE
        )
    show_text(f"{len(result.files)} files in {target}{os.sep}", style="bold")
    for reader, endings in READERS:
        own = [f"{name}{ending}" for ending in endings if f"{name}{ending}" in result.files]
        if own:
            show_text(", ".join(own), label=f"  {reader:<15}")
    show_text(f"coilgen figures {shlex.quote(str(design))}", label=f"  {'all figures':<15}")


def show_remarks(remarks: Sequence[str]) -> None:
    """What a designer must know, a line for each."""
    for remark in remarks:
        show_text(remark, label="note:", style=NOTE)
