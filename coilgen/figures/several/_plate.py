"""A board of several windings as the heat model of plates sees it."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, cast

import numpy as np

from coilgen.artwork.bodies import body_edges, touches_board
from coilgen.design.bodies import Body
from coilgen.design.stackup import laminate as laminate_of
from coilgen.figures.heat._air import surroundings
from coilgen.figures.heat._assembly import laminate
from coilgen.figures.heat._ends import AIR_ENDS, JOINT_ENDS, End
from coilgen.figures.heat._layer_resistances import layer_resistances
from coilgen.figures.heat._mounted import core_in_pocket, cores_on, mounted_on, stuck_magnet
from coilgen.figures.heat._outline import edge_of_several
from coilgen.figures.several._joint_tracks import joint_tracks
from coilgen.figures.several._leads import resistances_apart
from coilgen.figures.several._network import joints_heat
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.region import chords
from coilgen.layout.seen import copper_edges
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case, Winding

if TYPE_CHECKING:
    from coilgen.design.placing import PlacedWinding as Placed
    from coilgen.physics.heat.plate.body import (
        PlacedBody,
        PlacedWinding,
        Plate,
        SheetLayer,
        Side,
        StiffSheet,
    )

_CHORDS = 2e-5
"""m, largest distance between a curve and the polygon in its place."""


def plate(case: Case, joints: End = "typical", air: End = "typical", *, evenly: bool = False) -> "Plate":
    """The board with its windings where they lie, what is mounted on it, the air; at an end of the bands.

    evenly: with the heat of what joins an array's coils in these.
    """
    from coilgen.physics.heat.plate.body import PlacedCore, bounded

    whole = case.once(f"heat plate {evenly}", lambda: _plate(case, evenly))
    inside = core_in_pocket(case, joints)
    if inside is not None:
        filled = [pocket for pocket in case.art.pockets if _holds_cores(case, pocket)]
        which = [""] if len(filled) == 1 else [f" {number}" for number in range(1, len(filled) + 1)]
        cores = tuple(
            PlacedCore(name=f"core in the pocket{number}", wall=_points(pocket), core=inside)
            for number, pocket in zip(which, filled, strict=True)
        )
        whole = replace(whole, cores=cores)
    return bounded(whole, air=AIR_ENDS.get(air), joints=JOINT_ENDS.get(joints))


def _plate(case: Case, evenly: bool) -> "Plate":
    from coilgen.physics.heat.plate.body import Plate

    stackup = case.design.board.stackup
    windings = tuple(
        _winding(case, placed, each, apart, evenly)
        for placed, each, apart in zip(
            case.design.windings, case.windings, resistances_apart(case), strict=True
        )
    )
    return Plate(
        outline=_points(edge_of_several(case)),
        layers=tuple(_layers(case)),
        dielectric=stackup.dielectric,
        laminate=laminate(case),
        windings=windings,
        surroundings=surroundings(case),
        cutouts=tuple(_points(pocket) for pocket in case.art.pockets),
        bodies=tuple(_bodies(case)),
        emissivity=case.design.mounting.emissivity,
        temperature_coefficient=stackup.metal.temperature_coefficient,
        tracks=joint_tracks(case) if joints_heat(case) and not evenly else None,
        stiffeners=tuple(_stiffeners(case)),
    )


def _stiffeners(case: Case) -> "Iterator[StiffSheet]":
    from coilgen.physics.heat.plate.body import StiffSheet

    for sheet in case.art.stiffeners:
        facts = laminate_of(sheet.material)
        yield StiffSheet(
            layer=0 if sheet.side == "top" else -1,
            outline=_points(sheet.path),
            sheet=facts.heat_conductivity_in_plane * sheet.thickness,
            capacity=facts.density * facts.heat_capacity * sheet.thickness,
        )


def _layers(case: Case) -> "Iterator[SheetLayer]":
    """Copper layers of the stack-up; a board with one has a bare face for the other."""
    from coilgen.physics.heat.plate.body import SheetLayer

    board = edge_of_several(case).swept_area
    for layer, thickness in enumerate(case.design.board.stackup.copper, start=1):
        pads = sum(math.pi / 4 * pad.diameter**2 for pad in case.art.pads_on(layer))
        yield SheetLayer(thickness=thickness, island_coverage=min(1.0, pads / board))
    if case.design.board.stackup.layers == 1:
        yield SheetLayer(thickness=0.0)


def _winding(case: Case, placed: "Placed", winding: Winding, apart: float, evenly: bool) -> "PlacedWinding":
    """Turns between the winding's edges, with the resistance that each layer adds.

    What joins the coils of an array makes its heat where it lies, leads near a winding in it, which is on the
    warm side; apart: ohm, of those that stand in the circuits by themselves.
    """
    from coilgen.physics.heat.plate.body import PlacedWinding
    from coilgen.physics.heat.plate.islands import outline_of

    design, lies = placed.design, Isometry.placed(placed.rotation, placed.centre)
    outer, inner = (_points(edge.moved(lies)) for edge in copper_edges(design))
    ring = outline_of(outer).area - outline_of(inner).area
    layers = layer_resistances(winding.case)
    joined = joints_heat(case) * sum(layers) - apart
    left = 1.0 if joints_heat(case) and not evenly else 1 + joined / sum(layers)
    resistance = [left * ohm for ohm in layers]
    coverage = [
        min(1.0, _wound_area(winding, layer) / ring)
        for layer in range(1, case.design.board.stackup.layers + 1)
    ]
    bare = [0.0] if len(coverage) == 1 else []
    return PlacedWinding(
        outer=outer,
        inner=inner,
        coverage=(*coverage, *bare),
        resistance_20c=(*resistance, *bare),
        tracks_20c=joined if left == 1.0 else 0.0,
    )


def _wound_area(winding: Winding, layer: int) -> float:
    """Of a winding's turns on a layer, m²."""
    traces = winding.case.art.traces_on(layer)
    return sum(trace.path.length * trace.width for trace in traces if not trace.is_lead)


def _bodies(case: Case) -> "Iterator[PlacedBody]":
    """What is mounted on a face: a base plate, the cores there as one body, a magnet stuck to it."""
    from coilgen.physics.heat.plate.body import PlacedBody

    faces: tuple[Side, ...] = ("top", "bottom")
    for face in faces:
        mounted = mounted_on(case, face)
        if mounted is None:
            continue
        name, seen, hole, joined = _seen(case, face)
        yield PlacedBody(
            name=name,
            face=face,
            outline=seen,
            hole=hole,
            thickness=mounted.thickness,
            conductivity=mounted.conductivity,
            density=mounted.density,
            heat_capacity=mounted.heat_capacity,
            contact=mounted.contact,
            contact_band=mounted.contact_band,
            emissivity=mounted.emissivity,
            joined=joined,
        )


def _seen(case: Case, face: str) -> tuple[str, Floats, Floats | None, bool]:
    """Name, outline and hole of what is mounted on a face, and whether it touches the board."""
    base, cores, magnet = case.design.mounting.base_plate, cores_on(case, face), stuck_magnet(case, face)
    if base is not None and base.place == face:
        return "base plate", _points(body_edges(base)[0]), None, touches_board(case.art, [base])
    body: Body = max(cores, key=lambda core: core.area) if cores else cast(Body, magnet)
    outer, inner = body_edges(body)
    name = f"core on the {face}" if cores else "magnet"
    joined = touches_board(case.art, cores or [body])
    return name, _points(outer), None if inner is None else _points(inner), joined


def _holds_cores(case: Case, pocket: Path) -> bool:
    """Whether a cut-out is that of cores: each of an array's, else the one in the middle."""
    low, high = extent(pocket)
    return case.design.array is not None or abs(low + high) < 1e-9


def _points(path: Path) -> Floats:
    """A closed path as a polygon, (n, 2) m."""
    found = np.asarray(chords(path, _CHORDS), dtype=np.float64)
    return found[:-1] if np.allclose(found[0], found[-1]) else found
