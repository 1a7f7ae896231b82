"""Direct current in the coils of an array and in what joins them, and what follows for fields and heat."""

import math
from collections.abc import Mapping

import numpy as np

from coilgen.design.phase_drive import crest
from coilgen.design.phases import axis
from coilgen.layout.joint_network import Flow, Network, strip
from coilgen.layout.joint_network import network as network_of
from coilgen.layout.joint_parts import Joints
from coilgen.layout.joints import joints
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.result.figure import Case


def joints_of(case: Case) -> Joints:
    """What joins the coils of the array where they lie."""
    return case.once("joints", lambda: joints(case.design, [each.coil for each in case.windings]))


def network(case: Case) -> Network:
    """Of an array whose coils are joined."""
    return case.once("joint network", lambda: _network(case))


def _network(case: Case) -> Network:
    first = case.windings[0].case
    return network_of(case.design, joints_of(case), first.coil, float(first.value("resistance_20c")))


def pieces(case: Case) -> list[Conductor]:
    """The runs of the joints as arrays for the solvers."""
    return [strip(case.design, piece.trace) for piece in joints_of(case).pieces]


def phase_flows(case: Case) -> tuple[Flow, ...]:
    """One ampere through each phase and no other: where nothing joins its coils, through all in series."""
    array = case.design.array
    assert array is not None
    if not array.joined:
        return tuple(_in_series(case, phase) for phase in range(array.phase_count))
    return network(case).phases


def _in_series(case: Case, phase: int) -> Flow:
    own = np.array([each.sense * (each.phase == phase) for each in case.design.windings], float)
    resistance = sum(
        float(each.case.value("resistance_20c")) * abs(part)
        for each, part in zip(case.windings, own, strict=True)
    )
    return Flow(resistance=resistance, coils=own, pieces=np.zeros(0), barrels=np.zeros(0))


def line_flows(case: Case) -> Mapping[tuple[int, int], Flow]:
    """One ampere between each two terminals of a star or a delta."""
    return network(case).lines()


def at_crest(case: Case) -> tuple[Floats, Floats]:
    """Currents of coils (n,) and of pieces while phase A carries its whole current, over that of coil 1 by
    its own drive."""
    array = case.design.array
    assert array is not None
    weights = [math.cos(axis(phase, array.phase_count)) for phase in range(array.phase_count)]
    scale = crest(case.design) * array.side_by_side
    coils = sum(weight * flow.coils for weight, flow in zip(weights, phase_flows(case), strict=True))
    runs = sum(weight * flow.pieces for weight, flow in zip(weights, phase_flows(case), strict=True))
    return scale * np.asarray(coils), scale * np.asarray(runs)


def amplitudes(case: Case) -> tuple[Floats, Floats, Floats]:
    """Of balanced currents in coils, pieces and barrels, over the mean of the coils'."""
    array = case.design.array
    assert array is not None
    turned = [np.exp(1j * axis(phase, array.phase_count)) for phase in range(array.phase_count)]
    parts = ("coils", "pieces", "barrels")
    coils, runs, barrels = (
        abs(sum(turn * getattr(flow, part) for turn, flow in zip(turned, phase_flows(case), strict=True)))
        * array.side_by_side
        for part in parts
    )
    return coils, runs, barrels


def joints_heat(case: Case) -> float:
    """What the joints make of heat over what the coils make.

    The same for six steps as for balanced sinusoids: in both, of three phases, the mean product of two
    currents is -1/2 of the mean square of one, in star as in delta, and heat is made of these alone.
    """
    array = case.design.array
    if array is None or not array.joined:
        return 0.0
    coils, runs, barrels = amplitudes(case)
    found = network(case)
    made = float(runs**2 @ found.pieces) + float(barrels @ barrels) * found.barrel
    return made / (float(coils @ coils) * float(case.windings[0].case.value("resistance_20c")))


def heat_of_all(case: Case) -> float:
    """Heat of coils, as they share a phase's current, and of joints, over that of coils at equal shares."""
    array = case.design.array
    if array is None or not array.joined:
        return 1.0
    coils, _, _ = amplitudes(case)
    return float(np.mean(coils**2)) * (1 + joints_heat(case))
