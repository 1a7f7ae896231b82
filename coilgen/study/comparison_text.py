"""A comparison as text: a table for people, CSV and JSON for programs."""

import json

from coilgen import __version__
from coilgen.result.csv_table import csv_table
from coilgen.study.compare import Comparison, Row
from coilgen.study.comparison_columns import Column, Value
from coilgen.units import in_mm, readable, shown_in

_BLANK = "–"
BEST = "*"
"""Behind the best value of a column."""
_NOTHING = 1e-9
"""Of a column's largest size: what is left where fields cancel."""

Cells = tuple[str, ...]


def csv_text(comparison: Comparison) -> str:
    """One row for each variant, SI, blank where a value does not apply."""
    heads = ("variant", *(_csv_head(column) for column in comparison.columns), "cannot", "cautions")
    rows = [
        (
            row.name,
            *(_csv_cell(row.values[column.name]) for column in comparison.columns),
            "; ".join(row.cannot),
            " ".join(row.cautions),
        )
        for row in comparison.rows
    ]
    return csv_table([heads, *rows])


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
        "best": {column: list(names) for column, names in comparison.best.items()},
        "variants": [_json_row(row) for row in comparison.rows],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _json_row(row: Row) -> dict[str, object]:
    return {
        "name": row.name,
        "values": dict(row.values),
        "cannot": list(row.cannot),
        "cautions": list(row.cautions),
    }


def cells(comparison: Comparison) -> tuple[Cells, list[Cells]]:
    """Heads of three lines, name, name, unit, and rows of what is not the same for all."""
    columns = [column for column in comparison.columns if not _same(comparison, column)]
    heads, texts = [_head("variant", "")], [[row.name for row in comparison.rows]]
    for column in columns:
        unit, own = _column_cells(comparison, column)
        best = comparison.best.get(column.name, ())
        heads.append(_head(column.head, unit))
        texts.append(
            [_marked(text, row.name in best) for text, row in zip(own, comparison.rows, strict=True)]
        )
    return tuple(heads), [*zip(*texts, strict=True)]


def _marked(text: str, best: bool) -> str:
    return f"{text}{BEST}" if best else text


def verdicts(comparison: Comparison) -> list[tuple[str, str]]:
    """What single variants cannot do: name and sentence."""
    return [(row.name, says) for row in comparison.rows for says in row.cannot]


def _head(name: str, unit: str) -> str:
    first, _, second = name.partition(" ")
    return f"{first}\n{second}\n{unit}"


def same_for_all(comparison: Comparison) -> str:
    """What no variant changes, to the digits shown; empty where there is nothing of the kind."""
    found = []
    for column in comparison.columns:
        if _same(comparison, column):
            unit, texts = _column_cells(comparison, column)
            found.append(f"{column.head} {texts[0]} {unit}".rstrip())
    return ", ".join(found)


def _same(comparison: Comparison, column: Column) -> bool:
    """Whether all rows show the same."""
    _, texts = _column_cells(comparison, column)
    return len(set(texts)) == 1


def _column_cells(comparison: Comparison, column: Column) -> tuple[str, list[str]]:
    """The unit, one for all rows, and a text for each row."""
    values = [row.values[column.name] for row in comparison.rows]
    sizes = [abs(value) for value in values if value is not None and not isinstance(value, bool)]
    largest = max(sizes, default=0.0)
    factor, unit = shown_in(largest, column.unit)
    texts = [_cell(value, factor, _NOTHING * largest) for value in values]
    return unit if column.unit not in ("", "1") else "", texts


def _cell(value: Value, factor: float, nothing: float) -> str:
    """nothing: sizes up to that are rounding, as of fields that cancel."""
    if value is None:
        return _BLANK
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "0" if abs(value) <= nothing else readable(value * factor, "1")


def where(comparison: Comparison) -> str:
    """What front, back and the ratios mean, where there are any."""
    told = (
        f"front and back: on the axis, {in_mm(comparison.height)} from the outermost face on the top and on "
        "the bottom"
    )
    ratios = any(column.name.startswith("ratio") for column in comparison.columns)
    return f"{told}; ratio: to the coil without cores at the same place" if ratios else told


def common_cautions(comparison: Comparison) -> list[str]:
    """What all rows caution against, each once."""
    first, *others = comparison.rows
    return [caution for caution in first.cautions if all(caution in row.cautions for row in others)]


def single_cautions(comparison: Comparison) -> int:
    """How many cautions are for some of the rows only."""
    told = {caution for row in comparison.rows for caution in row.cautions}
    return len(told) - len(common_cautions(comparison))
