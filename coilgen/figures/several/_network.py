"""Direct current in the coils of an array and in what joins them: a network of resistances, node by node."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coilgen.design.arrays import Array
from coilgen.layout.coil import Coil, Trace, Via, conductor
from coilgen.layout.joints import END, START, Joints, Node, Piece, Pin, joints
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.circuit.resistance import barrel_resistance, trace_resistance
from coilgen.result.figure import Case


@dataclass(frozen=True, kw_only=True)
class Flow:
    """One ampere from one place of the board to another.

    resistance: between them, ohm. coils (n,): current of each coil, A, positive from its odd to its even
    terminal. pieces: that of each piece of the joints, from its start to its end.
    """

    resistance: float
    coils: Floats
    pieces: Floats


@dataclass(frozen=True, kw_only=True)
class Network:
    """Nodes, by place, and branches between them: coils first, then pieces of joints. Resistances in ohm."""

    senses: Floats
    branches: tuple[tuple[Hashable, Hashable], ...]
    resistances: Floats

    def flow(self, source: Hashable, sink: Hashable, without: Sequence[int] = ()) -> Flow:
        """One ampere from a place to another; without: coils that carry none."""
        named = dict.fromkeys(place for ends in self.branches for place in ends)
        places = {place: k for k, place in enumerate(named)}
        conductance = 1.0 / self.resistances
        conductance[list(without)] = 0.0
        incidence = np.zeros((len(self.branches), len(places)))
        for k, (start, end) in enumerate(self.branches):
            incidence[k, places[start]] += 1.0
            incidence[k, places[end]] -= 1.0
        injected = np.zeros(len(places))
        injected[places[source]], injected[places[sink]] = 1.0, -1.0
        laplacian = incidence.T @ (conductance[:, None] * incidence)
        potential = np.linalg.lstsq(laplacian, injected, rcond=1e-13)[0]
        current = conductance * (incidence @ potential)
        count = len(self.senses)
        return Flow(
            resistance=float(potential[places[source]] - potential[places[sink]]),
            coils=self.senses * current[:count],
            pieces=current[count:],
        )


def joints_of(case: Case) -> Joints:
    """What joins the coils of the array where they lie."""
    return case.once("joints", lambda: joints(case.design, [each.coil for each in case.windings]))


def network(case: Case) -> Network:
    """Of an array whose coils are joined."""
    return case.once("joint network", lambda: _network(case))


def _network(case: Case) -> Network:
    found = joints_of(case)
    coils = [(Pin(k, START), Pin(k, END)) for k in range(len(case.windings))]
    own = [float(each.case.value("resistance_20c")) for each in case.windings]
    return Network(
        senses=np.array([each.sense for each in case.design.windings], float),
        branches=(*coils, *((piece.start, piece.end) for piece in found.pieces)),
        resistances=np.array([*own, *(_resistance(case, piece, found.vias) for piece in found.pieces)]),
    )


def _resistance(case: Case, piece: Piece, vias: Sequence[Via]) -> float:
    """Of a piece's copper at 20 degC, and of half the barrels at its ends that tracks are reached through."""
    stackup = case.design.board.stackup
    flat = trace_resistance(strip(case, piece.trace), stackup.metal.resistivity)
    length = abs(stackup.height(1) - stackup.height(stackup.layers))
    plating = case.design.tolerance.plating[1]
    barrels = [
        float(barrel_resistance(length, via.drill, plating, stackup.metal.resistivity))
        for via in vias
        for end in (piece.trace.path.start, piece.trace.path.end)
        if abs(via.at - end) < _SAME and piece.trace.layer > 1
    ]
    return flat + sum(barrels) / 2


_SAME = 1e-8
"""m, within which a piece ends at a via."""


def strip(case: Case, trace: Trace) -> Conductor:
    """A joint's trace as arrays for the solvers."""
    alone = Coil(traces=(trace,), vias=(), terminals=(), pockets=(), turns=0.0)
    return conductor(alone, case.design.board.stackup)


def phase_flows(case: Case) -> tuple[Flow, ...]:
    """One ampere through each phase and no other: where nothing joins its coils, through all in series."""
    array = case.design.array
    assert array is not None
    if not array.joined:
        return tuple(_in_series(case, phase) for phase in range(array.phase_count))
    return case.once("phase flows", lambda: tuple(_phases(case, array)))


def _in_series(case: Case, phase: int) -> Flow:
    own = np.array([each.sense * (each.phase == phase) for each in case.design.windings], float)
    resistance = sum(
        float(each.case.value("resistance_20c")) * abs(part)
        for each, part in zip(case.windings, own, strict=True)
    )
    return Flow(resistance=resistance, coils=own, pieces=np.zeros(0))


def _phases(case: Case, array: Array) -> list[Flow]:
    found, circuit = joints_of(case), network(case)
    flows = []
    for phase in range(array.phase_count):
        others = [k for k, each in enumerate(case.design.windings) if each.phase != phase]
        source, sink = _ends(array, found, phase)
        flows.append(circuit.flow(source, sink, others))
    return flows


def _ends(array: Array, found: Joints, phase: int) -> tuple[Hashable, Hashable]:
    """Where a phase begins and ends: at terminals, or in the middle of the star point's track."""
    if array.connection == "open":
        return found.place[2 * phase + 1], found.place[2 * phase + 2]
    if array.connection == "delta":
        return found.place[phase + 1], found.place[(phase + 1) % array.phase_count + 1]
    return found.place[phase + 1], star_point(found)


def star_point(found: Joints) -> Hashable:
    """The place in the middle of the star point's track."""
    star = next(node for node in found.nodes if node.terminal is None and _is_star(node))
    reached = [piece.end for piece in found.pieces if piece.start in star.pins]
    return reached[len(reached) // 2]


def _is_star(node: Node) -> bool:
    return all(pin.end == END for pin in node.pins)


def line_flows(case: Case) -> Mapping[tuple[int, int], Flow]:
    """One ampere between each two terminals of a star or a delta."""
    array = case.design.array
    assert array is not None
    found, circuit = joints_of(case), network(case)
    count = array.phase_count
    pairs = [(one + 1, other + 1) for one in range(count) for other in range(one + 1, count)]
    return {(one, other): circuit.flow(found.place[one], found.place[other]) for one, other in pairs}
