"""Rows of a sweep as lines of CSV, and lines read back."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

from coilgen.errors import DesignError
from coilgen.result.csv_table import csv_table
from coilgen.study.sweep_block import Row

if TYPE_CHECKING:
    from coilgen.design.sweeping import Choice
    from coilgen.study.plan import Plan

OF_DESIGN = "design"
"""Last column: the sweep's identity, so that rows of a changed design are not taken for its own."""
NOT_BUILT = "that cannot be built"
"""Of the rows that `summary` counts."""


def head(plan: Plan) -> str:
    """Names of the columns."""
    keys = [axis.key for axis in plan.axes]
    return csv_table([["row", *keys, "status", "exact", *plan.figures, OF_DESIGN]])


def lines(plan: Plan, rows: Iterable[Row]) -> str:
    """A line for each row: figures in their JSON units, blank where there is none, rows counted from 1."""
    return csv_table(
        [
            str(row.number + 1),
            *(choice_text(choice) for choice in plan.choices(row.number)),
            row.status,
            "true" if row.exact else "false",
            *("" if value is None else repr(value) for value in row.values),
            plan.identity,
        ]
        for row in rows
    )


def choice_text(choice: Choice) -> str:
    """A value of a key: a number in the key's own unit, "false" where it is left out, JSON for a table.

    >>> choice_text(0.15), choice_text("round"), choice_text(None), choice_text([1, 2])
    ('0.15', 'round', 'false', '[1, 2]')
    """
    if choice is None:
        return "false"
    if isinstance(choice, str):
        return choice
    return f"{choice:.12g}" if isinstance(choice, int | float) else json.dumps(choice, sort_keys=True)


def rows_in(plan: Plan, text: str, name: str) -> list[Row]:
    """The rows of a file of this sweep that a run has left; a line it was cut off in does not count.

    DesignError for a file of another sweep, or one that is none.
    """
    whole, _, _ = text.rpartition("\n")
    if not whole:
        return []
    first, _, rest = f"{whole}\n".partition("\n")
    if f"{first}\n" != head(plan):
        raise _other(name, "has other columns")
    return [_row(plan, cells, name) for cells in csv.reader(rest.splitlines())]


def _row(plan: Plan, cells: list[str], name: str) -> Row:
    expected = len(plan.axes) + len(plan.figures) + 4
    if len(cells) != expected or not cells[0].isdecimal() or not 0 < int(cells[0]) <= plan.count:
        raise _other(name, "holds a line that is no row of this sweep")
    if cells[-1] != plan.identity:
        raise _other(name, "holds rows of another design, or of another version of coilgen")
    status, exact, *values = cells[1 + len(plan.axes) : -1]
    return Row(
        number=int(cells[0]) - 1,
        status=status,
        exact=exact == "true",
        values=tuple(None if value == "" else float(value) for value in values),
    )


def _other(name: str, says: str) -> DesignError:
    return DesignError.at(name, f"{says}, other values or other figures than are asked for now; "
                                "name another file, or move this one away")  # fmt: skip


def summary(plan: Plan, rows: Iterable[Row]) -> dict[str, int]:
    """How many rows there are of each kind: built, without a broken rule, not built."""
    from coilgen.study.evaluator import RULES_BROKEN
    from coilgen.study.sweep_block import OK

    rows = [*rows]
    built = [row for row in rows if row.status == OK]
    found = {"rows": len(rows), NOT_BUILT: len(rows) - len(built)}
    if RULES_BROKEN in plan.figures:
        place = plan.figures.index(RULES_BROKEN)
        found["that break a rule"] = sum(bool(row.values[place]) for row in built)
    return found
