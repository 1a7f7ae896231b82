"""Equivalent circuits of a finished result, read back from its figures, for the files that carry them."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit
from coilgen.result.figure import Figure
from coilgen.result.result import Result

WITH_BODIES = "inductance_in_place"
"""The figure of the inductance with what stands at the coil; there is none where nothing does."""
CIRCUIT_IN_PLACE = "equivalent_circuit_in_place"
"""The figure of the circuit with eddy currents in all that conducts; there is none without such bodies."""
LEFT_OUT = "hysteresis in what stands there is left out"
"""What these figures do not hold."""


@dataclass(frozen=True, kw_only=True)
class NamedCircuit:
    """A circuit as files carry it.

    suffix: of its names, empty for the coil in place. says: what it holds, a line each.
    """

    suffix: str
    says: tuple[str, ...]
    circuit: EquivalentCircuit


def circuits(result: Result) -> tuple[NamedCircuit, ...]:
    """The coil in place, then the bare one; none when the figures carry no circuit."""
    alone = bare(result.figures)
    if alone is None:
        return ()
    return (
        NamedCircuit(suffix="", says=_place(result), circuit=in_place(alone, result.figures)),
        NamedCircuit(
            suffix="bare", says=("bare coil: no core, target, magnet or other metal near",), circuit=alone
        ),
    )


def highest(result: Result) -> float:
    """Hz, to which the circuits are fitted: the last of the impedance's table, of all windings' tables."""
    boards = [each.figures for each in result.windings] or [result.figures]
    return min(float(each["impedance"].value[-1]["frequency"]) for each in boards if "impedance" in each)


def bare(figures: Mapping[str, Figure]) -> EquivalentCircuit | None:
    """The circuit of the figure `equivalent_circuit`; None where there is none."""
    figure = figures.get("equivalent_circuit")
    return None if figure is None else _told(figure)


def _told(figure: Figure) -> EquivalentCircuit:
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


def in_place(alone: EquivalentCircuit, figures: Mapping[str, Figure]) -> EquivalentCircuit:
    """The circuit in place, else the bare one with what bodies add to its inductance at every frequency."""
    if CIRCUIT_IN_PLACE in figures:
        return _told(figures[CIRCUIT_IN_PLACE])
    whole = figures.get(WITH_BODIES)
    if whole is None:
        return alone
    added = whole.value - figures["inductance"].value
    return replace(alone, inductance=alone.inductance + added)


def _place(result: Result) -> tuple[str, ...]:
    whole = result.figures.get(WITH_BODIES)
    if CIRCUIT_IN_PLACE in result.figures:
        return (
            "coil in place: with eddy currents in all that conducts, weak currents (impedance_in_place)",
            LEFT_OUT,
        )
    if whole is not None:
        return (f"coil in place: {whole.says}, static, at every frequency", LEFT_OUT)
    if result.design.core or result.design.target:
        return ("the bare coil: what cores or target add to it cannot be computed (see cautions)", LEFT_OUT)
    if result.design.magnet:
        return ("coil in place: nothing but a magnet stands at it, so this is the bare coil", LEFT_OUT)
    return ("coil in place: nothing magnetic stands at it, so this is the bare coil",)
