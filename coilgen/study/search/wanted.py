"""Figures that a search reads: single ones, those of one of several windings, one value of many."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.catalogue import unknown
from coilgen.errors import DesignError, shown
from coilgen.frozen import dataclass
from coilgen.job import quantities
from coilgen.result.columns import column_units
from coilgen.result.figure import OF_BOARD, OF_BOARD_OF_ONE
from coilgen.study.plan import single_figures
from coilgen.study.search.one_value import cell_steps, value_at
from coilgen.study.windings import LISTS, OF_WINDINGS, SQUARES, Cell, fault_of

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.result.figure import Case, Quantity

_BODIES = tuple(f"coilgen.figures.{room}." for room in ("core", "in_place", "force"))
"""Rooms of figures that solve cores, target and magnet together."""
_QUICK = ("winding_resistances", "phase_resistance", "line_resistance", "copper_mass", "power")
"""Figures of a board of several windings that take no field and no heat."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A figure, of the board or of one of several windings, and its unit. key: where it is asked for.

    steps: to the cell of a table, or the labels that a list or matrix gives its values. side: where a list is
    meant as a whole, which of its values counts: the largest (1) or the least (-1). ends: columns that tell
    where a cell lies within tolerances.
    """

    name: str
    key: str
    figure: str
    unit: str
    steps: tuple[str, ...] = ()
    side: int = 0
    winding: Cell | None = None
    ends: tuple[str, str] | None = None

    @property
    def has_band(self) -> bool:
        """Whether tolerances may be known: of figures of one value, and of columns with both ends beside."""
        return self.ends is not None or (not self.steps and not self.side)

    def is_slow(self, case: Case) -> bool:
        """Whether it takes some ten times as long as figures of copper alone.

        Cores or target must be solved for it; of several windings fields, heat or what passes them.
        """
        if self.winding is not None:
            return self.figure == "temperature"
        if case.windings:
            return self.figure not in _QUICK
        module = quantities()[self.figure].compute.__module__
        return bool(case.design.core or case.design.target) and module.startswith(_BODIES)

    def read(self, case: Case) -> float | None:
        """The value; None where the figure does not apply."""
        if self.winding is not None:
            return self.winding.read(case)
        figure = case.figure(self.figure)
        if figure is None:
            return None
        if self.side:
            return float((max if self.side > 0 else min)(figure.value))
        return value_at(figure, self.steps, self.key)

    def band(self, case: Case) -> tuple[float, float] | None:
        """Where the value lies within tolerances; None where no band is known."""
        if self.winding is not None:
            return self.winding.band(case)
        figure = case.figure(self.figure)
        if figure is None or not self.has_band:
            return None
        if self.ends is None:
            return figure.band
        low, high = (value_at(figure, (*self.steps[:-1], end), self.key) for end in self.ends)
        return None if low is None or high is None else (low, high)


def wanted(name: str, key: str, design: Design, side: int) -> Wanted:
    """The figure of a name such as `temperature`, `flux_density.top.2mm` or `windings.left.inductance`.

    side: which of several values is the worst, where a list is meant as a whole: the largest (1) or the least
    (-1). DesignError at a key.
    """
    figure, *steps = name.split(".")
    if figure == OF_WINDINGS:
        return _of_winding(name, steps, key, design)
    known = quantities()
    if figure not in known:
        raise DesignError.at(key, f"{shown(figure)} is no figure; {unknown(figure, single_figures(design))}")
    asked = known[figure]
    _refuse_of_other_boards(asked, key, design)
    if asked.unit.startswith("table("):
        return _of_table(name, asked, steps, key)
    if figure in SQUARES or figure in LISTS:
        return _of_list(name, asked, steps, key, design, side)
    if steps:
        raise DesignError.at(key, f"{figure} is one value; leave out {shown('.'.join(steps))}")
    return Wanted(name=name, key=key, figure=figure, unit=_unit(asked, design))


def _refuse_of_other_boards(asked: Quantity, key: str, design: Design) -> None:
    """What is told of boards of one winding only, or of those of several."""
    if asked.of in (OF_BOARD if design.windings else OF_BOARD_OF_ONE):
        return
    if not design.windings:
        says = f"{asked.name} is told of several windings; this board has one"
    elif asked.of == "each":
        says = (
            f"{asked.name} is of one winding; write such as windings.{design.windings[0].name}.{asked.name}"
        )
    else:
        says = f"{asked.name} is told of boards of one winding; this one has {len(design.windings)}"
    raise DesignError.at(key, says)


def _of_winding(name: str, steps: list[str], key: str, design: Design) -> Wanted:
    if len(steps) != 2:
        raise DesignError.at(key, f"{shown(name)} is no figure; write such as windings.left.inductance")
    asked = Cell(winding=steps[0], figure=steps[1])
    says = fault_of(asked, design)
    if says is not None:
        raise DesignError.at(key, says)
    return Wanted(name=name, key=key, figure=asked.figure, unit=asked.unit, winding=asked)


def _of_table(name: str, asked: Quantity, steps: list[str], key: str) -> Wanted:
    units = column_units(asked.unit)
    found = cell_steps(asked.name, units, steps, key)
    ends = f"{found[-1]}_low", f"{found[-1]}_high"
    return Wanted(
        name=name,
        key=key,
        figure=asked.name,
        unit=units[found[-1]],
        steps=found,
        ends=ends if set(ends) <= set(units) else None,
    )


def _of_list(name: str, asked: Quantity, steps: list[str], key: str, design: Design, side: int) -> Wanted:
    """A value of a matrix or list by its labels, or a whole list by its worst value."""
    count = 2 if asked.name in SQUARES else 1
    if len(steps) not in ({2} if count == 2 else {0, 1}):
        one, other = ([each.name for each in design.windings] or ["1", "2"])[:2]
        such = f"{asked.name}.{one}.{other}" if count == 2 else f"{asked.name}, or one of its values"
        raise DesignError.at(key, f"{shown(name)} names no single value; write such as {such}")
    return Wanted(
        name=name,
        key=key,
        figure=asked.name,
        unit=_unit(asked, design),
        steps=tuple(steps),
        side=0 if steps else side,
    )


def _unit(asked: Quantity, design: Design) -> str:
    """Of a mover's voltages it hangs on whether it turns or slides."""
    turning = design.mover is None or design.mover.arrangement == "ring"
    return asked.unit if turning else asked.unit.replace("V s/rad", "V s/m")
