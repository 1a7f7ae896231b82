"""Figures as people read them: a value with its unit, its band, tables and matrices as cells."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from coilgen.result.columns import column_units
from coilgen.result.figure import Figure
from coilgen.units import readable

GROUPS = ("winding", "electrical", "drive", "field", "core", "force", "heat")
"""Groups of figures in the order they are shown."""

KEY_FIGURES = (
    "torque_constant",
    "thrust_constant",
    "line_resistance",
    "line_inductance",
    "line_inductance_in_place",
    "no_load_speed",
    "stall_torque",
    "stall_force",
    "torque_ripple",
    "cogging_torque",
    "cogging_force",
    "additional_cogging_torque",
    "additional_cogging_force",
    "mover_attraction",
    "resistance_20c",
    "winding_resistances",
    "inductance",
    "core_inductance",
    "inductance_in_place",
    "drive_quality",
    "current",
    "power",
    "temperature",
    "pulse_temperature",
    "largest_current",
    "pulse_limit",
    "duty_limit",
    "force_on_magnet",
    "force_at_rest",
    "force_constant",
    "pull_on_target",
    "holding_current",
    "moment",
    "turns_total",
)
"""What a designer looks at first."""

_TELLS_NOTHING = {"force_at_rest": 0.0, "duty_limit": 1.0}
"""Values of key figures: nothing draws the magnet, the drive may stay on."""


def key_figures(figures: Mapping[str, Figure], names: Sequence[str] = KEY_FIGURES) -> list[Figure]:
    """Those of the names that there are and that are asked for here, but for values that tell nothing."""
    found = [figures[name] for name in names if name in figures and figures[name].key]
    return [figure for figure in found if figure.value != _TELLS_NOTHING.get(figure.name)]


def is_number(value: object) -> bool:
    """Whether a figure has a single value."""
    return isinstance(value, int | float)


def value_text(figure: Figure) -> str:
    """A single value with its unit; of several of one kind, as between terminals, the least and the most."""
    if is_number(figure.value):
        return readable(figure.value, figure.unit)
    low, high = (readable(end, figure.unit) for end in (min(figure.value), max(figure.value)))
    return low if low == high else f"{low} to {high}"


def band_text(figure: Figure) -> str:
    """Both ends with their unit, or half their distance where it is too small for the digits shown."""
    if figure.band is None:
        return ""
    low, high = (readable(end, figure.unit) for end in figure.band)
    if low == high:
        half = (figure.band[1] - figure.band[0]) / 2
        if figure.unit == "degC":
            return f"± {half:.1g} K"
        return f"± {100 * half / abs(figure.value or 1.0):.1g} %"
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


LARGEST_CAUSES = 2
"""Of a band, that are told beside it."""


def causes_text(figure: Figure) -> str:
    """What a band mostly comes from, the largest cause first; one under a tenth of the first is left out."""
    return ", ".join(_cause(source) for source, _, _ in _largest(figure, LARGEST_CAUSES))


def cause_shifts(figure: Figure, count: int) -> list[str]:
    """The same of more causes, each with how far it takes the value: in parts of its size, temperatures in K.

    A value of zero has its causes in its own unit.
    """
    return [f"{_cause(source)} {_shift(figure, low, high)}" for source, low, high in _largest(figure, count)]


def _largest(figure: Figure, count: int) -> list[tuple[str, float, float]]:
    causes = figure.contributions[:count]
    return [each for each in causes if each[2] - each[1] > (causes[0][2] - causes[0][1]) / 10]


def _cause(source: str) -> str:
    return source.partition(" of ")[0] if source.startswith("model") else source


def _shift(figure: Figure, low: float, high: float) -> str:
    if figure.unit == "degC":
        scale, unit = 1.0, " K"
    elif figure.value:
        scale, unit = 100 / figure.value, " %"
    else:
        return f"{readable(low, figure.unit, 2)} to {readable(high, figure.unit, 2)}"
    down, up = (f"{abs(end):.2g}" for end in sorted((scale * low, scale * high)))
    return f"± {up}{unit}" if down == up else f"-{down} to +{up}{unit}"


def cells(figure: Figure, digits: int = 3) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Heads and rows of a figure with many values: a table's columns, or a list or matrix by its labels."""
    rows: Sequence[Any] = figure.value
    if isinstance(rows[0], Mapping):
        return _columns(rows, figure.unit, digits)
    least = _least(value for row in rows for value in (row if isinstance(row, list | tuple) else [row]))
    names = figure.labels or tuple(f"L{k}" for k in range(1, len(rows) + 1))
    matrix = isinstance(rows[0], list | tuple)
    listed = rows if matrix else [[row] for row in rows]
    return ("", *(names if matrix else names[:1] if not figure.labels else (figure.name,))), [
        (name, *(readable(_rounded(value, least), figure.unit, digits) for value in row))
        for name, row in zip(names, listed, strict=True)
    ]


def _columns(
    rows: Sequence[Mapping[str, Any]], unit: str, digits: int
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Where each row tells the unit of its own value, that column goes into the value."""
    units = column_units(unit)
    columns = tuple(column for column in rows[0] if column != "unit")

    def unit_of(row: Mapping[str, Any], column: str) -> str:
        return units.get(column) or row.get("unit", "1")

    def least(of: str, column: str) -> float:
        alike = [row for row in rows if unit_of(row, column) == of]
        return _least(row[each] for row in alike for each in _beside(column, columns))

    found = {(unit_of(row, column), column) for row in rows for column in columns}
    least_of = {each: least(*each) for each in found}
    return columns, [
        tuple(
            _cell(row[column], of := unit_of(row, column), digits, least_of[of, column]) for column in columns
        )
        for row in rows
    ]


def _beside(column: str, columns: Sequence[str]) -> Sequence[str]:
    """Columns whose values a column's are told beside: the parts of a vector together."""
    return _PARTS if column in _PARTS and set(_PARTS) <= set(columns) else (column,)


_PARTS = ("x", "y", "z")
_NOISE = 1e-12
"""Of the largest value beside it: what is less is rounding of the arithmetic."""


def _least(values: Iterable[Any]) -> float:
    """What is told of values that stand under one another, in size; smaller ones are nothing."""
    return _NOISE * max((abs(value) for value in values if is_number(value)), default=0.0)


def _rounded(value: float, least: float) -> float:
    return value if abs(value) > least else 0.0


def _cell(value: Any, unit: str, digits: int, least: float) -> str:
    if value is None:
        return "–"
    if is_number(value) and not isinstance(value, bool):
        return readable(_rounded(value, least), unit, digits)
    return str(value)
