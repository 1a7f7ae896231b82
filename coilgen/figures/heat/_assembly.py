"""A design as the heat model sees it: the board with its winding, what is mounted on it, the air."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal, TypedDict

import numpy as np

from coilgen.artwork.art import copper_extent
from coilgen.catalogue import rows
from coilgen.design.bodies import RECTANGULAR, Body, Core, Magnet, Target
from coilgen.design.design import Design
from coilgen.design.mounting import BasePlate
from coilgen.figures.heat._leads import apart_from_winding, layer_squares, leads
from coilgen.geometry.closed import rectangle
from coilgen.geometry.containment import contains
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.layout.coil import Trace
from coilgen.layout.seen import copper_edges
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.circuit.resistance import trace_resistance
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import (
        Assembly,
        CopperLayer,
        Laminate,
        MountedPlate,
        PocketCore,
        Surroundings,
        WoundBoard,
    )
    from coilgen.physics.heat.lead_body import Leads
    from coilgen.physics.heat.outline import Outline

End = Literal["cool", "typical", "hot"]
"""Which end of a band: of the joints, or of convection."""
JOINT_ENDS: Mapping[End, int] = {"cool": 0, "hot": 1}
AIR_ENDS: Mapping[End, int] = {"cool": 1, "hot": 0}
CORE_EMISSIVITY = 0.3
"""Of cores: bare or plated metal, a little dull; oxidised steel has more (common practice, no source)."""
_LOSS = 40.0
"""W/(m² K), convection and radiation of both faces of a small hot board, for its fin length alone."""


@dataclass(frozen=True, kw_only=True)
class Ring:
    """The winding seen from the top: areas that its inner and outer edge enclose m², their lengths m, and
    the height on the board m."""

    inner: float
    outer: float
    inner_edge: float
    outer_edge: float
    height: float

    @property
    def area(self) -> float:
        """Of the ring, m²."""
        return self.outer - self.inner


def assembly(case: Case, joints: End = "typical", air: End = "typical") -> "Assembly":
    """The design's board, cores, base plate and air; at an end of the bands of joints and of convection."""
    from coilgen.physics.heat.body import Assembly, bounded

    plates = {face: _on_face(case, face) for face in ("top", "bottom")}
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
    elif _outline(case) != _whole_outline(case):
        notes.append("the board counts as far as its laminate spreads the heat, one fin length")
    if apart_from_winding(case):
        where = "the tail, cut along and across" if case.coil.tail else "their strip of board"
        notes.append(f"leads by themselves in {where}, their copper counted with the winding's")
    if case.design.stiffener:
        notes.append("stiffeners only in the joint of what stands on them")
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


def outline_is_winding(case: Case) -> bool:
    """Whether no board is told, or one too small for its winding, so that the winding's edge is taken."""
    outline = case.art.outline
    return outline is None or outline.swept_area < winding_ring(case).outer


def winding_ring(case: Case) -> Ring:
    """The winding's edges."""
    return case.once("heat ring", lambda: _ring(case))


def _ring(case: Case) -> Ring:
    outer, inner = copper_edges(case.design)
    low, high = extent(outer)
    return Ring(
        inner=inner.swept_area,
        outer=outer.swept_area,
        inner_edge=inner.length,
        outer_edge=outer.length,
        height=(high - low).imag,
    )


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
        inner_lengthening=_lengthening(ring.inner, ring.inner_edge),
        outer_lengthening=_lengthening(ring.outer, ring.outer_edge),
    )


def _leads(case: Case) -> "Leads | None":
    """Leads that make their heat where they are."""
    reach = _outline(case).radius - math.sqrt(winding_ring(case).outer / math.pi)
    return leads(case, square_resistances(case), reach, _whole_outline(case))


def _lengthening(area: float, edge: float) -> float:
    """Of an edge over the circle of its area."""
    return max(1.0, edge / (2 * math.sqrt(math.pi * area)))


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


def surroundings(case: Case) -> "Surroundings":
    from coilgen.physics.heat.body import Surroundings

    mounting, (least, typical, most) = case.design.mounting, convection_factor(case)
    return Surroundings(
        ambient=case.design.drive.ambient,
        orientation=mounting.orientation,
        convection_factor=typical,
        convection_band=(least, most),
        forced_coefficient=mounting.forced_convection,
    )


def convection_factor(case: Case) -> tuple[float, float, float]:
    """Least, typical and most of what convection does over its coefficient told: 95 % limits, a factor."""
    return convection_limits(case.design)


def convection_limits(design: Design) -> tuple[float, float, float]:
    """Of a calibration that learnt it, else of tolerance.convection where the design tells it, else of
    data/convection.toml.
    """
    learnt = design.calibration and design.calibration.convection
    if learnt:
        return learnt
    told = design.tolerance.convection
    if told is not None:
        return 1 / (1 + told), 1.0, 1 + told
    kind = "still-air" if design.mounting.forced_convection is None else "forced"
    row: Mapping[str, Any] = rows("convection")[kind]
    least, typical, most = row["factor"]
    return least, typical, most


def _outline(case: Case) -> "Outline":
    """The board as far as it warms; the formulas of still air are for faces that are warm all over."""
    if case.design.mounting.forced_convection is not None:
        return _whole_outline(case)
    stackup = case.design.board.stackup
    sheet = stackup.laminate.heat_conductivity_in_plane * stackup.thickness
    return case.once(
        "heat outline", lambda: _warm(_whole_outline(case), _warm_radius(case, _fin_length(sheet)))
    )


def _warm(outline: "Outline", radius: float) -> "Outline":
    """A body cut down to one of its own shape with the area of a circle of a radius, m."""
    if radius >= outline.radius:
        return outline
    size = radius / outline.radius
    return replace(
        outline,
        area=outline.area * size**2,
        perimeter=outline.perimeter * size,
        height=outline.height * size,
    )


def _fin_length(sheet: float) -> float:
    """Over which a sheet's warmth fades by a factor e, m; conductivity times thickness in W/K."""
    return math.sqrt(sheet / _LOSS)


def _warm_radius(case: Case, fin: float) -> float:
    """Of the winding, or of a plate that carries its heat farther, and a fin length round it, m."""
    plates = (_on_face(case, face) for face in ("top", "bottom"))
    return max(
        _reach(winding_ring(case), fin),
        *(0.0 if plate is None else plate.outline.radius + fin for plate in plates),
    )


def _reach(ring: Ring, fin: float) -> float:
    """Radius of the circle whose area is the winding's and that of a strip of a fin length along its edge, m.

    Longer edges lead more away, as a better conductor would through those of circles: its fin is longer.
    """
    return math.sqrt(ring.outer / math.pi) + fin * _lengthening(ring.outer, ring.outer_edge)


def edge_of_several(case: Case) -> Path:
    """The edge of a board of several windings; a rectangle round the copper where that is not all inside."""
    ends = np.array([end for trace in case.art.traces for end in _corners(trace)])
    if case.art.outline is not None and contains(case.art.outline, ends).all():
        return case.art.outline
    low, high = copper_extent(case.art)
    size = high - low
    return rectangle(size.real, size.imag, 0.0).moved(Isometry(shift=(low + high) / 2))


def _corners(trace: Trace) -> tuple[complex, ...]:
    """Of the rectangle that holds a trace."""
    low, high = extent(trace.path)
    half = complex(trace.width, trace.width) / 2
    low, high = low - half, high + half
    return low, high, complex(low.real, high.imag), complex(high.real, low.imag)


def _whole_outline(case: Case) -> "Outline":
    from coilgen.physics.heat.outline import Outline

    if case.windings:
        edge = edge_of_several(case)
        low, high = extent(edge)
        return Outline(area=edge.swept_area, perimeter=edge.length, height=(high - low).imag)
    ring, path = winding_ring(case), case.coil.tail.head if case.coil.tail else case.art.outline
    if path is None or outline_is_winding(case):
        return Outline(area=ring.outer, perimeter=ring.outer_edge, height=ring.height)
    low, high = extent(path)
    return Outline(area=path.swept_area, perimeter=path.length, height=(high - low).imag)


def _layers(case: Case, ring: Ring, rest: float) -> "tuple[CopperLayer, ...]":
    """Copper layers of the stack-up; a board with one has a bare face for the other."""
    from coilgen.physics.heat.body import CopperLayer

    stackup, resistance = case.design.board.stackup, _wound_resistances(case)
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


def _wound_resistances(case: Case) -> list[float]:
    """What each copper layer adds, ohm, without the leads that make their heat where they are."""
    whole, leads, ohms = layer_resistances(case), layer_squares(case), square_resistances(case)
    return [max(0.0, own - squares * ohm) for own, squares, ohm in zip(whole, leads, ohms, strict=True)]


def square_resistances(case: Case) -> list[float]:
    """Of a square of each copper layer at 20 degC, with its share of the barrels, ohm."""
    stackup, scale = case.design.board.stackup, float(case.value("resistance_20c")) / sum(_geometric(case))
    return [scale * stackup.metal.resistivity / thickness for thickness in stackup.copper]


def layer_resistances(case: Case) -> list[float]:
    """What each copper layer adds to the coil's resistance at 20 degC, ohm.

    Layers in parallel count by the power they take; plated barrels are spread over all.
    """
    whole, each = float(case.value("resistance_20c")), _geometric(case)
    return [value * whole / sum(each) for value in each]


def _geometric(case: Case) -> list[float]:
    """Of the traces of each copper layer, ohm, by the power that those in parallel take."""
    metal = case.design.board.stackup.metal
    return [
        sum(
            strand.share**2 * trace_resistance(_on_layer(strand.conductor, layer), metal.resistivity)
            for strand in case.strands
            if np.any(strand.conductor.layer == layer)
        )
        for layer in range(1, case.design.board.stackup.layers + 1)
    ]


def _on_layer(conductor: Conductor, layer: int) -> Conductor:
    own = conductor.layer == layer
    return replace(conductor, **{name: values[own] for name, values in vars(conductor).items()})


def cores_on(case: Case, place: str) -> list[Core]:
    """Those of a face or of the pocket."""
    return [core for core in case.design.core if core.place == place]


def mounted_on(case: Case, face: str) -> "MountedPlate | None":
    """What is mounted on a face as one plate, all of it; stiffeners beneath it add to its joint."""
    plate = _bare_plate(case, face)
    stiff = [each for each in case.design.stiffener if each.place == face and each.central]
    if plate is None or not stiff:
        return plate
    more = sum(each.resistance for each in stiff)
    low, high = plate.contact_range
    return replace(plate, contact=plate.contact + more, contact_band=(low + more, high + more))


def _bare_plate(case: Case, face: str) -> "MountedPlate | None":
    base, cores = case.design.mounting.base_plate, cores_on(case, face)
    if base is not None and base.place == face:
        return _base_plate(case, base)
    if cores:
        return _stacked(case, cores)
    magnet = stuck_magnet(case, face)
    return None if magnet is None else _magnet(case, magnet)


def _on_face(case: Case, face: str) -> "MountedPlate | None":
    """What is mounted on a face, as far as it warms."""
    plate = mounted_on(case, face)
    if plate is None:
        return None
    reach = _reach(winding_ring(case), _fin_length(plate.conductivity * plate.thickness))
    return replace(plate, outline=_warm(plate.outline, max(reach, 2 * plate.inner_radius)))


def _joint(case: Case, contact: str | None, larger: float = 1.0) -> "_Joint":
    """Resistance of a joint for an area with its band, m² K/W, times a factor."""
    low, typical, high = (larger * each for each in contact_band(case, contact))
    return {"contact": typical, "contact_band": (low, high)}


def contact_band(case: Case, contact: str | None) -> tuple[float, float, float]:
    """Least, typical and most resistance of a joint, m² K/W, as a calibration learnt it."""
    least, typical, most = case.design.mounting.contact_band(contact)
    learnt = case.design.calibration and case.design.calibration.joints
    if not learnt:
        return least, typical, most
    low, expected, high = learnt
    return low * typical, expected * typical, high * typical


class _Joint(TypedDict):
    contact: float
    contact_band: tuple[float, float]


def _base_plate(case: Case, base: BasePlate) -> "MountedPlate":
    from coilgen.physics.heat import outline
    from coilgen.physics.heat.body import MountedPlate

    return MountedPlate(
        outline=outline.disc(base.diameter or 0.0)
        if base.shape == "round"
        else outline.rectangle(base.width or 0.0, base.depth or 0.0),
        thickness=base.thickness,
        conductivity=base.facts["heat_conductivity"],
        density=base.facts["density"],
        heat_capacity=base.facts["heat_capacity"],
        emissivity=base.emissivity,
        **_joint(case, base.contact),
    )


def stuck_magnet(case: Case, face: str) -> Magnet | None:
    """The magnet where it is stuck to a face."""
    magnet = case.design.magnet
    return magnet if magnet is not None and magnet.contact is not None and magnet.place == face else None


def _magnet(case: Case, magnet: Magnet) -> "MountedPlate":
    return replace(lone_plate(magnet), **_joint(case, magnet.contact))


def lone_plate(body: Core | Target | Magnet) -> "MountedPlate":
    """A body by itself, its joint a perfect one."""
    from coilgen.physics.heat.body import MountedPlate

    density, capacity, conductivity = _heat_facts(body)
    return MountedPlate(
        outline=_seen(body),
        thickness=body.thickness,
        conductivity=conductivity,
        density=density,
        heat_capacity=capacity,
        inner_radius=body.hole / 2,
        emissivity=CORE_EMISSIVITY,
        contact=0.0,
    )


def _heat_facts(body: Core | Target | Magnet) -> tuple[float, float, float]:
    """Density kg/m³, heat capacity J/(kg K), conductivity W/(m K)."""
    if isinstance(body, Magnet):
        return body.row["density"], body.row["heat_capacity"], body.row["heat_conductivity"]
    return body.material.density, body.material.heat_capacity, body.material.heat_conductivity


def _stacked(case: Case, cores: Sequence[Core]) -> "MountedPlate":
    """The cores of a face as one plate: the largest one's outline, joint thickness and heat capacity.

    A first core smaller than that has a joint smaller by the same share.
    """
    from coilgen.physics.heat.body import MountedPlate

    largest, first = max(cores, key=lambda core: core.area), cores[0]
    thickness, mass = sum(core.thickness for core in cores), sum(core.mass for core in cores)
    sheets = sum(core.material.heat_conductivity * core.volume for core in cores)
    board = _whole_outline(case).area
    smaller = min(largest.area, board) / min(first.area, board)
    return MountedPlate(
        outline=_seen(largest),
        thickness=thickness,
        conductivity=sheets / (largest.area * thickness),
        density=mass / (largest.area * thickness),
        heat_capacity=sum(core.mass * core.material.heat_capacity for core in cores) / mass,
        inner_radius=largest.hole / 2,
        emissivity=CORE_EMISSIVITY,
        **_joint(case, first.contact, smaller),
    )


def _seen(body: Body) -> "Outline":
    from coilgen.physics.heat.outline import disc
    from coilgen.physics.heat.outline import rectangle as rectangular

    return rectangular(*body.size) if body.form in RECTANGULAR else disc(body.size[0])


def core_in_pocket(case: Case, end: End) -> "PocketCore | None":
    """The cores that touch the pocket's wall as one body; none where none stands in the board."""
    from coilgen.physics.heat.body import PocketCore

    inside = [(core, depth) for core, depth in _depths(case) if depth > 0]
    if not inside:
        return None
    walls = [depth * _seen(core).perimeter for core, depth in inside]
    at = {"cool": 0, "typical": 1, "hot": 2}[end]
    joints = [contact_band(case, core.contact)[at] for core, _ in inside]
    return PocketCore(
        contact_area=sum(walls),
        contact=sum(walls) / sum(wall / joint for wall, joint in zip(walls, joints, strict=True)),
        heat_capacity=sum(core.mass * core.material.heat_capacity for core, _ in inside),
        surface_area=sum(_open_surface(case, core, depth) for core, depth in inside),
        emissivity=CORE_EMISSIVITY,
    )


def _depths(case: Case) -> list[tuple[Core, float]]:
    """Cores of the pocket with the height that each has of the board's wall, m."""
    stand = case.design.stand
    return [
        (core, min(at.top, 0.0) - max(at.bottom, -stand.thickness))
        for core, at in zip(stand.cores, stand.standing, strict=True)
        if core.place == "pocket"
    ]


def _open_surface(case: Case, core: Core, depth: float) -> float:
    """What stands out of the board and the ends on which nothing is mounted, m²."""
    plates = (mounted_on(case, face) for face in ("top", "bottom"))
    ends = sum(plate is None or plate.inner_radius > _seen(core).radius for plate in plates)
    return ends * core.area + _seen(core).perimeter * (core.thickness - depth)
