"""What each copper layer has of the coil's resistance."""

from dataclasses import replace

import numpy as np

from coilgen.figures.heat._leads import layer_squares
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.circuit.resistance import trace_resistance
from coilgen.result.figure import Case


def square_resistances(case: Case) -> list[float]:
    """Of a square of each copper layer at 20 degC, with its share of the barrels, ohm."""
    stackup, scale = case.design.board.stackup, float(case.value("resistance_20c")) / sum(_geometric(case))
    return [scale * stackup.metal.resistivity / thickness for thickness in stackup.copper]


def layer_resistances(case: Case) -> list[float]:
    """What each copper layer adds to the coil's resistance at 20 degC, ohm.

    Layers in parallel count by the power they take; plated barrels are spread over all.
    """
    whole, each = float(case.value("resistance_20c")), _geometric(case)
    return [value * whole / sum(each) for value in each]


def wound_resistances(case: Case) -> list[float]:
    """What each copper layer adds, ohm, without the leads that make their heat where they are."""
    whole, leads, ohms = layer_resistances(case), layer_squares(case), square_resistances(case)
    return [max(0.0, own - squares * ohm) for own, squares, ohm in zip(whole, leads, ohms, strict=True)]


def _geometric(case: Case) -> list[float]:
    """Of the traces of each copper layer, ohm, by the power that those in parallel take."""
    metal = case.design.board.stackup.metal
    return [
        sum(
            strand.share**2 * trace_resistance(_on_layer(strand.conductor, layer), metal.resistivity)
            for strand in case.strands
            if np.any(strand.conductor.layer == layer)
        )
        for layer in range(1, case.design.board.stackup.layers + 1)
    ]


def _on_layer(conductor: Conductor, layer: int) -> Conductor:
    own = conductor.layer == layer
    return replace(conductor, **{name: values[own] for name, values in vars(conductor).items()})
