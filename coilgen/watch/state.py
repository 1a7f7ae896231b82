"""What the live page knows: the file's text, the last good result, and the faults of what came after."""

from dataclasses import dataclass, replace

from coilgen.errors import DesignError
from coilgen.exports._page.sections import QUICK_FIGURES
from coilgen.figure import Case
from coilgen.job import checked, figured, quantities
from coilgen.reading import read_text
from coilgen.result import Result


@dataclass(frozen=True, kw_only=True)
class State:
    """Of the design file at one time.

    version counts the states. text: as last read, None before it could be. result: of the last text without
    faults, which `good` is. whole: whether it has all its figures, not only the quick ones. faults: a
    line for each fault of the newest text.
    """

    version: int
    text: str | None
    good: str | None
    result: Result | None
    faults: tuple[str, ...]
    whole: bool = False


BEGINNING = State(version=0, text=None, good=None, result=None, faults=())


def renewed(before: State, text: str) -> State:
    """The state after the file was read: a new result, quick, or its faults beside the result so far."""
    try:
        result = quick(text)
    except DesignError as error:
        return faulty(replace(before, text=text), error)
    return State(version=before.version + 1, text=text, good=text, result=result, faults=())


def completed(before: State) -> State:
    """The same state with all figures."""
    if before.good is None or before.whole:
        return before
    return replace(before, result=full(before.good), whole=True)


def faulty(before: State, error: DesignError) -> State:
    """The state after a fault, such as a file that is gone."""
    faults = tuple(str(fault) for fault in error.faults)
    return replace(before, version=before.version + 1, faults=faults)


def full(text: str) -> Result:
    """The whole result of a design file's text. DesignError carries its faults."""
    return figured(checked(read_text(text)))


def quick(text: str) -> Result:
    """Coil, art and findings with the key figures only: soon enough to follow a hand on a slider."""
    result = checked(read_text(text))
    kinds = quantities()
    case = Case(design=result.design, coil=result.coil, art=result.art, quantities=kinds)
    found = {name: case.figure(name) for name in QUICK_FIGURES if name in kinds}
    return replace(result, figures={name: figure for name, figure in found.items() if figure is not None})
