"""What the live page knows: the file's text, the last good result, and the faults of what came after."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from threading import Lock

from coilgen.design.design import Design
from coilgen.design.reading import read_beside
from coilgen.errors import DesignError
from coilgen.exports.page._summary import QUICK_FIGURES
from coilgen.job import check, with_figures
from coilgen.result.figure import Case, Figure
from coilgen.result.figures import Figures
from coilgen.result.result import Result
from coilgen.study.evaluator import sharing_case
from coilgen.study.memory import AbandonedError, Memory
from coilgen.watch.seeking import Sought

_KEPT = 4
"""Designs whose results are remembered: the file's, and those tried last."""


@dataclass(frozen=True)
class Shared:
    """What results of one kind have in common; one is made at a time, which threads see to with `alone`."""

    memory: Memory = field(default_factory=lambda: Memory(_KEPT))
    alone: Lock = field(default_factory=Lock)


@dataclass
class Last:
    """The result that was last whole: forces on coarse grids of designs like it are set right by its own."""

    result: Result | None = None


@dataclass(frozen=True)
class Remembered:
    """What designs have in common: for key figures, for forces on coarse grids, for whole results.

    None of them waits for another.
    """

    quick: Shared = field(default_factory=Shared)
    coarse: Shared = field(default_factory=Shared)
    whole: Shared = field(default_factory=Shared)
    last: Last = field(default_factory=Last)


@dataclass(frozen=True, kw_only=True)
class State:
    """Of the design file at one time.

    version counts the states. text: as last read, None before it could be. result: of the last text without
    faults, which `good` is, since the version `good_since`. whole: whether it has all its figures, not only
    the quick ones. faults: a line for each fault of the newest text. folder: of the file; a calibration is
    looked for there.
    sought: the search that was begun on the page, if it is of `good`. remembered: of designs before, so that
    a number tried costs only what depends on it.
    """

    version: int
    text: str | None
    good: str | None
    result: Result | None
    faults: tuple[str, ...]
    good_since: int = 0
    whole: bool = False
    folder: Path = Path()
    sought: Sought | None = None
    remembered: Remembered = field(default_factory=Remembered, compare=False, repr=False)

    @property
    def can_be_searched(self) -> bool:
        """Whether the design says what is sought."""
        return self.result is not None and self.result.design.optimize is not None

    @property
    def can_be_compared(self) -> bool:
        """Whether the design has variants."""
        return self.result is not None and bool(self.result.design.variant)


BEGINNING = State(version=0, text=None, good=None, result=None, faults=())


def renewed(before: State, text: str) -> State:
    """The state after the file was read: a new result, quick, or its faults beside the result so far."""
    try:
        result = quick(text, before.folder, remembered=before.remembered)
    except DesignError as error:
        return faulty(replace(before, text=text), error)
    version = before.version + 1
    # A fault that is taken back leaves the file as it was, unless what it reads beside it changed.
    same = text == before.good and before.result is not None and result.design == before.result.design
    return replace(
        before,
        version=version,
        text=text,
        good=text,
        good_since=before.good_since if same else version,
        result=result,
        faults=(),
        whole=False,
    )


def completed(before: State, wanted: Callable[[], bool] = lambda: True) -> State:
    """The same state with all figures, or with the faults that they cannot be computed for.

    As it was once it is no longer wanted.
    """
    if before.good is None or before.whole:
        return before
    try:
        result = full(before.good, before.folder, wanted, before.remembered)
    except AbandonedError:
        return before
    except DesignError as error:
        return replace(faulty(before, error), whole=True)
    return replace(before, result=result, whole=True)


def faulty(before: State, error: DesignError) -> State:
    """The state after a fault, such as a file that is gone."""
    faults = tuple(str(fault) for fault in error.faults)
    return replace(before, version=before.version + 1, faults=faults)


def full(
    text: str,
    folder: Path,
    wanted: Callable[[], bool] = lambda: True,
    remembered: Remembered | None = None,
) -> Result:
    """The whole result of a design file's text in a folder; AbandonedError once it is no longer wanted.

    DesignError carries the text's faults. remembered: what designs before have in common with it is taken
    from there; the figures are the same without.
    """
    result, remembered = check(read_beside(text, folder)), remembered or Remembered()
    with remembered.whole.alone:
        case = sharing_case(result.design, remembered.whole.memory, wanted=wanted)
        found = with_figures(result, _solved(case, case.quantities, wanted), case)
    remembered.last.result = found
    return found


def quick(
    text: str,
    folder: Path,
    wanted: Callable[[], bool] = lambda: True,
    remembered: Remembered | None = None,
) -> Result:
    """Coil, art and findings with the key figures only: soon enough to follow a hand on a slider.

    Forces take long with cores only. Errors and remembered: as of `full`.
    """
    shared = (remembered or Remembered()).quick
    with shared.alone:
        _still(wanted)
        result = check(read_beside(text, folder))
        names = QUICK_FIGURES if result.design.core else (*QUICK_FIGURES, *_OF_A_MAGNET)
        case = sharing_case(result.design, shared.memory, wanted=wanted)
        return replace(result, figures=Figures(_solved(case, names, wanted)))


def soon(
    design: Design, wanted: Callable[[], bool] = lambda: True, remembered: Remembered | None = None
) -> Figures:
    """Forces beside cores and on targets on coarse grids, without bands; nothing without either.

    Each in the proportion to its exact value that it had in the last whole result, if there is one.
    AbandonedError and remembered: as of `full`.
    """
    remembered = remembered or Remembered()
    found, last = _coarse(design, wanted, remembered.coarse), remembered.last.result
    if last is None or not found:
        return Figures(found)
    before = _coarse(last.design, wanted, remembered.coarse)
    return Figures(
        {name: _set_right(each, before.get(name), last.figures.get(name)) for name, each in found.items()}
    )


def _coarse(design: Design, wanted: Callable[[], bool], shared: Shared) -> dict[str, Figure]:
    if not design.core and not design.target:
        return {}
    with shared.alone:
        case = sharing_case(design, shared.memory, values_only=True, coarser=_COARSER, wanted=wanted)
        return _solved(case, FORCES, wanted)


def _set_right(coarse: Figure, before: Figure | None, exact: Figure | None) -> Figure:
    """A coarse figure times exact over coarse of a design before, where those are alike."""
    if before is None or exact is None or before.value * exact.value <= 0.0:
        return coarse
    factor = exact.value / before.value
    return replace(coarse, value=factor * coarse.value) if 1.0 / _ALIKE < factor < _ALIKE else coarse


FORCES = ("force_on_magnet", "force_constant", "pull_on_target")
"""What a hand on a slider waits for; beside cores and targets they need a solver."""
_COARSER = 1.7
"""Cells over those of exact runs: seen 0.2 to 3 % off before sheets, 9 to 13 % for targets close to cores."""
_ALIKE = 1.5
"""Of coarse and exact forces, the most that their difference can be the grid's."""
_OF_A_MAGNET = ("force_on_magnet", "force_constant")


def _solved(case: Case, names: Iterable[str], wanted: Callable[[], bool]) -> dict[str, Figure]:
    """Figures by name, of those that apply; AbandonedError once they are no longer wanted."""
    found = {}
    for name in names:
        _still(wanted)
        figure = case.solved(name)
        if figure is not None:
            found[name] = figure
    return found


def _still(wanted: Callable[[], bool]) -> None:
    if not wanted():
        raise AbandonedError
