"""A design as the heat model sees it: the board with its winding, what is mounted on it, the air."""

import math
from typing import TYPE_CHECKING

from coilgen.figures.heat._air import surroundings
from coilgen.figures.heat._ends import AIR_ENDS, JOINT_ENDS, End
from coilgen.figures.heat._layer_resistances import square_resistances, wound_resistances
from coilgen.figures.heat._leads import apart_from_winding, leads
from coilgen.figures.heat._mounted import (
    CORE_EMISSIVITY,
    core_in_pocket,
    cores_on,
    on_face,
    stiffened,
    stuck_magnet,
)
from coilgen.figures.heat._outline import (
    Ring,
    fin_length,
    lengthening,
    outline_is_winding,
    reach,
    warm,
    whole_outline,
    winding_ring,
)
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Assembly, CopperLayer, Laminate, WoundBoard
    from coilgen.physics.heat.lead_body import Leads
    from coilgen.physics.heat.outline import Outline


def assembly(case: Case, joints: End = "typical", air: End = "typical") -> "Assembly":
    """The design's board, cores, base plate and air; at an end of the bands of joints and of convection."""
    return case.once(f"heat assembly {joints} {air}", lambda: _assembly(case, joints, air))


def _assembly(case: Case, joints: End, air: End) -> "Assembly":
    from coilgen.physics.heat.body import Assembly, bounded

    plates = {face: on_face(case, face) for face in ("top", "bottom")}
    whole = Assembly(
        board=case.once("heat board", lambda: _board(case)),
        surroundings=surroundings(case),
        top=plates["top"],
        bottom=plates["bottom"],
        core=core_in_pocket(case, joints),
        leads=case.once("heat of leads", lambda: _leads(case)),
        temperature_coefficient=case.design.board.stackup.metal.temperature_coefficient,
    )
    return bounded(whole, air=AIR_ENDS.get(air), joints=JOINT_ENDS.get(joints))


def has_joints(case: Case) -> bool:
    """Whether anything is mounted on the board or in it."""
    found = assembly(case)
    return found.core is not None or found.top is not None or found.bottom is not None


def told(case: Case) -> str:
    """What the model leaves out or lumps of this design, for the figures' models; empty when nothing."""
    notes = []
    if outline_is_winding(case):
        notes.append("the board ends at the winding's outline")
    elif _outline(case) != whole_outline(case):
        notes.append("the board counts as far as its laminate spreads the heat, one fin length")
    if apart_from_winding(case):
        where = "the tail, cut along and across" if case.coil.tail else "their strip of board"
        notes.append(f"leads by themselves in {where}, their copper counted with the winding's")
    if len(stiffened(case)) < len(case.art.stiffeners) and case.coil.tail is None:
        notes.append("stiffeners that are not beneath the winding's middle are left out")
    notes += [
        f"the cores on the {face} taken as one body, as large as the largest of them"
        for face in ("top", "bottom")
        if len(cores_on(case, face)) > 1
    ]
    if any(stuck_magnet(case, face) for face in ("top", "bottom")):
        notes.append("the magnet taken as if it stood on the axis")
    if case.design.core:
        notes.append(f"cores of emissivity {CORE_EMISSIVITY:g}, only joined to the board")
    return "".join(f"; {note}" for note in notes)


def _board(case: Case) -> "WoundBoard":
    from coilgen.physics.heat.body import WoundBoard

    stackup, ring, outline = case.design.board.stackup, winding_ring(case), _outline(case)
    hole = min(sum(pocket.swept_area for pocket in case.art.pockets), ring.inner)
    return WoundBoard(
        outline=outline,
        winding_inner_radius=math.sqrt(ring.inner / math.pi),
        winding_outer_radius=math.sqrt(ring.outer / math.pi),
        layers=_layers(case, ring, outline.area - ring.area - hole),
        dielectric=stackup.dielectric,
        laminate=laminate(case),
        hole_radius=math.sqrt(hole / math.pi),
        emissivity=case.design.mounting.emissivity,
        inner_lengthening=lengthening(ring.inner, ring.inner_edge),
        outer_lengthening=lengthening(ring.outer, ring.outer_edge),
        stiffened=stiffened(case),
    )


def _leads(case: Case) -> "Leads | None":
    """Leads that make their heat where they are."""
    reach = _outline(case).radius - math.sqrt(winding_ring(case).outer / math.pi)
    return leads(case, square_resistances(case), reach, whole_outline(case))


def laminate(case: Case) -> "Laminate":
    """Of the board, as the models of heat take it."""
    from coilgen.physics.heat.body import Laminate

    facts = case.design.board.stackup.laminate
    return Laminate(
        conductivity=facts.heat_conductivity,
        conductivity_in_plane=facts.heat_conductivity_in_plane,
        density=facts.density,
        heat_capacity=facts.heat_capacity,
    )


def _outline(case: Case) -> "Outline":
    """The board as far as it warms; the formulas of still air are for faces that are warm all over."""
    if case.design.mounting.forced_convection is not None:
        return whole_outline(case)
    stackup = case.design.board.stackup
    sheet = stackup.laminate.heat_conductivity_in_plane * stackup.thickness
    sheet += sum(stiff.sheet for stiff in stiffened(case))
    return case.once("heat outline", lambda: warm(whole_outline(case), _warm_radius(case, fin_length(sheet))))


def _warm_radius(case: Case, fin: float) -> float:
    """Of the winding, or of a plate that carries its heat farther, and a fin length round it, m."""
    plates = (on_face(case, face) for face in ("top", "bottom"))
    return max(
        reach(winding_ring(case), fin),
        *(0.0 if plate is None else plate.outline.radius + fin for plate in plates),
    )


def _layers(case: Case, ring: Ring, rest: float) -> "tuple[CopperLayer, ...]":
    """Copper layers of the stack-up; a board with one has a bare face for the other."""
    from coilgen.physics.heat.body import CopperLayer

    stackup, resistance = case.design.board.stackup, wound_resistances(case)
    layers = []
    for layer, thickness in enumerate(stackup.copper, start=1):
        wound = sum(
            trace.path.length * trace.width for trace in case.art.traces_on(layer) if not trace.is_lead
        )
        pads = sum(
            math.pi / 4 * pad.diameter**2 for pad in case.art.pads if pad.layer == layer and not pad.span
        )
        layers.append(
            CopperLayer(
                thickness=thickness,
                coverage=min(1.0, wound / ring.area),
                island_coverage=min(1.0, pads / rest) if rest > pads else 0.0,
                resistance_20c=resistance[layer - 1],
            )
        )
    return (*layers, CopperLayer(thickness=0.0)) if len(layers) == 1 else tuple(layers)
