"""Figures of many designs, exact: only what is asked for, and nothing twice that designs have in common.

The numbers are those of `coilgen figures`. Bands are not computed, so tolerances are set to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING, Any, TypeVar, cast

from coilgen.artwork.art import Art
from coilgen.design.as_made import as_made
from coilgen.design.design import Design
from coilgen.design.tolerance import Tolerance
from coilgen.errors import DesignError, UnsolvedError
from coilgen.frozen import dataclass
from coilgen.job import case_of, draw_copper, etched, quantities
from coilgen.layout.coil import Coil, Strand, conductor, strands, trace_shares
from coilgen.layout.via_rows import passed_once
from coilgen.result.figure import Case, Figure
from coilgen.study.memory import Asked, Memory
from coilgen.study.windings import cell

if TYPE_CHECKING:
    from coilgen.physics.base.conductor import Conductor
    from coilgen.result.rule import Rule

T = TypeVar("T")

RULES_BROKEN = "rules_broken"
"""Asked for as if it were a figure: places at which a rule or another limit of the shop is broken."""
_OF_PRINT = "legend_clearance"
"""The rule that the drawing keeps by itself: print stands only where it does, so there is none to check."""


@dataclass(frozen=True, kw_only=True)
class Evaluated:
    """A design's numbers by name, None for what does not apply; or its fault, and no numbers."""

    values: Mapping[str, float | None]
    fault: DesignError | None = None


class Evaluator:
    """Evaluates designs for the same figures, one after another. Not for several threads at once."""

    def __init__(self, figures: Iterable[str]) -> None:
        self.figures = tuple(figures)
        self._memory = Memory()

    def of(self, design: Design) -> Evaluated:
        """The numbers of a design, or why it cannot be built."""
        try:
            case = self.case(design)
            return Evaluated(values={name: number(case, name) for name in self.figures})
        except DesignError as error:
            return Evaluated(values={}, fault=error)

    def case(self, design: Design) -> Case:
        """A design that takes from earlier ones what they have in common; values only, without bands."""
        return sharing_case(as_told(design), self._memory, values_only=True)


def sharing_case(
    design: Design,
    memory: Memory,
    *,
    values_only: bool = False,
    coarser: float = 1.0,
    wanted: Callable[[], bool] = lambda: True,
) -> Case:
    """The case of a design that takes from earlier ones what they have in common.

    A board of several windings shares nothing with others: each of its windings is a case by itself.
    values_only, coarser: as of a case, the same for all that share a memory. wanted: asked before each result
    of one winding is computed; AbandonedError ends the figure once nobody waits for it.
    """
    if design.windings:
        return replace(case_of(design, *draw_copper(design)), values_only=values_only, coarser=coarser)
    return RememberedCase(as_made(design), memory, values_only=values_only, coarser=coarser, wanted=wanted)


def number(case: Case, name: str) -> float | None:
    """A figure of one value, of the board or of one of its windings, or the number of broken rules."""
    if name == RULES_BROKEN:
        return float(rules_broken(case))
    asked = cell(name)
    if asked is not None:
        return asked.read(case)
    figure = case.figure(name)
    return None if figure is None else float(figure.value)


def rules_broken(case: Case) -> int:
    """Number of findings."""
    return sum(broken(case).values())


def broken(case: Case) -> Mapping[str, int]:
    """Number of findings by rule."""
    return {rule: case.kept(_findings, rule) for rule in rules()}


def as_told(design: Design) -> Design:
    """The design without tolerances: everything is as it was told."""
    exact = _no_tolerance(design.tolerance)
    bodies: dict[str, object] = {
        name: getattr(design, name).unchecked(gap_tolerance=0.0)
        for name in ("magnet", "target")
        if getattr(design, name) is not None
    }
    cores = tuple(core.unchecked(gap_tolerance=0.0) for core in design.core)
    told = design.unchecked(tolerance=exact, core=cores, **bodies)
    return told.with_windings(replace(each, design=as_told(each.design)) for each in design.windings)


def _no_tolerance(told: Tolerance) -> Tolerance:
    nothing = {name: 0.0 for name in Tolerance.model_fields if name != "plating"}
    return told.unchecked(**nothing, plating=(told.plating[1],) * 2)


class RememberedCase(Case):
    """A case whose figures come from earlier designs where those agree in all that a figure reads."""

    def __init__(
        self,
        design: Design,
        memory: Memory,
        *,
        values_only: bool = True,
        coarser: float = 1.0,
        wanted: Callable[[], bool] = lambda: True,
    ) -> None:
        makers = {name: partial(make, self) for name, make in _MAKERS.items()}
        self.__dict__["_asked"] = Asked(design, memory, wanted, makers)
        self.__dict__["known"], self.__dict__["shared"], self.__dict__["unsolved"] = {}, {}, {}
        self.__dict__["quantities"], self.__dict__["values_only"] = _quantities(), values_only
        self.__dict__["coarser"] = coarser

    @property
    def design(self) -> Design:
        """The design, with every reading of it noted for the results that are kept."""
        return self._remembered.watched()

    @property
    def coil(self) -> Coil:
        """The coil, drawn when it is first asked for."""
        return cast(Coil, self._remembered.made("coil"))

    @property
    def art(self) -> Art:
        """The art without print."""
        return cast(Art, self._remembered.made("art"))

    @property
    def passed(self) -> Coil:
        """As of a case."""
        return cast(Coil, self._remembered.made("passed"))

    @property
    def conductor(self) -> Conductor:
        """As of a case."""
        return cast("Conductor", self._remembered.made("conductor"))

    @property
    def shares(self) -> tuple[float, ...]:
        """As of a case."""
        return cast(tuple[float, ...], self._remembered.made("shares"))

    @property
    def strands(self) -> tuple[Strand, ...]:
        """As of a case."""
        return cast(tuple[Strand, ...], self._remembered.made("strands"))

    def once(self, key: Hashable, compute: Callable[[], T]) -> T:
        """Within this design: what it depends on may stand outside of the function."""
        return self._remembered.recalled(("once", key), compute, shared=False)

    def kept(self, compute: Callable[..., T], *told: Hashable) -> T:
        """Shared with other designs."""
        return self._remembered.recalled((compute, told), lambda: compute(self, *told))

    def kept_last(self, compute: Callable[..., T], *told: Hashable) -> T:
        """Shared with the designs that come next."""
        return self._remembered.recalled((compute, told), lambda: compute(self, *told), most=1)

    def figure(self, name: str) -> Figure | None:
        """Shared with other designs; None where it does not apply."""
        self._remembered.figures[-1][name] = None
        try:
            return self._remembered.recalled(("figure", name), lambda: self.computed(name))
        except UnsolvedError as error:
            self.unsolved[name] = error
            raise

    def forget(self) -> None:
        """Ends the case: what earlier and later designs share stays, all else of this one goes."""
        self._remembered.forget()

    @property
    def told(self) -> tuple[Figure, ...]:
        """As of a case, whether they were made for this design or for an earlier one."""
        found = (self.solved(name) for name in tuple(self._remembered.figures[0]))
        return tuple(figure for figure in found if figure is not None)

    @property
    def _remembered(self) -> Asked:
        return cast(Asked, self.__dict__["_asked"])

    @property
    def drawn(self) -> tuple[Coil, Art]:
        """Coil and art as drawn, however they are made."""
        return self.kept(_drawing)


def _passed(case: Case) -> Coil:
    return passed_once(case.coil)


def _conductor(case: Case) -> Conductor:
    return conductor(case.passed, case.design.board.stackup)


def _shares(case: Case) -> tuple[float, ...]:
    return trace_shares(case.passed, case.design.board.stackup)


def _strands(case: Case) -> tuple[Strand, ...]:
    return strands(case.passed, case.design.board.stackup)


def _drawing(case: Case) -> tuple[Coil, Art]:
    return draw_copper(case.design)


def _made(case: RememberedCase) -> tuple[Coil, Art]:
    return etched(case.design, *case.drawn)


def _coil(case: RememberedCase) -> Coil:
    return case.kept(_made)[0]


def _art(case: RememberedCase) -> Art:
    return case.kept(_made)[1]


_MAKERS: Mapping[str, Callable[[RememberedCase], Any]] = {
    "coil": _coil,
    "art": _art,
    "passed": _passed,
    "conductor": _conductor,
    "shares": _shares,
    "strands": _strands,
}
"""What is made of a design on the way to its figures."""


def _findings(case: Case, rule: str) -> int:
    drawn = case.drawn if isinstance(case, RememberedCase) else (case.coil, case.art)
    return len([*rules()[rule].check(case.design, *drawn)])


@cache
def rules() -> Mapping[str, Rule]:
    """All that a design can break."""
    from coilgen.catalogue import specimens

    rules = cast("Mapping[str, Rule]", specimens("coilgen.rules", "RULE"))
    return {name: rule for name, rule in rules.items() if name != _OF_PRINT}


@cache
def _quantities() -> Mapping[str, Any]:
    return quantities()
