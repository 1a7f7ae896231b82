"""Values of boards of several windings that stand in a row: of one winding, and between two."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import TYPE_CHECKING, Any

from coilgen.errors import shown
from coilgen.frozen import dataclass

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.result.figure import Case, Quantity

OF_WINDINGS = "windings"
"""First step of a winding's own figure, as in `windings.left.inductance`."""
BETWEEN = ("inductance_matrix", "coupling", "inductance_matrix_in_place", "coupling_in_place")
"""Matrices whose cells two windings name, as in `coupling.left.right`."""
OF_LAYERS = ("layer_inductances", "layer_coupling")
"""Matrices of a winding's copper layers."""
SQUARES = (*BETWEEN, *OF_LAYERS, "phase_inductance_matrix", "phase_inductance_matrix_in_place")
"""All figures whose value is a matrix."""
LISTS = (
    "winding_resistances",
    "phase_resistance",
    "line_resistance",
    "line_inductance",
    "line_inductance_in_place",
)
"""Figures whose value is a list, of windings, phases or pairs of terminals."""
_TEMPERATURE = "temperature"


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A figure of one winding (`other` left out), or what a matrix tells of two."""

    figure: str
    winding: str
    other: str = ""

    @property
    def unit(self) -> str:
        """Of its value, SI."""
        return _known()[self.figure].unit

    @property
    def says(self) -> str:
        """What it is."""
        if self.other:
            return f"{_known()[self.figure].says}: {self.winding} and {self.other}"
        return f"{_known()[self.figure].says}, of {self.winding}"

    def read(self, case: Case) -> float | None:
        """The value; None where it does not apply, or where the board has no such winding."""
        names = [each.name for each in case.windings]
        if self.winding not in names or (self.other and self.other not in names):
            return None
        if self.other:
            between = case.figure(self.figure)
            one, other = names.index(self.winding), names.index(self.other)
            return None if between is None else float(between.value[one][other])
        if self.figure == _TEMPERATURE:
            return _temperature(case, self.winding)
        figure = case.windings[names.index(self.winding)].case.figure(self.figure)
        return None if figure is None else float(figure.value)

    def band(self, case: Case) -> tuple[float, float] | None:
        """Of one winding's figure, where it lies within tolerances; None where that is not known."""
        names = [each.name for each in case.windings]
        if self.other or self.winding not in names:
            return None
        if self.figure == _TEMPERATURE:
            row = _row(case, self.winding)
            return None if row is None else (float(row["low"]), float(row["high"]))
        figure = case.windings[names.index(self.winding)].case.figure(self.figure)
        return None if figure is None else figure.band


def _known() -> Mapping[str, Quantity]:
    from coilgen.job import quantities

    return quantities()


def _temperature(case: Case, winding: str) -> float | None:
    """Of a winding on the settled board."""
    row = _row(case, winding)
    return None if row is None else float(row["temperature"])


def _row(case: Case, winding: str) -> Mapping[str, Any] | None:
    """What is told of how warm a winding gets."""
    rows = case.value("winding_temperatures")
    return next((row for row in rows if row["winding"] == winding), None)


def cell(name: str) -> Cell | None:
    """What a name such as `windings.left.inductance` or `coupling.left.right` asks for; None for others."""
    first, *rest = name.split(".")
    if len(rest) != 2:
        return None
    if first == OF_WINDINGS:
        return Cell(figure=rest[1], winding=rest[0])
    return Cell(figure=first, winding=rest[0], other=rest[1]) if first in BETWEEN else None


def fault_of(asked: Cell, design: Design) -> str | None:
    """What is wrong with a cell for the windings of a board; None for a sound one."""
    if not design.windings:
        return "asks for one of several windings; this board has one, whose figures go by their own names"
    names = [each.name for each in design.windings]
    for name in (asked.winding, *([asked.other] if asked.other else [])):
        if name not in names:
            return f"{shown(name)} is no winding; they are {', '.join(names)}"
    if not asked.other and asked.figure not in figures_of_one():
        return f"{shown(asked.figure)} is no figure of one value of a winding of several"
    return None


def figures_of_one() -> tuple[str, ...]:
    """Names of the figures of one value that each of several windings has."""
    from coilgen.result.figure import OF_ONE_OF_SEVERAL

    own = [
        name
        for name, quantity in _known().items()
        if quantity.of in OF_ONE_OF_SEVERAL and not quantity.unit.startswith("table(")
    ]
    return (*own, _TEMPERATURE)


def usual(design: Design, figures: tuple[str, ...]) -> Iterator[str]:
    """What a designer looks at first: figures of each winding, and the coupling of each two."""
    names = [each.name for each in design.windings]
    for name in names:
        yield from (f"{OF_WINDINGS}.{name}.{figure}" for figure in figures)
    yield from (f"coupling.{one}.{other}" for one, other in combinations(names, 2))


def usual_of_array(design: Design) -> Iterator[str]:
    """What a designer looks at first of an array: its coils are alike, so of the first; and the mover's."""
    first = design.windings[0].name
    yield from (f"{OF_WINDINGS}.{first}.{figure}" for figure in ("resistance_20c", "inductance"))
    if design.core:
        yield f"inductance_matrix_in_place.{first}.{first}"
    if design.mover is not None:
        ring = design.mover.arrangement == "ring"
        yield "torque_constant" if ring else "thrust_constant"
        yield "torque_ripple"
        if any(core.place == "pocket" for core in design.core):
            yield from (f"{of}cogging_{'torque' if ring else 'force'}" for of in ("", "additional_"))
