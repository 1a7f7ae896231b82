"""A sweep: a design with keys varied over all combinations of their values, and its figures as columns."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from coilgen.frozen import dataclass
from coilgen.study.sweep_block import Row
from coilgen.study.sweep_rows import rows

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.plan import Plan

Columns = Mapping[str, Any]
_SHOWN = 20
"""Rows of a table in a notebook."""


@dataclass(frozen=True, kw_only=True, repr=False)
class Sweep(Mapping[str, Any]):
    """Columns by name: the keys varied, `status`, `exact`, the figures. Arrays (n,) in order of the rows.

    Figures are in their JSON units, nan where one does not apply or the combination cannot be built; keys
    are in the unit of a bare number in the design file.
    """

    plan: Plan
    rows: tuple[Row, ...]
    columns: Columns
    units: Mapping[str, str]

    def __getitem__(self, name: str) -> Any:
        return self.columns[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.columns)

    def __len__(self) -> int:
        return len(self.columns)

    def __repr__(self) -> str:
        return f"<Sweep of {self.plan.design.name}: {len(self.rows)} rows; {', '.join(self.columns)}>"

    def _repr_html_(self) -> str:
        """A table of the first rows, in a notebook."""
        lines = [[*self], *([_cell(self[name][k]) for name in self] for k in range(len(self.rows))[:_SHOWN])]
        cells = ("".join(f"<td>{html.escape(cell)}</td>" for cell in line) for line in lines)
        return f"<table>{''.join(f'<tr>{line}</tr>' for line in cells)}</table>"


def _cell(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def sweep(
    design: Design,
    vary: Mapping[str, object] | None = None,
    figures: Iterable[str] | None = None,
    *,
    workers: int = 1,
    cluster: str | None = None,
    screen: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Sweep:
    """Every combination of the values that keys take, with its figures.

    vary: dotted keys, each with a list or array of values, or {"from": a, "to": b, "step": c}; left out, the
    design's own [sweep] table. figures: names, those a designer looks at first when left out; `rules_broken`
    counts as one. workers: processes; more than one start afresh, so a script that asks for them must be
    guarded by `if __name__ == "__main__"`. cluster: address of a dask scheduler in their place. The rows are
    the same whoever computes them. screen: fast figures where they will do, as `exact` tells of each row; see
    `coilgen.study.screen.screen`. progress: called with the number of finished rows and of all rows.

    DesignError with every fault of keys, values and figures.
    """
    from coilgen.study.plan import plan

    asked = plan(design, vary, figures, screened=screen)
    found: list[Row] = []
    for block in rows(asked, range(asked.count), workers=workers, cluster=cluster):
        found += block
        if progress is not None:
            progress(len(found), asked.count)
    return swept(asked, found)


def swept(asked: Plan, found: Iterable[Row]) -> Sweep:
    """Rows in their order, as columns."""
    ordered = tuple(sorted(found, key=lambda row: row.number))
    columns, units = _columns(asked, ordered)
    return Sweep(plan=asked, rows=ordered, columns=columns, units=units)


def _columns(asked: Plan, ordered: tuple[Row, ...]) -> tuple[dict[str, Any], dict[str, str]]:
    import numpy as np

    from coilgen.study.plan import told_of

    columns: dict[str, Any] = {}
    chosen = [asked.choices(row.number) for row in ordered]
    for place, axis in enumerate(asked.axes):
        values = [choices[place] for choices in chosen]
        columns[axis.key] = np.array(values, float) if axis.numeric else _objects(values)
    columns["status"] = _objects([row.status for row in ordered])
    columns["exact"] = np.array([row.exact for row in ordered], bool)
    for place, name in enumerate(asked.figures):
        columns[name] = np.array([row.values[place] for row in ordered], float)
    units = {axis.key: axis.unit for axis in asked.axes}
    units |= {name: told_of(name)[1] for name in asked.figures}
    return columns, units


def _objects(values: list[Any]) -> Any:
    import numpy as np

    column = np.empty(len(values), object)
    column[:] = values
    return column
