"""One value of a figure that holds many: a table's cell by row and column, a list's or matrix's by labels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from coilgen.errors import DesignError, shown
from coilgen.result.columns import column_units
from coilgen.study.search.value_told import number_in

if TYPE_CHECKING:
    from coilgen.result.figure import Figure

_SAME = 1e-9
"""Of a number: rows whose numbers differ by less are one."""
_MANY = 24
"""Rows of a table from which on they are not all named."""


class NoSuchValueError(DesignError):
    """A value that a table or list does not have, in whatever design."""


def cell_steps(figure: str, units: Mapping[str, str], steps: Sequence[str], key: str) -> tuple[str, ...]:
    """Steps to a table's cell, with its column last, from such as top, 2mm; DesignError at a key."""
    values = [column for column in units if column not in _naming(units)]
    where = [*_rejoined(steps)]
    if where and where[-1] in units:
        return tuple(where)
    column = _main(figure, values)
    if where and column is not None:
        return (*where, column)
    rows = ".".join(f"<{column}>" for column in _naming(units))
    such = f"{figure}.{rows}" + ("" if column is not None else f".{values[0]}")
    raise DesignError.at(
        key, f"{figure} is a table; name one of its cells, as {such}; columns are {', '.join(values)}"
    )


def _naming(units: Mapping[str, str]) -> list[str]:
    """Columns that name a row: those of words, and the first of numbers."""
    words = [column for column, unit in units.items() if not unit]
    return [*words, *[column for column, unit in units.items() if unit][: 0 if len(words) > 1 else 1]]


def _rejoined(steps: Sequence[str]) -> Iterator[str]:
    """A number's places after its point belong to it: 0.5mm is one step."""
    left = [*steps]
    while left:
        step = left.pop(0)
        if step.isdecimal() and left and left[0][:1].isdecimal():
            step = f"{step}.{left.pop(0)}"
        yield step


def _main(figure: str, values: Sequence[str]) -> str | None:
    """The column that a table is about: the only one, or that of its name."""
    if len(values) == 1:
        return values[0]
    name = figure.removesuffix("s")
    alike = [each for each in values if name.endswith(each) or name.startswith(f"{each}_")]
    return alike[0] if alike else None


def value_at(figure: Figure, steps: Sequence[str], key: str) -> float | None:
    """A figure's one value, or the one that steps lead to; NoSuchValueError at a key."""
    if figure.unit.startswith("table("):
        return _cell(figure, steps, key)
    inside: Any = figure.value
    labels = figure.labels or tuple(str(k) for k in range(1, len(inside) + 1)) if steps else ()
    for step in steps:
        if step not in labels:
            says = f"{figure.name} has no {shown(step)}; it has {', '.join(labels)}"
            raise NoSuchValueError.at(key, says)
        inside = inside[labels.index(step)]
    return float(inside)


def _cell(figure: Figure, steps: Sequence[str], key: str) -> float | None:
    *where, column = steps
    units = column_units(figure.unit)
    rows = [row for row in figure.value if all(_names(row, step, units) for step in where)]
    if len(rows) != 1:
        says = f"{len(rows) or 'no'} rows of {figure.name} match {shown(' '.join(where))}; name one of them"
        raise NoSuchValueError.at(key, f"{says}{_named_rows(figure, units)}")
    value = rows[0][column]
    if isinstance(value, str):
        raise NoSuchValueError.at(key, f"{column} of {figure.name} tells words; name a column of numbers")
    return None if value is None else float(value)


def _names(row: Mapping[str, Any], step: str, units: Mapping[str, str]) -> bool:
    """Whether a step is what a row has in one of the columns that name it."""
    for column in _naming(units):
        number = number_in(step, units[column]) if units[column] else None
        if row[column] == step or (number is not None and abs(row[column] - number) <= _SAME * abs(number)):
            return True
    return False


def _named_rows(figure: Figure, units: Mapping[str, str]) -> str:
    """What the columns hold that name rows, where they are few."""
    told = []
    for column in _naming(units):
        values = dict.fromkeys(row[column] for row in figure.value)
        if len(values) <= _MANY:
            told.append(f"; {column} is {', '.join(_as_step(value, units[column]) for value in values)}")
    return "".join(told)


def _as_step(value: Any, unit: str) -> str:
    """A row's number or word as a key names it."""
    if not unit:
        return str(value)
    return f"{1e3 * value:.6g}mm" if unit == "m" else f"{value:.6g}{unit}"
