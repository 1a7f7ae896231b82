"""What is to be expected of each board, bare and cold, and what the fab's notes need of it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from coilgen.design.design import Design
from coilgen.job import case_of, draw
from coilgen.result.figure import Case, Figure
from coilgen.result.figures import Figures
from coilgen.result.result import OfWinding, Result

EXPECTED = ("resistance_20c", "inductance", "winding_capacitance", "self_resonance")
"""Figures of a winding that are told in the key, of the bare board."""
_TESTED = ("resistance_20c", "inductance", "shorted_turn", "smallest_spacing")


def expected(result: Result) -> Result:
    """A checked board with the figures that its key and its electrical test need."""
    case = case_of(result.design, result.coil, result.art)
    names = dict.fromkeys((*EXPECTED, *_TESTED))
    if not case.windings:
        return replace(result, figures=Figures(_figures(case, names)))
    windings = tuple(
        OfWinding(name=each.name, coil=each.coil, figures=Figures(_figures(each.case, names)))
        for each in case.windings
    )
    return replace(result, figures=Figures(_figures(case, ("smallest_spacing",))), windings=windings)


def hottest(designs: Iterable[Design]) -> Figure | None:
    """The temperature of the design that runs hottest: the laminate of all must bear it."""
    found = (case_of(design, *draw(design)).figure("temperature") for design in designs)
    told = [figure for figure in found if figure is not None]
    return max(told, key=lambda figure: float(figure.value), default=None)


def _figures(case: Case, names: Iterable[str]) -> Mapping[str, Figure]:
    found = {name: case.figure(name) for name in names}
    return {name: figure for name, figure in found.items() if figure is not None}


def by_winding(result: Result) -> Iterator[tuple[str, Mapping[str, Figure]]]:
    """Name and figures of each winding; the only one of a board has no name."""
    if not result.windings:
        yield "", result.figures
    for each in result.windings:
        yield each.name, each.figures
