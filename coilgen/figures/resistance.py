"""Direct-current resistance at 20 degC."""

import numpy as np

from coilgen.coil import BARREL_PLATING
from coilgen.figure import Answer, Case, Quantity
from coilgen.physics.resistance import barrel_resistance, trace_resistance

TOLERANCE = 0.15
"""Of the fab's copper width and thickness together, fraction; 10 to 20 % is common practice, no source."""


def _resistance(case: Case) -> Answer:
    resistivity = case.design.board.stackup.metal.resistivity
    total = trace_resistance(case.conductor, resistivity) + _barrels(case, resistivity)
    return Answer(
        value=total,
        model="exact path with bends, arcs and leads at finished copper thickness, plated barrels of "
        f"{BARREL_PLATING * 1e6:.0f} um; the band is the fab's tolerance of {TOLERANCE:.0%}",
        band=(total * (1 - TOLERANCE), total * (1 + TOLERANCE)),
    )


def _barrels(case: Case, resistivity: float) -> float:
    """All layer changes in series; the vias of one change in parallel."""
    stackup = case.design.board.stackup
    changes: dict[tuple[int, int], list[float]] = {}
    for via in case.coil.vias:
        upper, lower = via.joins
        length = abs(stackup.height(upper) - stackup.height(lower))
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
