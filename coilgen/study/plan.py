"""What a sweep is to compute: the design, the keys with their values, the figures; and its combinations."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from coilgen import __version__
from coilgen.catalogue import unknown
from coilgen.design.design import Design
from coilgen.design.sweeping import Axis, Choice, rows_of, swept
from coilgen.errors import DesignError, Fault, shown
from coilgen.frozen import dataclass
from coilgen.job import quantities
from coilgen.result.figure import OF_BOARD, OF_BOARD_OF_ONE
from coilgen.study.evaluator import RULES_BROKEN
from coilgen.study.windings import BETWEEN, LISTS, OF_WINDINGS, SQUARES, cell, fault_of, usual, usual_of_array

_COPPER = ("winding", "board", "rules", "pocket", "via", "terminals", "revision")
"""Tables that the copper is drawn from: what they have in common is computed once, so they vary slowest."""
_NONE = "none named; name some, see `coilgen list figures`"


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A sweep: every combination of the axes' values, the last axis fastest. design: without variants.

    screened: whether fast figures will do where the screen tells them.
    """

    design: Design
    axes: tuple[Axis, ...]
    figures: tuple[str, ...]
    screened: bool = False

    @property
    def count(self) -> int:
        """Number of combinations."""
        return rows_of(self.axes)

    def choices(self, row: int) -> tuple[Choice, ...]:
        """The values of a combination, in the order of the axes; rows count from 0."""
        found: list[Choice] = []
        for axis in reversed(self.axes):
            row, place = divmod(row, len(axis.choices))
            found.append(axis.choices[place])
        return tuple(reversed(found))

    def built(self, row: int) -> Design:
        """The design of a combination; DesignError where its keys contradict one another."""
        return self.design.changed(
            dict(zip((axis.key for axis in self.axes), self.choices(row), strict=True))
        )

    @cached_property
    def identity(self) -> str:
        """Equal for sweeps whose rows are the same, so of one version of coilgen alone."""
        told: list[object] = [__version__, self.design.resolved(), [_plain(axis) for axis in self.axes]]
        told += [self.figures, *(["screened"] if self.screened else [])]
        return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:12]

    def order(self) -> Iterator[int]:
        """All rows, those that differ in the copper alone last: what they share is then near at hand."""
        counts = [len(axis.choices) for axis in self.axes]
        steps = [math.prod(counts[k + 1 :]) for k in range(len(counts))]
        slowest_first = sorted(range(len(counts)), key=lambda k: not _draws(self.axes[k]))
        yield from _walk([(counts[k], steps[k]) for k in slowest_first])

    def alike(self) -> int:
        """How many rows that follow one another in the order have the same copper."""
        return math.prod(len(axis.choices) for axis in self.axes if not _draws(axis))


def plan(
    design: Design,
    vary: Mapping[str, object] | None = None,
    figures: Iterable[str] | None = None,
    *,
    screened: bool = False,
) -> Plan:
    """The sweep of a design's own [sweep] table, or of keys with values told in its place.

    DesignError with every fault of keys, values and figures.
    """
    base = design.changed({"variant": None, "sweep": None}) if design.variant or design.sweep else design
    axes, faults = _axes(design, base, vary)
    asked = tuple(dict.fromkeys(figures)) if figures is not None else _usual(base, axes)
    faults = [*faults, *_faults_of(base, asked)]
    if faults:
        raise DesignError(faults)
    return Plan(design=base, axes=axes, figures=asked, screened=screened)


def _axes(
    design: Design, base: Design, vary: Mapping[str, object] | None
) -> tuple[tuple[Axis, ...], list[Fault]]:
    if vary is not None:
        return swept(Design, base.written, {key: _listed(values) for key, values in vary.items()})
    if not design.sweep:
        says = "not given; add a [sweep] table with a key to vary, such as winding.turns = [10, 12, 14]"
        return (), [Fault(key="sweep", says=says)]
    return design.sweep, []


def _listed(values: Any) -> object:
    """Values as a design file has them: arrays, ranges and tuples as lists."""
    if isinstance(values, Mapping | str):
        return values
    if hasattr(values, "tolist"):
        return values.tolist()
    if isinstance(values, Iterable):
        return [each.item() if hasattr(each, "item") else each for each in values]
    return values


def _usual(design: Design, axes: Sequence[Axis]) -> tuple[str, ...]:
    """What a designer looks at first, of what may apply."""
    if design.windings:
        if design.array is None:
            own = usual(design, ("resistance_20c", "inductance", "temperature"))
        else:
            own = usual_of_array(design)
        return RULES_BROKEN, *own, "power", "temperature"
    there = {name for name in ("magnet", "target", "core") if getattr(design, name)}
    there |= {axis.key.partition(".")[0] for axis in axes}
    figures = [RULES_BROKEN, "resistance_20c", "inductance", "current", "power", "temperature"]
    if there & {"core", "target"}:
        figures.insert(3, "inductance_in_place")
    figures += ["force_on_magnet"] if "magnet" in there else []
    figures += ["pull_on_target"] if "target" in there else []
    return tuple(figures)


def _faults_of(design: Design, figures: Sequence[str]) -> list[Fault]:
    found = [] if figures else [Fault(key="figures", says=_NONE)]
    told = {name: _says(design, name) for name in figures if name != RULES_BROKEN}
    return [*found, *(Fault(key="figures", says=says) for says in told.values() if says is not None)]


def _says(design: Design, name: str) -> str | None:
    """What is wrong with a figure asked for in a row; None for a sound one."""
    asked, known = cell(name), quantities()
    if asked is not None:
        return fault_of(asked, design)
    if name not in known:
        return f"{shown(name)} is no figure; {unknown(name, (*single_figures(design), RULES_BROKEN))}"
    if design.windings and known[name].of not in OF_BOARD:
        first = design.windings[0].name
        return f"{name} is of one winding; write such as {OF_WINDINGS}.{first}.{name}"
    if name in single_figures(design):
        return None
    if not design.windings and known[name].of == "several":
        return f"{name} is told of several windings; this board has one"
    if name in BETWEEN and design.windings:
        return f"{name} is a matrix; name two windings, such as {next(usual(design, ()), name)}"
    kind = "table" if known[name].unit.startswith("table(") else "list" if name in LISTS else "matrix"
    return f"{name} is a {kind}, which has no place in a row; name figures of one value"


def single_figures(design: Design) -> tuple[str, ...]:
    """Names of the figures of one value that are told of a board: of its one winding, or of several."""
    told = OF_BOARD if design.windings else OF_BOARD_OF_ONE
    return tuple(
        name
        for name, quantity in quantities().items()
        if not quantity.unit.startswith("table(") and name not in (*SQUARES, *LISTS)
        if quantity.of in told
    )


def told_of(name: str) -> tuple[str, str]:
    """What stands in a column of a figure, and its unit."""
    if name == RULES_BROKEN:
        return "places at which a limit of the shop is broken", "1"
    asked = cell(name)
    if asked is not None:
        return asked.says, asked.unit
    return quantities()[name].says, quantities()[name].unit


def _draws(axis: Axis) -> bool:
    return axis.key.partition(".")[0] in _COPPER


def _walk(axes: list[tuple[int, int]]) -> Iterator[int]:
    """Rows of nested axes of (count, step), the first slowest."""
    if not axes:
        yield 0
        return
    (count, step), *inner = axes
    for place in range(count):
        for row in _walk(inner):
            yield place * step + row


def _plain(axis: Axis) -> list[object]:
    return [axis.key, [*axis.choices], axis.unit]
