"""Direct current in the coils of an array and in what joins them: a network of resistances, node by node."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coilgen.design.arrays import Array
from coilgen.layout.coil import Coil, Trace, conductor
from coilgen.layout.joint_parts import END, START, Joints, Node, Pin, Spot
from coilgen.layout.joints import joints
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
    """Nodes, by place, and branches between them: coils first, then pieces of joints, then their barrels.

    Resistances in ohm. pieces: how many.
    """

    senses: Floats
    branches: tuple[tuple[Hashable, Hashable], ...]
    resistances: Floats
    pieces: int

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
            pieces=current[count : count + self.pieces],
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
    pieces = [(piece.start, piece.end) for piece in found.pieces]
    barrels = [(barrel.top, barrel.bottom) for barrel in found.barrels]
    stackup = case.design.board.stackup
    flat = [trace_resistance(strip(case, piece.trace), stackup.metal.resistivity) for piece in found.pieces]
    return Network(
        senses=np.array([each.sense for each in case.design.windings], float),
        branches=(*coils, *pieces, *barrels),
        resistances=np.array([*[_coil(case)] * len(coils), *flat, *[_barrel(case)] * len(barrels)]),
        pieces=len(pieces),
    )


def _coil(case: Case) -> float:
    """Of a coil between the tops of its pins, ohm at 20 degC: a lead on the bottom reaches them through."""
    ends = case.windings[0].case.coil.terminals
    below = sum(end.layer == case.design.board.stackup.layers for end in ends)
    return float(case.windings[0].case.value("resistance_20c")) + below * _barrel(case)


def _barrel(case: Case) -> float:
    """Of a plated hole through the board, ohm at 20 degC."""
    stackup, plating = case.design.board.stackup, case.design.tolerance.plating[1]
    length = abs(stackup.height(1) - stackup.height(stackup.layers))
    return float(barrel_resistance(length, case.design.via.drill, plating, stackup.metal.resistivity))


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
    below: dict[Spot, Spot] = {barrel.top: barrel.bottom for barrel in found.barrels}
    reached = [below[piece.end] for piece in found.pieces if piece.start in star.pins]
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
