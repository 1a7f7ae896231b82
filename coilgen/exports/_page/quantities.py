"""Values as the page shows them: figures, tables, and the design in the units people write."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel

from coilgen.design import Design
from coilgen.fields import Quantity, Series
from coilgen.figure import Figure
from coilgen.units import readable, written


def is_number(value: object) -> bool:
    """Whether a figure has a single value."""
    return isinstance(value, int | float)


def figure_value(figure: Figure) -> str:
    """With its unit."""
    return readable(figure.value, figure.unit)


def figure_band(figure: Figure) -> str:
    """Both ends, or half their distance where it is too small for the digits shown; empty for none."""
    if figure.band is None:
        return ""
    low, high = (readable(end, figure.unit) for end in figure.band)
    if low == high:
        half = (figure.band[1] - figure.band[0]) / 2 / abs(figure.value or 1.0)
        return f"± {100 * half:.1g} %"
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def table_cells(figure: Figure) -> tuple[tuple[str, ...], list[list[str]]]:
    """Heads and rows of a figure with many values: a table's columns, or a matrix by layer."""
    rows: Sequence[Any] = figure.value
    if isinstance(rows[0], Mapping):
        units = _column_units(figure.unit)
        heads = tuple(name.replace("_", " ") for name in rows[0])
        return heads, [[_cell(value, units.get(name, "1")) for name, value in row.items()] for row in rows]
    listed = [row if isinstance(row, list | tuple) else [row] for row in rows]
    heads = tuple(str(count) for count in range(1, len(listed[0]) + 1))
    return heads, [[_cell(value, figure.unit) for value in row] for row in listed]


def _column_units(unit: str) -> dict[str, str]:
    """Units of a table's columns, from the unit of its figure: table(height m, flux_density T)."""
    inside = unit.removeprefix("table(").removesuffix(")")
    columns = (column.strip().partition(" ") for column in inside.split(","))
    return {name: told or "1" for name, _, told in columns}


def _cell(value: Any, unit: str) -> str:
    if value is None:
        return "–"
    return readable(value, unit, 4) if is_number(value) and not isinstance(value, bool) else str(value)


def design_rows(design: Design) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Tables of the design by name, each with its keys and values as written in a design file."""
    for name in type(design).model_fields:
        table = getattr(design, name)
        if isinstance(table, BaseModel):
            yield from _table_rows(name, table)
        elif isinstance(table, tuple):
            for count, member in enumerate(table, 1):
                if isinstance(member, BaseModel):
                    yield from _table_rows(f"{name} {count}", member)


def _table_rows(name: str, table: BaseModel) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    fields = type(table).model_fields
    values = {key: getattr(table, key) for key in fields}
    yield (
        name,
        [
            (key, _written(value, _kind(fields[key])))
            for key, value in values.items()
            if not isinstance(value, BaseModel) and value is not None and value != ""
        ],
    )
    for key, value in values.items():
        if isinstance(value, BaseModel):
            yield from _table_rows(f"{name}.{key}", value)


def _kind(field: Any) -> str | None:
    """Dimension of a field that holds quantities."""
    marks = [*field.metadata, *(mark for part in get_args(field.annotation) for mark in get_args(part)[1:])]
    for mark in marks:
        if isinstance(mark, Quantity):
            return mark.dimension
        if isinstance(mark, Series):
            return mark.of.dimension
    return None


def _written(value: Any, dimension: str | None) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_written(each, dimension) for each in value)
    if isinstance(value, bool):
        return str(value).lower()
    return written(value, dimension) if dimension and is_number(value) else str(value)
