"""What a figure is: a named quantity, how it is computed from a case, and with which band."""

from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import field, replace
from functools import cached_property
from typing import Any, Literal, TypeVar

import numpy as np

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.errors import UnsolvedError
from coilgen.frozen import dataclass
from coilgen.layout.coil import Coil, Strand, conductor, copper_reach, strands, trace_shares
from coilgen.layout.via_rows import passed_once
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.base.one_thread import one_thread
from coilgen.result.calibrated import calibrated
from coilgen.result.columns import column, column_units
from coilgen.result.spread import Spread, told, widest

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a computation returns: value in the quantity's SI unit, the model used, the band it lies in.

    value: a number, a nested list (matrix) or a list of rows (table: dicts of column to number).
    spread: of one number, its shifts by source, from which its band and contributions follow; or band alone,
    where the sources are not known apart.
    cautions: full sentences for the designer; one that tells of harm begins with WARNING.
    labels: of the rows of a list or matrix; none where they are copper layers.
    key: whether a designer looks at it first, where its kind is among the key figures.
    unit, says: in place of the quantity's, where they hang on the design, as of turning and sliding movers.
    """

    value: Any
    model: str
    unit: str = ""
    says: str = ""
    labels: tuple[str, ...] = ()
    band: tuple[float, float] | None = None
    spread: Spread | None = None
    cautions: tuple[str, ...] = ()
    key: bool = True


def spread_answer(
    spread: Spread, model: str, cautions: tuple[str, ...] = (), unit: str = "", says: str = ""
) -> Answer:
    """An answer whose band follows from the tolerances that it carries."""
    return Answer(
        value=spread.value,
        model=model,
        unit=unit,
        says=says,
        band=spread.band if spread.contributions else None,
        spread=spread,
        cautions=cautions,
    )


@dataclass(frozen=True, kw_only=True, repr=False)
class Figure(Answer):
    """One figure of a finished result: an answer with its name, where unit and words stand always."""

    name: str
    group: str

    @property
    def contributions(self) -> tuple[tuple[str, float, float], ...]:
        """What the band comes from: source, how far it takes the value down and up; largest first."""
        return () if self.spread is None else self.spread.contributions

    @property
    def array(self) -> np.ndarray[Any, np.dtype[np.float64]]:
        """A number or a matrix as an array; TypeError for a table, whose `columns` are arrays."""
        if self._is_table:
            raise TypeError(f"{self.name} is a table; take its columns: {', '.join(self.columns)}")
        return np.array(self.value, dtype=float)

    @property
    def columns(self) -> dict[str, np.ndarray[Any, np.dtype[Any]]]:
        """A table's columns by name, (n,), in the units that `units` tells; what does not apply is nan.

        TypeError for a figure that is no table.
        """
        if not self._is_table:
            raise TypeError(f"{self.name} is no table; take its value or array")
        names = column_units(self.unit)
        return {name: column([row[name] for row in self.value]) for name in names}

    @property
    def units(self) -> dict[str, str]:
        """Units of a table's columns by name; "" where a column holds words or each row its own unit."""
        return column_units(self.unit) if self._is_table else {self.name: self.unit}

    @property
    def _is_table(self) -> bool:
        return self.unit.startswith("table(")

    def __repr__(self) -> str:
        value = f"{len(self.value)} rows" if isinstance(self.value, list | tuple) else f"{self.value!r}"
        return f"<{self.name}: {value}, {self.unit}, {self.says}>"


Of = Literal["one", "each", "both", "board", "several"]
"""What a figure is of: a board's one winding alone; each of its windings, be there one or several; each and
the board too; the board, be there one or several; the windings of a board that has several."""


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A kind of figure. `compute` returns None where the quantity does not apply to the case.

    idle: whether it applies to a winding that nothing drives.
    """

    name: str
    unit: str
    says: str
    group: str
    compute: "Callable[[Case], Answer | None]"
    of: Of = "one"
    idle: bool = True


OF_BOARD: tuple[Of, ...] = ("both", "board", "several")
OF_ONE_OF_SEVERAL: tuple[Of, ...] = ("each", "both")
OF_BOARD_OF_ONE: tuple[Of, ...] = ("one", "each", "both", "board")
"""Figures of a board of several windings, of each of these, and of a board of one winding."""
REFERENCE = "current"
"""The figure whose value is that of the first driven winding where a board has several."""
_FAINT = 0.05
"""Of the largest moment of a board's windings: what one makes of its fields below that is not looked at."""


def _nothing(asked: Hashable) -> None:
    """Nobody else computes it."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A design with its coil and art, and the figures computed so far.

    Each figure is computed once, on demand. windings: of a board of several, whose fields are those of all
    their currents; a figure of each of them is asked of its own case. Per ampere then means: per ampere of
    the first that is driven, with the others' currents in proportion. copper_layers: of one of several.
    in_phase: of a coil of an array that a mover passes, the board's design, whose phases drive it.
    values_only: neither bands nor cautions are looked at, so what only they need is left out.
    coarser: cells beside cores over the usual ones: above 1 for values that need to be there soon.
    unsolved: figures asked for in vain, as a solver gives up, each with what it says.
    bring: called with a figure's name, or the key of what figures share, before it is computed: what another
    process computed of it becomes known. last: figures best asked for after the others, as another process
    may have them by then.
    """

    design: Design
    coil: Coil
    art: Art
    quantities: Mapping[str, Quantity]
    windings: "tuple[Winding, ...]" = ()
    copper_layers: tuple[int, ...] = ()
    in_phase: Design | None = None
    values_only: bool = False
    coarser: float = 1.0
    known: dict[str, Figure | None] = field(default_factory=dict)
    shared: dict[Hashable, Any] = field(default_factory=dict)
    unsolved: dict[str, UnsolvedError] = field(default_factory=dict)
    bring: Callable[[Hashable], None] = _nothing
    last: frozenset[str] = frozenset()

    @cached_property
    def passed(self) -> Coil:
        """The coil as the current passes it: rows of parallel vias once."""
        return passed_once(self.coil)

    @cached_property
    def conductor(self) -> Conductor:
        """All windings with their leads as arrays for the solvers."""
        return conductor(self.passed, self.design.board.stackup)

    @property
    def wound(self) -> tuple[int, ...]:
        """Copper layers that the winding winds, from the top."""
        return self.copper_layers or tuple(range(1, self.design.winding.layers + 1))

    @cached_property
    def reach(self) -> float:
        """How far the winding's copper, or that of several, is from the board's centre, m."""
        if self.windings:
            return copper_reach(self.coil)
        return self.design.winding.span / 2

    @property
    def axis(self) -> complex:
        """Where the axis is that fields are told along, m: the coil's, of an array that of coil 1; of several
        windings the board's middle.

        Between coils of an array the fields of neighbours and phases cancel, in a ring's middle to nothing.
        """
        if self.design.array is not None:
            return self.design.windings[0].centre
        return self.design.board.centre if self.windings else 0j

    @cached_property
    def shares(self) -> tuple[float, ...]:
        """Share of the current in each trace: of the coil's, or of the reference's of several windings."""
        if self.windings:
            own = [share * self._ratio(each) for each in self.windings for share in each.case.shares]
            return (*own, *[0.0] * (len(self.coil.traces) - len(own)))  # joints of an array carry none here
        return trace_shares(self.passed, self.design.board.stackup)

    @cached_property
    def strands(self) -> tuple[Strand, ...]:
        """The winding divided by the current it carries: fields are sums of share times a strand's field."""
        if self.windings:
            return tuple(strand for each in self.strands_apart for strand in each)
        return strands(self.passed, self.design.board.stackup)

    @cached_property
    def strands_apart(self) -> tuple[tuple[Strand, ...], ...]:
        """The same of each winding for itself."""
        return tuple(
            tuple(
                replace(strand, share=strand.share * self._ratio(each))
                for strand in strands(each.passed, self.design.board.stackup)
            )
            for each in self.windings
        ) or (self.strands,)

    def _ratio(self, winding: "Winding") -> float:
        """Of a winding's current to the reference's."""
        reference = self.reference.case.value(REFERENCE)
        return float(winding.case.value(REFERENCE) / reference) * winding.weight

    @cached_property
    def reference(self) -> "Winding":
        """Of several windings the one whose current their fields are told per ampere of: the first driven."""
        return next(each for each in self.windings if not each.case.design.drive.idle)

    @cached_property
    def _first(self) -> Figure | None:
        """The current that several windings' fields go by; its band is that of whichever varies most.

        Where a field's parts are known for each winding, `varied` of `figures/field` tells better.
        """
        first = self.reference.case.figure(REFERENCE)
        if first is None or self.values_only or self.design.array is not None:
            return first
        moments = [abs(each.case.value("moment")) for each in self.windings]
        strong = [
            each.case.spread(REFERENCE)
            for each, moment in zip(self.windings, moments, strict=True)
            if moment > _FAINT * max(moments)
        ]
        found = widest([first.spread or Spread(first.value), *strong])
        return replace(first, spread=found, band=found.band if found.contributions else None)

    def once(self, key: Hashable, compute: Callable[[], T]) -> T:
        """What several figures share, computed when the first of them asks."""
        if key not in self.shared:
            self.bring(key)
        if key not in self.shared:
            self.shared[key] = _or_why_not(compute)
        found: T = self.shared[key]
        if isinstance(found, UnsolvedError):
            raise found
        return found

    def kept(self, compute: Callable[..., T], *told: Hashable) -> T:
        """A function of the case and of what is told: nothing else, so that many designs may share it."""
        return self.once((compute, told), lambda: compute(self, *told))

    def kept_last(self, compute: Callable[..., T], *told: Hashable) -> T:
        """As `kept`, of what is large: many designs share it one after another, not with all before."""
        return self.kept(compute, *told)

    def figure(self, name: str) -> Figure | None:
        """A figure by name; None where it does not apply."""
        if self.windings and name == REFERENCE:
            return self._first
        if name not in self.known and name not in self.unsolved:
            self.bring(name)
        if name in self.unsolved:
            raise self.unsolved[name]
        if name not in self.known:
            try:
                self.known[name] = self.computed(name)
            except UnsolvedError as error:
                self.unsolved[name] = error
                raise
        return self.known[name]

    def solved(self, name: str) -> Figure | None:
        """A figure by name; None where it does not apply, and where a solver gives up: see `unsolved`."""
        with suppress(UnsolvedError):
            return self.figure(name)
        return None

    @property
    def told(self) -> tuple[Figure, ...]:
        """The figures asked for so far, and those that they were made of."""
        return tuple(figure for figure in self.known.values() if figure is not None)

    @property
    def _told_of(self) -> tuple[Of, ...]:
        """Kinds of figures that this has: a board of several windings, one of these, or a board of one.

        How warm one of several gets is told by the board: by itself, without the others and on no board of
        its own, it would get as warm as it never does.
        """
        if self.windings:
            return OF_BOARD
        return OF_ONE_OF_SEVERAL if self.copper_layers else OF_BOARD_OF_ONE

    def computed(self, name: str) -> Figure | None:
        """A figure, computed now; None where it does not apply, or not to so many windings."""
        quantity = self.quantities[name]
        idle = self.design.drive.idle and not self.windings
        if quantity.of not in self._told_of or (idle and not quantity.idle):
            return None
        with one_thread():
            answer = quantity.compute(self)
        return None if answer is None else _figure(quantity, calibrated(answer, self.design))

    def spread(self, name: str) -> Spread:
        """The value of a figure that must apply, with what each tolerance changes in it."""
        figure = self._known_figure(name)
        return figure.spread or Spread(figure.value)

    def value(self, name: str) -> Any:
        """The value of a figure that must apply; LookupError where it does not."""
        return self._known_figure(name).value

    def _known_figure(self, name: str) -> Figure:
        figure = self.figure(name)
        if figure is None:
            raise LookupError(f"the figure {name} does not apply to this design")
        return figure


@dataclass(frozen=True, kw_only=True)
class Winding:
    """One of several windings of a board: its name, where its coil lies, and its own case.

    case: of the winding by itself, centred, on its own layers, with nothing near it. weight: of its current
    in the board's fields: of a coil of an array by its phase and sense, while phase A carries all of its own.
    """

    name: str
    coil: Coil
    case: Case
    weight: float = 1.0

    @cached_property
    def passed(self) -> Coil:
        """The coil where it lies as the current passes it: rows of parallel vias once."""
        return passed_once(self.coil)


def _or_why_not(compute: Callable[[], Any]) -> Any:
    """What is computed, or the error of a solver that gave up: to be found out once."""
    try:
        return compute()
    except UnsolvedError as error:
        return error


def _figure(quantity: Quantity, answer: Answer) -> Figure:
    told_here = {
        "unit": answer.unit or quantity.unit,
        "says": answer.says or quantity.says,
        "spread": answer.spread or _unexplained(quantity, answer),
    }
    return Figure(name=quantity.name, group=quantity.group, **(vars(answer) | told_here))


def _unexplained(quantity: Quantity, answer: Answer) -> Spread | None:
    """A band whose sources are not told apart counts as the model's."""
    if answer.band is None:
        return None
    return told(answer.value, f"model of {quantity.name}", *answer.band)
