"""What is mounted on the board and in its pocket, as the heat model takes it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypedDict

from coilgen.artwork.bodies import touches_board
from coilgen.design.bodies import RECTANGULAR, Body, Core, Magnet, Target
from coilgen.design.mounting import BasePlate
from coilgen.design.stackup import laminate
from coilgen.figures.heat._ends import End
from coilgen.figures.heat._outline import fin_length, reach, warm, whole_outline, winding_ring
from coilgen.geometry.extent import extent
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import MountedPlate, PocketCore, Stiffened
    from coilgen.physics.heat.outline import Outline

CORE_EMISSIVITY = 0.3
"""Of cores: bare or plated metal, a little dull; oxidised steel has more (common practice, no source)."""


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


def stiffened(case: Case) -> "tuple[Stiffened, ...]":
    """Stiffeners beneath the winding's middle, which spread its heat; those of a tail are told with it."""
    return case.once("stiffened", lambda: tuple(_stiffened(case)))


def _stiffened(case: Case) -> "Iterator[Stiffened]":
    from coilgen.physics.heat.body import Stiffened

    pocket = sum(each.swept_area for each in case.art.pockets)
    for sheet in case.art.stiffeners:
        low, high = extent(sheet.path)
        if max(low.real, low.imag) < 0 < min(high.real, high.imag):
            facts = laminate(sheet.material)
            yield Stiffened(
                layer=0 if sheet.side == "top" else -1,
                radius=math.sqrt(max(sheet.path.swept_area, pocket) / math.pi),
                sheet=facts.heat_conductivity_in_plane * sheet.thickness,
                capacity=facts.density * facts.heat_capacity * sheet.thickness,
            )


def _bare_plate(case: Case, face: str) -> "MountedPlate | None":
    base, cores = case.design.mounting.base_plate, cores_on(case, face)
    if base is not None and base.place == face:
        return _base_plate(case, base)
    if cores:
        return _stacked(case, cores)
    magnet = stuck_magnet(case, face)
    return None if magnet is None else _magnet(case, magnet)


def on_face(case: Case, face: str) -> "MountedPlate | None":
    """What is mounted on a face, as far as it warms."""
    plate = mounted_on(case, face)
    if plate is None:
        return None
    as_far = reach(winding_ring(case), fin_length(plate.conductivity * plate.thickness))
    return replace(plate, outline=warm(plate.outline, max(as_far, 2 * plate.inner_radius)))


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
    """The magnet where it is stuck to a face, some of the board under it."""
    magnet = case.design.magnet
    if magnet is None or magnet.contact is None or magnet.place != face:
        return None
    return magnet if case.once("magnet touches board", lambda: touches_board(case.art, [magnet])) else None


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
    board = whole_outline(case).area
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
    return ends * core.area + _seen(core).perimeter * max(core.thickness - depth, 0.0)
