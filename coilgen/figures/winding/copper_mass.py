"""Mass of the copper."""

import math

from coilgen.layout.coil import BARREL_PLATING
from coilgen.result.figure import Answer, Case, Quantity


def _mass(case: Case) -> Answer:
    stackup = case.design.board.stackup
    volume = sum(
        trace.path.length * trace.width * stackup.copper[trace.layer - 1] for trace in case.art.traces
    )
    drilled = {hole.at: hole.diameter for hole in case.art.holes}
    for pad in case.art.pads:
        area = math.pi / 4 * (pad.diameter**2 - drilled.get(pad.at, 0.0) ** 2)
        volume += area * stackup.copper[pad.layer - 1]
    for hole in case.art.holes:
        volume += math.pi * (hole.diameter - BARREL_PLATING) * BARREL_PLATING * stackup.thickness
    return Answer(
        value=volume * stackup.metal.density,
        model="traces, pads and plating at finished thickness; trace ends under pads counted twice",
    )


FIGURES = (
    Quantity(name="copper_mass", unit="kg", says="mass of the copper", group="winding", compute=_mass),
)
