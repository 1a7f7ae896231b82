"""What a meter reads of the bare board, sound and with a turn shorted: which test finds the short."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.figures.electrical._turns import inductances_of_turns
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity

if TYPE_CHECKING:
    from coilgen.physics.eddy.shorted_turn import TurnsCircuit

Complexes = NDArray[np.complex128]

Mask = NDArray[np.bool_]

WHOLE = 0.5
"""Parts of a turn below this are left out: leads that run along the winding."""
HIGHEST = 1 / 3
"""Of the self-resonance: what a meter reads above it is more capacitance than coil."""


def _shorted_turn(case: Case) -> Answer | None:
    circuit, beside = _circuit(case)
    if not beside.any():
        return None
    told = [row for row in case.value("impedance") if row["frequency"] <= HIGHEST * _resonance(case)]
    return Answer(
        value=[_row(case, circuit, beside, row) for row in told],
        model="turns as rings, one closed on itself; at each frequency the turn that shows least, within the "
        "band of the resistance; in series mode, winding capacitance included, no core or metal near; "
        "loss ratio: resistance over that of the same board at direct current",
    )


def _circuit(case: Case) -> "tuple[TurnsCircuit, Mask]":
    """The winding's turns, and which of them have a neighbour on their layer."""
    from coilgen.physics.eddy.shorted_turn import TurnsCircuit
    from coilgen.physics.eddy.turns import turns

    winding = turns(case.conductor)
    whole = np.flatnonzero(np.abs(winding.fraction) > WHOLE)
    ohms = case.design.board.stackup.metal.resistivity * winding.length / (winding.width * winding.thickness)
    path, of_paths = _paths(case, winding.z[whole])
    circuit = TurnsCircuit(
        inductance=inductances_of_turns(case)[np.ix_(whole, whole)],
        resistance=ohms[whole],
        path=path,
        path_resistance=of_paths,
    )
    level = case.conductor.layer[winding.piece[whole]]
    return circuit, np.equal.outer(level, level).sum(axis=1) > 1


def _paths(case: Case, heights: Floats) -> "tuple[NDArray[np.int64], Floats]":
    """Which path each turn at these heights (m) belongs to, and each path's resistance, ohm.

    Layers in parallel are paths side by side.
    """
    together, coil = case.value("resistance_20c"), case.coil
    if not coil.parallel:
        return np.zeros(len(heights), dtype=np.int64), np.array([together])
    stackup = case.design.board.stackup
    layers = np.array([stackup.height(coil.traces[index].layer) for index in coil.parallel])
    shares = np.array([case.shares[index] for index in coil.parallel])
    return np.abs(heights[:, None] - layers).argmin(axis=1), together / shares


def _ring_inductance(circuit: "TurnsCircuit") -> float:
    """Of all turns with the direct current's shares in the paths, H."""
    shares = 1 / circuit.path_resistance
    current = (shares / shares.sum())[circuit.path]
    return float(current @ circuit.inductance @ current)


def _resonance(case: Case) -> float:
    found = case.figure("self_resonance")
    return np.inf if found is None else float(found.value)


def _row(case: Case, circuit: "TurnsCircuit", beside: Mask, sound: dict[str, float]) -> dict[str, float]:
    """What a meter reads of the sound coil, and the nearest that it reads with one of some turns shorted."""
    omega, direct = 2 * np.pi * sound["frequency"], case.value("resistance_20c")
    read = _read(case, omega, np.array([complex(sound["resistance"], omega * sound["inductance"])]))[0]
    shorted = [_shorted(case, circuit, sound, factor)[:, beside] for factor in _spread(case)]
    own = {"inductance": read.imag / omega, "loss_ratio": read.real / direct}
    row = {"frequency": sound["frequency"]}
    for what, values in zip(own, np.concatenate(shorted, axis=1), strict=True):
        row |= {what: float(own[what]), f"{what}_shorted": _nearest(values, float(own[what]))}
    return row


def _spread(case: Case) -> tuple[float, ...]:
    """Least, expected and largest resistance that the fab may make, over the expected one."""
    cold = case.figure("resistance_20c")
    assert cold is not None
    low, high = cold.band or (cold.value, cold.value)
    return low / cold.value, 1.0, high / cold.value


def _shorted(case: Case, circuit: "TurnsCircuit", sound: dict[str, float], factor: float) -> Floats:
    """Inductance and loss ratio read with each turn shorted, (2, n), of copper of so many times the
    resistance."""
    from coilgen.physics.eddy.shorted_turn import impedance_change

    omega, direct = 2 * np.pi * sound["frequency"], case.value("resistance_20c")
    hot = circuit.hotter(factor * sound["resistance"] / direct)
    change = impedance_change(hot, sound["frequency"])
    scale = case.value("inductance") / _ring_inductance(circuit)
    left = complex(factor * sound["resistance"], omega * sound["inductance"]) + change.real
    read = _read(case, omega, left + 1j * scale * change.imag)
    at_direct = factor * (direct + impedance_change(circuit, 0.0).real)
    return np.array([read.imag / omega, read.real / at_direct])


def _read(case: Case, omega: float, impedance: Complexes) -> Complexes:
    """Impedances with the winding's capacitance across them, ohm."""
    found = case.figure("winding_capacitance")
    capacitance = 0.0 if found is None else found.value
    return np.asarray(impedance / (1 + 1j * omega * capacitance * impedance))


def _nearest(values: Floats, sound: float) -> float:
    return float(values[np.abs(values - sound).argmin()])


FIGURES = (
    Quantity(
        name="shorted_turn",
        unit="table(frequency Hz, inductance H, inductance_shorted H, loss_ratio 1, loss_ratio_shorted 1)",
        says="what a meter reads of the bare board, sound and with the turn shorted that shows least",
        group="electrical",
        compute=_shorted_turn,
        of="each",
    ),
)
