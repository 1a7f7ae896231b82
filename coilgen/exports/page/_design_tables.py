"""The design as resolved, in the units people write."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any, get_args

from pydantic import BaseModel

from coilgen.design.design import Design
from coilgen.design.keys import OneOrTwo, Quantity, Series
from coilgen.design.optimizing import Search
from coilgen.design.placing import OVER_THE_DESIGNS, PlacedWinding
from coilgen.result.figure_text import is_number
from coilgen.units import written

Rows = list[tuple[str, str]]

_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "density": "kg/m³",
        "resistivity": "Ω·m",
        "heat_conductivity": "W/(m·K)",
        "heat_capacity": "J/(kg·K)",
        "field_strength": "A/m",
        "contact_resistance": "m²·K/W",
        "forced_convection": "W/(m²·K)",
    }
)
"""Units of keys that are plain numbers in a design file."""

_MOST_SHOWN = 12


def design_rows(design: Design) -> Iterator[tuple[str, Rows]]:
    """Tables of the design by name, each with its keys and values as written in a design file.

    Of variants the names alone, of what a sweep varies the number of values.
    """
    for name in type(design).model_fields:
        table = getattr(design, name)
        if name == "variant":
            if table:
                yield "variants", [(str(count), each.name) for count, each in enumerate(table, 1)]
        elif name == "sweep":
            if table:
                yield "sweep", [(axis.key, f"{len(axis.choices)} values") for axis in table]
        elif name == "optimize":
            if table is not None:
                yield "optimize", _search_rows(table)
        elif name == "winding" and design.windings:
            for count, each in enumerate(design.windings, 1):
                yield from _winding_rows(f"winding {count}", each)
        elif isinstance(table, BaseModel):
            yield from _table_rows(name, table)
        elif isinstance(table, tuple):
            for count, member in enumerate(table, 1):
                yield from _table_rows(f"{name} {count}", member)


def _search_rows(search: Search) -> Rows:
    """What is sought, what varies, and how many limits there are."""
    goals = [(goal.sense, goal.figure) for goal in search.goals]
    varied = [("varies", axis.key) for axis in search.axes]
    return [*goals, *varied, *(("limit", limit.name) for limit in search.limits)]


def _winding_rows(name: str, placed: PlacedWinding) -> Iterator[tuple[str, Rows]]:
    """One of several windings: its place, its numbers, its own tables."""
    ((_, numbers),) = _table_rows(name, placed.design.winding)
    place = [
        ("name", placed.name),
        ("copper_layers", _written(placed.copper_layers, None)),
        ("centre", _written((placed.centre.real, placed.centre.imag), "length")),
        ("rotation", written(placed.rotation, "rotation")),
    ]
    yield name, [*place, *(row for row in numbers if row[0] != "layers")]
    for key in OVER_THE_DESIGNS:
        table = getattr(placed.design, key)
        if table is not None:
            yield from _table_rows(f"{name}.{key}", table)


def _table_rows(name: str, table: BaseModel) -> Iterator[tuple[str, Rows]]:
    fields = type(table).model_fields
    values = {key: getattr(table, key) for key in fields}
    yield (
        name,
        [
            (key, f"{_written(value, _kind(fields[key]))} {_UNITS.get(key, '')}".rstrip())
            for key, value in values.items()
            if not isinstance(value, BaseModel) and value not in (None, "", ()) and not _idle(key, values)
        ],
    )
    for key, value in values.items():
        if isinstance(value, BaseModel):
            yield from _table_rows(f"{name}.{key}", value)


def _idle(key: str, values: Mapping[str, Any]) -> bool:
    """A value that another one of its table stands for."""
    if key == "contact":
        return values.get("contact_resistance") is not None
    return key == "like" and values["like"] == values["name"]


def _kind(field: Any) -> str | None:
    """Dimension of a field that holds quantities."""
    marks = [*field.metadata, *(mark for part in get_args(field.annotation) for mark in get_args(part)[1:])]
    for mark in marks:
        if isinstance(mark, Quantity):
            return mark.dimension
        if isinstance(mark, Series | OneOrTwo):
            return mark.of.dimension
    return None


def _written(value: Any, dimension: str | None) -> str:
    if isinstance(value, list | tuple):
        told = [_written(each, dimension) for each in value]
        if len(told) > _MOST_SHOWN:
            told = [*told[: _MOST_SHOWN - 2], "…", told[-1]]
        return ", ".join(told)
    if isinstance(value, bool):
        return str(value).lower()
    return written(value, dimension) if dimension and is_number(value) else str(value)
