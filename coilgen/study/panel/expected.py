"""What is to be expected of each board, bare and cold, and what the fab's notes need of it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

import numpy as np

from coilgen.design.design import Design
from coilgen.job import case_of, draw
from coilgen.result.figure import Case, Figure
from coilgen.result.figures import Figures
from coilgen.result.result import OfWinding, Result

EXPECTED = ("resistance_20c", "inductance", "winding_capacitance", "self_resonance")
"""Figures of a winding that are told in the key, of the bare board."""
_TESTED = ("resistance_20c", "inductance", "shorted_turn", "smallest_spacing")
_JOINED = ("line_resistance", "line_inductance", "phase_resistance", "phase_inductance_matrix")
"""Of boards whose coils are joined: what a meter can read."""


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
    joined = result.design.array is not None and result.design.array.joined
    board = ("smallest_spacing", *(_JOINED if joined else ()))
    return replace(result, figures=Figures(_figures(case, board)), windings=windings)


def hottest(designs: Iterable[Design]) -> Figure | None:
    """The temperature of the design that runs hottest: the laminate of all must bear it."""
    found = (case_of(design, *draw(design)).figure("temperature") for design in designs)
    told = [figure for figure in found if figure is not None]
    return max(told, key=lambda figure: float(figure.value), default=None)


def _figures(case: Case, names: Iterable[str]) -> Mapping[str, Figure]:
    found = {name: case.figure(name) for name in names}
    return {name: figure for name, figure in found.items() if figure is not None}


def by_winding(result: Result) -> Iterator[tuple[str, Mapping[str, Figure]]]:
    """Name and figures of each winding; the only one of a board has no name.

    Coils that are joined cannot be read one by one: in place of each there are two terminals, such as "1-2".
    """
    if not result.windings:
        yield "", result.figures
    elif result.design.array is not None and result.design.array.joined:
        yield from _by_terminals(result)
    else:
        for each in result.windings:
            yield each.name, each.figures


def _by_terminals(result: Result) -> Iterator[tuple[str, Mapping[str, Figure]]]:
    """Resistance and inductance between terminals, in bands as wide as those of one of the coils."""
    found, coil = result.figures, result.windings[0].figures
    lines = found.get("line_resistance")
    if lines is not None:
        names, ohms, henries = lines.labels, lines.array, found["line_inductance"].array
    else:
        ohms, henries = found["phase_resistance"].array, np.diag(found["phase_inductance_matrix"].array)
        names = tuple(f"{2 * phase + 1}-{2 * phase + 2}" for phase in range(len(ohms)))
    for name, ohm, henry in zip(names, ohms.tolist(), henries.tolist(), strict=True):
        read = {"resistance_20c": ohm, "inductance": henry}
        yield name, {figure: _as_wide(coil[figure], value) for figure, value in read.items()}


def _as_wide(coil: Figure, value: float) -> Figure:
    """A coil's figure with another value, its band as wide in parts of it."""
    low, high = coil.band or (coil.value, coil.value)
    return replace(coil, value=value, band=(low / coil.value * value, high / coil.value * value), spread=None)
