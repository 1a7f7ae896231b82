"""Circuits of a board of several windings: each winding's own ladder, coupled by mutual inductances."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.design.arrays import Array
from coilgen.exports.simulation._circuit import bare
from coilgen.frozen import dataclass
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit, impedance
from coilgen.result.result import Result

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
_LEAST_SELF = 1e-6
"""Of the largest self inductance: least eigenvalue of inductances that no simulator takes for active."""


@dataclass(frozen=True, kw_only=True)
class Coupled:
    """n windings as circuits.

    own: each winding's ladder. mutual (n, n) H: between the ladders' inductances L0, 0 on the diagonal.
    between: capacitances by pair of windings, counted from 0, F. simple: the ladders are left out, as the
    windings are coupled too closely to keep them, or are phases of several coils. nodes: the two ends of
    each: numbers of terminals, or a name within. terminals: of the board. placed: inductances are those with
    cores and target where they stand, for small changes and without the bodies' eddy currents.
    """

    names: tuple[str, ...]
    own: tuple[EquivalentCircuit, ...]
    mutual: Floats
    between: dict[tuple[int, int], float]
    simple: bool
    nodes: tuple[tuple[str, str], ...]
    terminals: int
    placed: bool

    @property
    def near(self) -> str:
        """What stands near, in words."""
        if self.placed:
            return "with cores and target, for small changes, their eddy currents and other metal left out"
        return "no core or metal near"

    @property
    def by_winding(self) -> bool:
        """Whether each winding has its own two terminals."""
        return self.terminals == 2 * len(self.own)


def coupled(result: Result) -> Coupled | None:
    """The circuits of a board of several windings, with cores and target; None without figures.

    Of an array whose coils are joined they are the phases.
    """
    if result.design.array is not None and result.design.array.joined:
        return _phases(result, result.design.array)
    own = [bare(each.figures) for each in result.windings]
    matrix = result.figures.get("inductance_matrix")
    if matrix is None or not own:
        return None
    ladders = tuple(circuit for circuit in own if circuit is not None)
    if len(ladders) < len(own):
        return None
    alone = np.array(matrix.value, dtype=np.float64)
    whole, placed = _in_place(result, "inductance_matrix_in_place", alone)
    mutual, added = whole - np.diag(np.diag(whole)), np.diag(whole - alone)
    ladders = tuple(
        replace(each, inductance=each.inductance + float(more))
        for each, more in zip(ladders, added, strict=True)
    )
    simple = not _passive(ladders, mutual)
    return Coupled(
        names=tuple(each.name for each in result.windings),
        own=tuple(map(_without_stages, ladders)) if simple else ladders,
        mutual=mutual,
        between=_between(result),
        simple=simple,
        nodes=tuple((str(2 * k + 1), str(2 * k + 2)) for k in range(len(ladders))),
        terminals=2 * len(ladders),
        placed=placed,
    )


def _in_place(result: Result, name: str, alone: Floats) -> tuple[Floats, bool]:
    """Inductances with cores and target, H, where they are told, and whether they are."""
    figure = result.figures.get(name)
    return (alone, False) if figure is None else (np.array(figure.value, dtype=np.float64), True)


STAR = "STAR"


def _phases(result: Result, array: Array) -> Coupled | None:
    """Phases with the resistance and inductance of all their copper, and the capacitance of their coils."""
    resistances, matrix = (
        result.figures.get(name) for name in ("phase_resistance", "phase_inductance_matrix")
    )
    coil = bare(result.windings[0].figures)
    if resistances is None or matrix is None or coil is None:
        return None
    alone = np.array(matrix.value, dtype=np.float64)
    whole, placed = _in_place(result, "phase_inductance_matrix_in_place", alone)
    coils = len(result.windings) / array.phase_count
    capacitance = coil.capacitance * (coils if array.coils == "parallel" else 1 / coils)
    own = tuple(
        EquivalentCircuit(
            resistance=float(resistance),
            inductance=float(inductance),
            stage_resistance=np.empty(0),
            stage_inductance=np.empty(0),
            capacitance=capacitance,
            resistance_error=0.0,
            inductance_error=0.0,
        )
        for resistance, inductance in zip(resistances.value, np.diag(whole), strict=True)
    )
    return Coupled(
        names=tuple(resistances.labels),
        own=own,
        mutual=whole - np.diag(np.diag(whole)),
        between={},
        simple=True,
        nodes=tuple(_ends(array, phase) for phase in range(len(own))),
        terminals=len(result.coil.terminals),
        placed=placed,
    )


def _ends(array: Array, phase: int) -> tuple[str, str]:
    if array.connection == "star":
        return str(phase + 1), STAR
    if array.connection == "delta":
        return str(phase + 1), str((phase + 1) % array.phase_count + 1)
    return str(2 * phase + 1), str(2 * phase + 2)


def _passive(ladders: tuple[EquivalentCircuit, ...], mutual: Floats) -> bool:
    """Whether the inductances L0 with the mutual ones store energy for every set of currents."""
    matrix = mutual + np.diag([circuit.inductance for circuit in ladders])
    return bool(np.linalg.eigvalsh(matrix).min() > _LEAST_SELF * np.diag(matrix).max())


def _without_stages(circuit: EquivalentCircuit) -> EquivalentCircuit:
    """Its resistance and whole inductance at low frequency, alike at all."""
    return EquivalentCircuit(
        resistance=circuit.resistance,
        inductance=circuit.inductance + float(circuit.stage_inductance.sum()),
        stage_resistance=np.empty(0),
        stage_inductance=np.empty(0),
        capacitance=circuit.capacitance,
        resistance_error=0.0,
        inductance_error=0.0,
    )


def _between(result: Result) -> dict[tuple[int, int], float]:
    figure = result.figures.get("capacitance_between")
    places = {each.name: place for place, each in enumerate(result.windings)}
    return {
        (places[row["winding"]], places[row["other"]]): float(row["capacitance"])
        for row in ([] if figure is None else figure.value)
        if row["capacitance"] > 0
    }


def impedance_matrix(circuits: Coupled, frequency: float) -> Complexes:
    """(n, n) ohm, between the ports of the windings, each from its odd to its even terminal.

    Capacitance between windings is left out: ports across windings that nothing joins do not see it. That of
    each winding lies across its port.
    """
    omega = 2 * np.pi * frequency
    ladders = [EquivalentCircuit(**{**vars(circuit), "capacitance": 0.0}) for circuit in circuits.own]
    series = np.diag([complex(impedance(circuit, [frequency])[0]) for circuit in ladders])
    series = series + 1j * omega * circuits.mutual
    across = 1j * omega * np.diag([circuit.capacitance for circuit in circuits.own])
    admittance = np.linalg.inv(series) + across
    if circuits.by_winding:
        return np.asarray(np.linalg.inv(admittance))
    return _between_terminals(circuits, admittance)


def _between_terminals(circuits: Coupled, admittance: Complexes) -> Complexes:
    """Of phases in star or delta, for ports from each terminal but the last to the last."""
    names = [*map(str, range(1, circuits.terminals + 1)), STAR]
    incidence = np.zeros((len(names), len(circuits.nodes)))
    for phase, (start, end) in enumerate(circuits.nodes):
        incidence[names.index(start), phase] += 1.0
        incidence[names.index(end), phase] -= 1.0
    whole = incidence @ admittance @ incidence.T
    last = circuits.terminals - 1
    kept = [k for k in range(len(names)) if k != last and np.any(incidence[k])]
    return np.asarray(np.linalg.inv(whole[np.ix_(kept, kept)])[:last, :last])
