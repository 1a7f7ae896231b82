"""Mass of the copper."""

import math

from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import carried, factor, told


def _mass(case: Case) -> Answer:
    tolerance = case.design.tolerance
    least, usual = tolerance.plating
    flat = carried(
        lambda wider, thicker: _flat(case, wider) * thicker,
        told(0.0, "trace width", -tolerance.trace_width, tolerance.trace_width),
        factor("copper thickness", tolerance.copper_thickness),
    )
    barrels = carried(lambda wall: _barrels(case, wall), told(usual, "plating", least, usual))
    density = case.design.board.stackup.metal.density
    return spread_answer(
        carried(lambda traces, walls: density * (traces + walls), flat, barrels),
        "traces, pads and plating at finished thickness; trace ends under pads counted twice",
    )


def _flat(case: Case, wider: float) -> float:
    """Volume of traces, wider by so much, and pads, m3."""
    stackup = case.design.board.stackup
    volume = sum(
        trace.path.length * max(trace.width + wider, 0.0) * stackup.copper[trace.layer - 1]
        for trace in case.art.traces
    )
    drilled = {hole.at: hole.diameter for hole in case.art.holes}
    for pad in case.art.pads:
        area = math.pi / 4 * (pad.diameter**2 - drilled.get(pad.at, 0.0) ** 2) + abs(pad.span) * pad.diameter
        volume += area * stackup.copper[pad.layer - 1]
    return volume


def _barrels(case: Case, wall: float) -> float:
    """Volume of the plated walls, m3."""
    height = case.design.board.stackup.thickness
    return sum(math.pi * (hole.diameter - wall) * wall * height for hole in case.art.holes)


FIGURES = (
    Quantity(
        name="copper_mass",
        unit="kg",
        says="mass of the copper",
        group="winding",
        compute=_mass,
        of="board",
    ),
)
