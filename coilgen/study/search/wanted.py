"""Figures that a search reads: single ones and cells of tables, and values told in their units."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilgen.catalogue import unknown
from coilgen.errors import DesignError, shown
from coilgen.job import quantities
from coilgen.result.figure import column_units
from coilgen.study.plan import single_figures
from coilgen.units import quantity

if TYPE_CHECKING:
    from coilgen.result.figure import Case

_PREFIXES = {"": 1.0, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}
_BODIES = tuple(f"coilgen.figures.{room}." for room in ("core", "in_place", "force"))
"""Rooms of figures that solve cores, target and magnet together."""
_SAME = 1e-9
"""m. Heights this close are one."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A figure, or the cell of a table that `steps` lead to; unit of its value.

    solves_bodies: cores or target must be solved for it, which takes some fifty times as long as the others.
    """

    name: str
    figure: str
    steps: tuple[str, ...]
    unit: str
    solves_bodies: bool

    def read(self, case: Case) -> float | None:
        """The value; None where the figure does not apply."""
        figure = case.figure(self.figure)
        if figure is None:
            return None
        return _cell(figure, self) if self.steps else float(figure.value)

    def band(self, case: Case) -> tuple[float, float] | None:
        """Where the value lies within tolerances; None where no band is known."""
        figure = case.figure(self.figure)
        return None if figure is None else figure.band


def wanted(name: str, key: str) -> Wanted:
    """The figure of a name such as `temperature` or `flux_density.top.2mm`; DesignError at a key."""
    figure, *steps = name.split(".")
    known = quantities()
    if figure not in known or known[figure].of == "several":
        raise DesignError.at(key, f"{shown(figure)} is no figure; {unknown(figure, single_figures())}")
    unit = known[figure].unit
    solves = known[figure].compute.__module__.startswith(_BODIES)
    if not unit.startswith("table("):
        if steps or figure not in single_figures():
            says = f"{name} is no single value; name a figure of one value, or a table's cell"
            raise DesignError.at(key, says)
        return Wanted(name=name, figure=figure, steps=(), unit=unit, solves_bodies=solves)
    units = column_units(unit)
    if not steps:
        cells = f"{figure}.{'.'.join(f'<{column}>' for column in units if column != figure)}"
        raise DesignError.at(key, f"{figure} is a table; name one of its cells, as {cells}")
    column = steps[-1] if steps[-1] in units and len(steps) > 1 else _main(figure, units)
    where = steps[:-1] if steps[-1] == column and len(steps) > 1 else steps
    return Wanted(name=name, figure=figure, steps=(*where, column), unit=units[column], solves_bodies=solves)


def _main(figure: str, units: Mapping[str, str]) -> str:
    """The column that a table is about: that of its name, else the first with a unit of its own."""
    alike = [column for column in units if column == figure or figure.endswith(column)]
    return alike[0] if alike else next(column for column in reversed([*units]) if units[column])


def _cell(figure: Any, asked: Wanted) -> float | None:
    *where, column = asked.steps
    units = column_units(figure.unit)
    rows = [row for row in figure.value if all(_matches(row, step, units) for step in where)]
    if len(rows) != 1:
        raise DesignError.at(
            f"optimize.limits.{asked.name}",
            f"{len(rows)} rows of {figure.name} match; name one of them, of a height that probe.heights has",
        )
    value = rows[0][column]
    return None if value is None else float(value)


def _matches(row: Mapping[str, Any], step: str, units: Mapping[str, str]) -> bool:
    """Whether a row has a word, or a length as `2mm`, in one of its columns."""
    if any(row[column] == step for column, unit in units.items() if not unit):
        return True
    try:
        length = quantity(step, "length")
    except ValueError:
        return False
    return any(abs(row[column] - length) < _SAME for column, unit in units.items() if unit == "m")


def value_in(told: object, unit: str, key: str) -> float | None:
    """A limit in a figure's unit: a bare number is in it, a string carries its own; DesignError at a key.

    >>> value_in("10 mN", "N", ""), value_in(80, "degC", ""), value_in("20 mm", "m", "")
    (0.01, 80.0, 0.02)
    """
    if told is None or isinstance(told, int | float):
        return None if told is None else float(told)
    number, written = _parts(str(told))
    if unit == "degC" and written in ("degC", "°C"):
        return number
    if unit == "1" and written in ("", "%"):
        return number / 100 if written else number
    base, scale = ("g", 1e-3) if unit == "kg" else (unit, 1.0)
    prefix = written.removesuffix(base)
    if not written.endswith(base) or prefix not in _PREFIXES or not math.isfinite(number):
        says = f"{shown(told)} is not in {unit}, the figure's unit; write a number, or one with that unit"
        raise DesignError.at(key, says)
    return float(f"{number * _PREFIXES[prefix] * scale:.15g}")


def _parts(told: str) -> tuple[float, str]:
    text = told.strip()
    for end in range(len(text), 0, -1):
        try:
            return float(text[:end]), text[end:].strip()
        except ValueError:
            continue
    return math.nan, text
