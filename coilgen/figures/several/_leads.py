"""Leads of several windings, or of the joined coils of an array: how hot each gets.

Those down a tail, and those of windings whose terminals tell their width or how far they stand.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.figures.heat._assembly import laminate
from coilgen.figures.heat._leads import (
    Frame,
    Run,
    apart_from_winding,
    bare_fin,
    covers_of,
    led,
    others_of,
    parted_at_tail,
    runs,
    steps,
    strip_of,
)
from coilgen.figures.several._network import amplitudes, joints_of
from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import Trace
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Surroundings
    from coilgen.physics.heat.lead_body import Leads
    from coilgen.physics.heat.lead_nodes import Held
    from coilgen.physics.heat.plate.steady import PlateSteady

_APART = 1e-3
"""m, of places at which the board beneath a lead is told."""


@dataclass(frozen=True)
class LeadOfSeveral:
    """A lead from the winding outward, in steps over the board and down the tail, if there is one; number of
    its winding, or of coil 1; its current over that winding's."""

    near: Run
    far: Run
    winding: int
    share: float


def leads_of_several(case: Case) -> tuple[LeadOfSeveral, ...]:
    """Leads that have temperatures of their own; none where all are as wide as the turns and short."""
    found = _on_board if case.coil.tail is None else _down_tail
    return case.once("leads of several", lambda: tuple(found(case)))


def _on_board(case: Case) -> Iterator[LeadOfSeveral]:
    """Without a tail: where a winding has terminals of its own and tells of its leads."""
    if case.design.array is not None and case.design.array.joined:
        return
    for number, (placed, winding) in enumerate(zip(case.design.windings, case.windings, strict=True)):
        lies = Isometry.placed(placed.rotation, placed.centre)
        for run in runs(winding.case) if apart_from_winding(winding.case) else ():
            near = (replace(step, at=lies.point(step.at)) for step in run)
            yield LeadOfSeveral(tuple(near), (), number, 1.0)


def _down_tail(case: Case) -> Iterator[LeadOfSeveral]:
    assert case.coil.tail is not None
    frame = Frame.of(case.coil.tail)
    for chain, winding, share in _chains(case, frame):
        run = [step for trace in chain for step in steps(trace.path, trace)]
        near, far = parted_at_tail(run, frame)
        yield LeadOfSeveral(near, far, winding, share)


def resistances_apart(case: Case) -> list[float]:
    """Of leads, what warms no winding, at 20 degC, by winding, ohm; those of an array shared by all coils.

    Of a tail all that is in it. Without one leads warm their winding the less the farther out they are.
    """
    stackup, found = case.design.board.stackup, [0.0] * len(case.windings)
    for lead in leads_of_several(case):
        squares = sum(each.length / (each.width * stackup.copper[each.layer - 1]) for each in lead.far)
        if case.coil.tail is None:
            squares += _far_out(lead.near, stackup)
        found[lead.winding] += lead.share**2 * stackup.metal.resistivity * squares
    return [sum(found) / len(found)] * len(found) if case.design.array is not None else found


def _far_out(near: Run, stackup: Stackup) -> float:
    """Lengths over sections of a lead, 1/m, each step by the share that fades before it is at the winding."""
    out = np.cumsum([step.length for step in near])
    each = np.array([step.length / (step.width * stackup.copper[step.layer - 1]) for step in near])
    return float(each @ -np.expm1(-out / bare_fin(stackup)))


def _chains(case: Case, frame: Frame) -> Iterator[tuple[list[Trace], int, float]]:
    """Traces of each lead, outward, with its winding and its current over that one's."""
    if case.design.array is not None:
        pieces = joints_of(case).pieces
        _, runs, _ = amplitudes(case)
        marked = [(piece.trace, 0, float(runs[k])) for k, piece in enumerate(pieces) if piece.trace.is_lead]
    else:
        marked = [
            (trace, k, 1.0)
            for k, each in enumerate(case.windings)
            for trace in each.coil.traces
            if trace.is_lead
        ]
    outward = [(_outward(trace, frame), winding, share) for trace, winding, share in marked]
    for trace, winding, share in outward:
        if any(abs(other.path.end - trace.path.start) < 1e-9 for other, _, _ in outward):
            continue
        on = [other for other, _, _ in outward if abs(other.path.start - trace.path.end) < 1e-9]
        yield [trace, *on], winding, share


def _outward(trace: Trace, frame: Frame) -> Trace:
    inward = frame.along(trace.path.end) < frame.along(trace.path.start)
    return replace(trace, path=trace.path.reversed()) if inward else trace


def hottest_lead(
    case: Case,
    board: "PlateSteady",
    hottest: Floats,
    squared: Floats,
    air: "Surroundings",
    copper: Sequence[float],
) -> tuple[float, float]:
    """Hottest copper of all leads, degC, beside a board as warm as told, infinite where one melts; their
    resistance over that at 20 degC.

    hottest: of each winding, degC; squared: mean square of its current, A²; copper: its resistance over the
    expected one. Leads begin at the hottest of their winding's copper, which is on the warm side.
    """
    from coilgen.physics.heat.balance import node_resistance
    from coilgen.physics.heat.network import leads_alone
    from coilgen.physics.heat.steady import beside_held

    found = leads_of_several(case)
    if not found:
        return -math.inf, 1.0
    array = case.design.array is not None
    roots = [float(hottest.max()) if array else float(hottest[each.winding]) for each in found]
    squares = [
        each.share**2 * float(squared.mean() if array else squared[each.winding]) * copper[each.winding]
        for each in found
    ]
    if not any(squares):  # those of windings that nothing drives
        return -math.inf, 1.0
    held, warm = _held(case, found, board, roots)
    stackup = case.design.board.stackup
    net = leads_alone(
        _leads(case, found, squares),
        stackup.dielectric,
        laminate(case),
        held,
        air,
        emissivity=case.design.mounting.emissivity,
        temperature_coefficient=stackup.metal.temperature_coefficient,
    )
    rise = beside_held(net, warm - air.ambient, 1.0)
    if rise is None:
        return math.inf, 1.0
    grown = float(node_resistance(net, rise).sum() / net.resistance_20c.sum())
    return air.ambient + float(rise[net.parts["leads"]].max()), grown


def _held(
    case: Case, found: Sequence[LeadOfSeveral], board: "PlateSteady", roots: Sequence[float]
) -> "tuple[Held, Floats]":
    """Places at which the board beneath leads is told, and its temperatures there, degC."""
    from coilgen.physics.heat.lead_nodes import Held

    places, warm = [], []
    for lead, root in zip(found, roots, strict=True):
        ways = np.cumsum([step.length for step in lead.near])
        kept = [0.0]
        told = [root]
        for way, step in zip(ways, lead.near, strict=True):
            if way > kept[-1] + _APART:
                kept.append(float(way))
                told.append(_beneath(board, step.at))
        places.append(np.array(kept))
        warm += told
    tail = case.coil.tail
    at_tail = warm[0] if tail is None else _beneath(board, tail.origin)  # no lead meets it without one
    return Held(places=tuple(places)), np.array([*warm, at_tail])


def _beneath(board: "PlateSteady", at: complex) -> float:
    """Of the board's top nearest to a point, degC."""
    x, y = np.meshgrid(board.x, board.y)
    apart = np.where(np.isnan(board.field[0]), np.inf, np.abs(x + 1j * y - at))
    return float(board.field[0].ravel()[int(np.argmin(apart))])


def _leads(case: Case, found: Sequence[LeadOfSeveral], squares: Sequence[float]) -> "Leads":
    """As the network takes them; their ohms are watts, so that one ampere makes the heat of all."""
    from coilgen.physics.heat.lead_body import Leads

    stackup, tail = case.design.board.stackup, case.coil.tail
    frame = Frame(0j, -1j) if tail is None else Frame.of(tail)
    nears = [each.near for each in found]
    made = tuple(
        led(
            each.near,
            each.far,
            others_of(each.near, nears),
            stackup,
            [square * stackup.metal.resistivity / thick for thick in stackup.copper],
            frame,
        )
        for each, square in zip(found, squares, strict=True)
    )
    return Leads(
        leads=made,
        strip=None if tail is None else strip_of(case, tail),
        covers=covers_of(case),
    )
