"""Direct current in the coils of an array and in what joins them: a network of resistances, node by node."""

from collections.abc import Hashable, Mapping, Sequence
from functools import cached_property

import numpy as np

from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.layout.coil import Coil, Trace, conductor
from coilgen.layout.joint_parts import END, START, Joints, Pin, Spot
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.circuit.resistance import barrel_resistance, trace_resistance


@dataclass(frozen=True, kw_only=True)
class Flow:
    """One ampere from one place of the board to another.

    resistance: between them, ohm. coils (n,): current of each coil, A, positive from its odd to its even
    terminal. pieces, barrels: of each of the joints, from its start to its end, from its top to its bottom.
    """

    resistance: float
    coils: Floats
    pieces: Floats
    barrels: Floats


@dataclass(frozen=True, kw_only=True)
class Network:
    """Coils, pieces of joints and barrels as branches between places. coil: ohm at 20 degC, of each."""

    design: Design
    joints: Joints
    coil: float

    @cached_property
    def _branches(self) -> tuple[tuple[Hashable, Hashable], ...]:
        coils = [(Pin(k, START), Pin(k, END)) for k in range(len(self.design.windings))]
        pieces = [(piece.start, piece.end) for piece in self.joints.pieces]
        return (*coils, *pieces, *((barrel.top, barrel.bottom) for barrel in self.joints.barrels))

    @cached_property
    def pieces(self) -> Floats:
        """Resistance of each piece, ohm at 20 degC."""
        metal = self.design.board.stackup.metal
        traces = (piece.trace for piece in self.joints.pieces)
        return np.array([trace_resistance(strip(self.design, each), metal.resistivity) for each in traces])

    @cached_property
    def barrel(self) -> float:
        """Resistance of a plated hole through the board, ohm at 20 degC."""
        stackup, plating = self.design.board.stackup, self.design.tolerance.plating[1]
        length = abs(stackup.height(1) - stackup.height(stackup.layers))
        resistivity = stackup.metal.resistivity
        return float(barrel_resistance(length, self.design.via.drill, plating, resistivity))

    @cached_property
    def _resistances(self) -> Floats:
        coils = np.full(len(self.design.windings), self.coil)
        return np.concatenate([coils, self.pieces, np.full(len(self.joints.barrels), self.barrel)])

    def flow(self, source: Hashable, sink: Hashable, without: Sequence[int] = ()) -> Flow:
        """One ampere from a place to another; without: coils that carry none."""
        named = dict.fromkeys(place for ends in self._branches for place in ends)
        places = {place: k for k, place in enumerate(named)}
        conductance = 1.0 / self._resistances
        conductance[list(without)] = 0.0
        incidence = np.zeros((len(self._branches), len(places)))
        for k, (start, end) in enumerate(self._branches):
            incidence[k, places[start]] += 1.0
            incidence[k, places[end]] -= 1.0
        injected = np.zeros(len(places))
        injected[places[source]], injected[places[sink]] = 1.0, -1.0
        laplacian = incidence.T @ (conductance[:, None] * incidence)
        potential = np.linalg.lstsq(laplacian, injected, rcond=1e-13)[0]
        current = conductance * (incidence @ potential)
        coils, pieces, barrels = np.split(
            current, np.cumsum([len(self.design.windings), len(self.joints.pieces)])
        )
        return Flow(
            resistance=float(potential[places[source]] - potential[places[sink]]),
            coils=np.array([each.sense for each in self.design.windings], float) * coils,
            pieces=pieces,
            barrels=barrels,
        )

    @cached_property
    def phases(self) -> tuple[Flow, ...]:
        """One ampere through each phase and no other."""
        array = self.design.array
        assert array is not None
        return tuple(self._phase(phase) for phase in range(array.phase_count))

    def _phase(self, phase: int) -> Flow:
        others = [k for k, each in enumerate(self.design.windings) if each.phase != phase]
        return self.flow(*self._ends(phase), others)

    def _ends(self, phase: int) -> tuple[Hashable, Hashable]:
        """Where a phase begins and ends: at terminals, or in the middle of the star point's track."""
        array, place = self.design.array, self.joints.place
        assert array is not None
        if array.connection == "open":
            return place[2 * phase + 1], place[2 * phase + 2]
        if array.connection == "delta":
            return place[phase + 1], place[(phase + 1) % array.phase_count + 1]
        return place[phase + 1], star_point(self.joints)

    def lines(self) -> Mapping[tuple[int, int], Flow]:
        """One ampere between each two terminals of a star or a delta."""
        array, place = self.design.array, self.joints.place
        assert array is not None
        numbers = range(1, array.phase_count + 1)
        pairs = [(one, other) for one in numbers for other in numbers if one < other]
        return {(one, other): self.flow(place[one], place[other]) for one, other in pairs}

    @property
    def balanced(self) -> float:
        """Of a phase while the currents of all sum to nothing, ohm, the mean of all: in a star half of what
        two terminals measure, as what phases share at its point carries the current of none."""
        array = self.design.array
        assert array is not None
        if array.connection == "star" and array.phase_count > 1:
            return float(np.mean([flow.resistance for flow in self.lines().values()])) / 2
        return float(np.mean([flow.resistance for flow in self.phases]))

    @property
    def coils_share(self) -> float:
        """Of a phase's voltage, what falls over its coils; the rest falls over what joins them."""
        array = self.design.array
        assert array is not None
        own = len(self.design.windings) // array.phase_count
        coils = self.coil * own if array.coils == "series" else self.coil / own
        return coils / self.balanced


def network(design: Design, joints: Joints, coil: Coil, resistance: float) -> Network:
    """Of an array whose coils, alike, have a resistance, ohm at 20 degC: a lead on the bottom goes on to the
    top through its pin."""
    below = sum(end.layer == design.board.stackup.layers for end in coil.terminals)
    bare = Network(design=design, joints=joints, coil=resistance)
    return Network(design=design, joints=joints, coil=resistance + below * bare.barrel)


def strip(design: Design, trace: Trace) -> Conductor:
    """A joint's trace as arrays for the solvers."""
    alone = Coil(traces=(trace,), vias=(), terminals=(), pockets=(), turns=0.0)
    return conductor(alone, design.board.stackup)


def star_point(found: Joints) -> Hashable:
    """The place in the middle of the star point's track."""
    star = next(
        node for node in found.nodes if node.terminal is None and all(pin.end == END for pin in node.pins)
    )
    below: dict[Spot, Spot] = {barrel.top: barrel.bottom for barrel in found.barrels}
    reached = [below[piece.end] for piece in found.pieces if piece.start in star.pins]
    return reached[len(reached) // 2]
