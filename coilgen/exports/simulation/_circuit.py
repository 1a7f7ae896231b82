"""The equivalent circuit of a finished result, read back from its figures, for the files that carry it."""

from collections.abc import Mapping

import numpy as np

from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit
from coilgen.result.figure import Figure


def equivalent(figures: Mapping[str, Figure]) -> EquivalentCircuit | None:
    """The circuit of the figure `equivalent_circuit`; None where there is none."""
    figure = figures.get("equivalent_circuit")
    if figure is None:
        return None
    elements = {row["element"]: float(row["value"]) for row in figure.value}
    stages = range(1, len([name for name in elements if name.startswith("R")]))
    return EquivalentCircuit(
        resistance=elements["R0"],
        inductance=elements["L0"],
        stage_resistance=np.array([elements[f"R{k}"] for k in stages]),
        stage_inductance=np.array([elements[f"L{k}"] for k in stages]),
        capacitance=elements["C"],
        resistance_error=0.0,
        inductance_error=0.0,
    )
