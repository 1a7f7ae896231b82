"""The design as resolved, in the units people write."""

from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

from coilgen.design import Design
from coilgen.fields import Quantity, Series
from coilgen.figure_text import is_number
from coilgen.units import written


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
