"""The circuit that behaves like the coil with the metal that stands at it."""

import numpy as np

from coilgen.figures.electrical.impedance import circuit, elements
from coilgen.figures.in_place._metal import metal, pieces
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.units import per_cent

_LEAST = 1e-6
"""Of all that the decays take from the inductance: weaker ones are left out."""
_LEFT = 0.02
"""Of the bare inductance, least: what is left in series when currents hold all flux out of the metal."""


def circuit_in_place(case: Case) -> EquivalentCircuit | None:
    """The bare coil's circuit with a stage for each decay of the metal's currents; None without metal."""
    found = metal(case, "weak")
    if found is None:
        return None
    alone, decays = circuit(case), found.relaxation
    kept = decays.strength > _LEAST * max(decays.strength.sum(), 1e-30)
    strength, time = decays.strength[kept], decays.time[kept]
    shortest = _LEFT * alone.inductance
    left = alone.inductance + decays.static - float(strength.sum())
    if left < shortest:
        strength = strength * (1 - (shortest - left) / strength.sum())
    return EquivalentCircuit(
        resistance=alone.resistance,
        inductance=max(left, shortest),
        stage_resistance=np.concatenate([alone.stage_resistance, strength / time]),
        stage_inductance=np.concatenate([alone.stage_inductance, strength]),
        capacitance=alone.capacitance,
        resistance_error=alone.resistance_error,
        inductance_error=alone.inductance_error,
    )


def _circuit(case: Case) -> Answer | None:
    found = circuit_in_place(case)
    if found is None:
        return None
    return Answer(
        value=elements(found),
        model="the bare coil's circuit with a stage of R parallel to L for each decay of the currents in "
        f"{', '.join(piece.name for piece in pieces(case))}: all elements positive, permeabilities in weak "
        f"fields; within {per_cent(_deviation(case, found), 2)} of impedance_in_place",
    )


def _deviation(case: Case, found: EquivalentCircuit) -> float:
    """Largest relative deviation from the table of the impedance in place, without the capacitance."""
    rows = case.value("impedance_in_place")
    omega = 2 * np.pi * _column(rows, "frequency")
    told = _column(rows, "resistance") + 1j * omega * _column(rows, "inductance")
    reactance = 1j * omega[:, None] * found.stage_inductance
    stages = (found.stage_resistance * reactance / (found.stage_resistance + reactance)).sum(axis=1)
    made = found.resistance + 1j * omega * found.inductance + stages
    return float(np.max(np.abs(made / told - 1)))


def _column(rows: list[dict[str, float]], name: str) -> Floats:
    return np.array([row[name] for row in rows])


FIGURES = (
    Quantity(
        name="equivalent_circuit_in_place",
        unit="table(element, value, unit)",
        says="elements of a circuit that behaves like the coil with what stands at it",
        group="electrical",
        compute=_circuit,
    ),
)
