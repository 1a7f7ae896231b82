"""Turns that a coil with its leads is worth."""

from dataclasses import replace

import numpy as np

from coilgen.layout.coil import conductor
from coilgen.layout.seen import mean_turn_area
from coilgen.physics.eddy.turns import turns
from coilgen.result.figure import Answer, Case, Quantity


def _effective_turns(case: Case) -> Answer:
    return Answer(
        value=abs(case.value("turn_area")) / _mean_turn(case),
        model="turn area of the coil with its leads over the mean area of a turn of its first layer: the "
        "coil's moment and flux in an even field are those of so many turns",
    )


def _mean_turn(case: Case) -> float:
    """Area, m2, of a turn of the first layer, on average; layers are alike but for where they begin."""
    if not case.design.winding.measure.centred:
        return mean_turn_area(case.design)
    coil = case.coil
    wound = [coil.traces[index] for index in coil.parallel] or [t for t in coil.traces if not t.is_lead]
    spiral = replace(coil, traces=(wound[0],), parallel=())
    own = turns(conductor(spiral, case.design.board.stackup))
    return float(0.5 * (own.radius * own.length).sum() / np.abs(own.fraction).sum())


FIGURES = (
    Quantity(
        name="effective_turns",
        unit="1",
        says="turns that the coil with its leads is worth",
        group="winding",
        compute=_effective_turns,
        of="each",
    ),
)
