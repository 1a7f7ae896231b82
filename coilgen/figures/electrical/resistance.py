"""Direct-current resistance at 20 degC."""

import numpy as np

from coilgen.layout.coil import BARREL_PLATING
from coilgen.physics.circuit.resistance import barrel_resistance, trace_resistance
from coilgen.result.figure import Answer, Case, Quantity

TOLERANCE = 0.15
"""Of the fab's copper width and thickness together, fraction; 10 to 20 % is common practice, no source."""


def _resistance(case: Case) -> Answer:
    resistivity = case.design.board.stackup.metal.resistivity
    total = _traces(case, resistivity) + _barrels(case, resistivity)
    return Answer(
        value=total,
        model="exact path with bends, arcs and leads at finished copper thickness, plated barrels of "
        f"{BARREL_PLATING * 1e6:.0f} um; the band is the fab's tolerance of {TOLERANCE:.0%}",
        band=(total * (1 - TOLERANCE), total * (1 + TOLERANCE)),
    )


def _traces(case: Case, resistivity: float) -> float:
    """All traces in series, those in parallel as one: the power of their shares of one ampere."""
    return sum(trace_resistance(strand.conductor, resistivity) * strand.share**2 for strand in case.strands)


def _barrels(case: Case, resistivity: float) -> float:
    """All layer changes in series over their whole height; the vias of one change in parallel."""
    stackup = case.design.board.stackup
    changes: dict[tuple[int, ...], list[float]] = {}
    for via in case.coil.vias:
        heights = [stackup.height(layer) for layer in via.joins]
        length = max(heights) - min(heights)
        changes.setdefault(via.joins, []).append(
            float(barrel_resistance(length, via.drill, BARREL_PLATING, resistivity))
        )
    return float(sum(1 / np.sum(1 / np.array(parallel)) for parallel in changes.values()))


FIGURES = (
    Quantity(
        name="resistance_20c",
        unit="ohm",
        says="resistance between the terminals at 20 degC, direct current",
        group="electrical",
        compute=_resistance,
    ),
)
