"""A comparison as text: a table for people, CSV and JSON for programs."""

import csv
import io
import json

from coilgen import __version__
from coilgen.study.compare import Comparison, Row
from coilgen.study.comparison_columns import Column, Value
from coilgen.units import in_mm, readable, shown_in

_BLANK = "–"

Cells = tuple[str, ...]


def csv_text(comparison: Comparison) -> str:
    """One row for each variant, SI, blank where a value does not apply; RFC 4180 but for plain line ends."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("variant", *(_csv_head(column) for column in comparison.columns)))
    for row in comparison.rows:
        table.writerow((row.name, *(_csv_cell(row.values[column.name]) for column in comparison.columns)))
    return text.getvalue()


def _csv_head(column: Column) -> str:
    return column.name if column.unit in ("", "1") else f"{column.name} {column.unit}"


def _csv_cell(value: Value) -> str:
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else repr(float(value))


def json_text(comparison: Comparison) -> str:
    """The comparison in SI, indented by two; null where a value does not apply."""
    document = {
        "coilgen": __version__,
        "name": comparison.name,
        "height": comparison.height,
        "columns": {column.name: {"unit": column.unit, "says": column.says} for column in comparison.columns},
        "variants": [_json_row(row) for row in comparison.rows],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _json_row(row: Row) -> dict[str, object]:
    return {"name": row.name, "values": dict(row.values), "cautions": list(row.cautions)}


def cells(comparison: Comparison) -> tuple[Cells, list[Cells]]:
    """Heads, each with its unit on a second line, and rows of what is not the same for all."""
    columns = [column for column in comparison.columns if not _same(comparison, column)]
    shown = [_column_cells(comparison, column) for column in columns]
    heads = ("variant\n", *(head for head, _ in shown))
    texts = [texts for _, texts in shown]
    return heads, [(row.name, *(each[k] for each in texts)) for k, row in enumerate(comparison.rows)]


def same_for_all(comparison: Comparison) -> str:
    """What no variant changes, to the digits shown; empty where there is nothing of the kind."""
    found = []
    for column in comparison.columns:
        if _same(comparison, column):
            head, texts = _column_cells(comparison, column)
            _, _, unit = head.partition("\n")
            found.append(f"{column.head} {texts[0]} {unit}".rstrip())
    return ", ".join(found)


def _same(comparison: Comparison, column: Column) -> bool:
    """Whether all rows show the same."""
    _, texts = _column_cells(comparison, column)
    return len(set(texts)) == 1


def _column_cells(comparison: Comparison, column: Column) -> tuple[str, list[str]]:
    """Head of two lines and one text for each row, all in one unit."""
    values = [row.values[column.name] for row in comparison.rows]
    sizes = [abs(value) for value in values if value is not None and not isinstance(value, bool)]
    factor, unit = shown_in(max(sizes, default=0.0), column.unit)
    return f"{column.head}\n{unit}", [_cell(value, factor) for value in values]


def _cell(value: Value, factor: float) -> str:
    if value is None:
        return _BLANK
    if isinstance(value, bool):
        return "yes" if value else "no"
    return readable(value * factor, "1")


def where(comparison: Comparison) -> str:
    """What front and back mean."""
    height = in_mm(comparison.height)
    return (
        f"front and back are on the axis {height} above the top face and {height} below the bottom face; "
        "ratios are to the same coil without cores"
    )


def cautions(comparison: Comparison) -> list[str]:
    """Each caution once, after the variants it is for unless it is for all."""
    whose: dict[str, list[str]] = {}
    for row in comparison.rows:
        for caution in row.cautions:
            whose.setdefault(caution, []).append(row.name)
    return [
        caution if len(names) == len(comparison.rows) else f"{', '.join(names)}: {caution}"
        for caution, names in whose.items()
    ]
