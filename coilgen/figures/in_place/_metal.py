"""Metal and magnetic bodies at the coil as the solver takes them, and what they add at each level."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from coilgen.design.bodies import RECTANGULAR, Core, Magnet, Target
from coilgen.design.mounting import BasePlate
from coilgen.design.stacking import Standing
from coilgen.figures.core._cells import cell_size
from coilgen.figures.core._magnetics import bodies_in_place, crest, on_grids, solvable
from coilgen.figures.electrical._copper_eddies import copper_eddies
from coilgen.figures.electrical.capacitance import ladder_frequency
from coilgen.figures.field._paths import winding_path
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.core.on_grid import SetUp
    from coilgen.physics.core.soft_core import Magnetised
    from coilgen.physics.metal.drive_level import AtRest
    from coilgen.physics.metal.near_coil import Metal, MetalBody
    from coilgen.physics.metal.relaxation import Relaxation
    from coilgen.physics.metal.switched import CoilInMetal

Level = Literal["weak", "drive"]
"""Permeability in weak fields, as a meter sees it, or at the drive's current."""
LOWEST, HIGHEST = 10.0, 1e7
"""Hz."""
INSULATES = 1e-2
"""ohm m: from this resistivity on eddy currents are left out: ferrites, powder in polymer, glass."""
_LEFT = 0.05
"""Of the bare inductance, least: what metal leaves of it, as scaled discs of equal area may take it all."""
_STATIC_TOLERANCE = 1e-3
"""Of the load: the flux added is the co-energy's least and feels its square, under 1e-4 as seen."""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A body at the coil: kind as its loss is told, name in sentences, curve where it is soft-magnetic.

    given: what the design file tells of it.
    """

    kind: Literal["core", "base plate", "target", "magnet"]
    name: str
    given: Core | Target | Magnet | BasePlate
    body: "MetalBody"
    curve: "Curve | None" = None

    @property
    def conducts(self) -> bool:
        """Whether eddy currents count in it."""
        return self.body.conductivity > 0.0

    @property
    def material(self) -> str:
        """Name of what it is made of; "custom" for what the design tells by numbers, and for magnets."""
        if isinstance(self.given, Magnet):
            return "custom"
        return self.given.material if isinstance(self.given, BasePlate) else self.given.material.name


def pieces(case: Case) -> tuple[Piece, ...]:
    """All bodies that change the coil's impedance, cores first; none where nothing does."""
    return case.once("metal pieces", lambda: tuple(each for each in _all(case) if _counts(each)))


def _counts(piece: Piece) -> bool:
    return piece.conducts or piece.body.magnetic


def _all(case: Case) -> list[Piece]:
    design, stand = case.design, case.design.stand
    found = [
        _soft(core, standing, "core", f"core {number}")
        for number, (core, standing) in enumerate(zip(stand.cores, stand.standing, strict=True), 1)
    ]
    if design.mounting.base_plate is not None:
        found.append(_base_plate(case, design.mounting.base_plate))
    if design.target is not None:
        found.append(_soft(design.target, stand.of(design.target), "target", "the target"))
    if design.magnet is not None:
        found.append(_magnet(design.magnet, stand.of(design.magnet)))
    return found


def _soft(given: Core | Target, standing: Standing, kind: Literal["core", "target"], name: str) -> Piece:
    curve = given.material.curve
    body = _body(given, standing, given.material.resistivity, curve.permeability)
    return Piece(kind=kind, name=name, given=given, body=body, curve=curve)


def _body(
    given: Core | Target | Magnet, standing: Standing, resistivity: float, permeability: float
) -> "MetalBody":
    from coilgen.physics.metal.near_coil import MetalBody

    x, y = (0.0, 0.0) if isinstance(given, Core) else given.offset
    return MetalBody(
        round=given.form not in RECTANGULAR,
        size=given.size,
        bottom=standing.bottom,
        thickness=given.thickness,
        conductivity=_conductivity(resistivity),
        permeability=permeability,
        hole=given.hole,
        centre=(x, y),
    )


def _conductivity(resistivity: float) -> float:
    """S/m; 0 for what insulates."""
    return 0.0 if resistivity >= INSULATES else 1.0 / resistivity


def _magnet(magnet: Magnet, standing: Standing) -> Piece:
    row = magnet.row
    body = _body(magnet, standing, float(row["resistivity"]), float(row["recoil_permeability"]))
    return Piece(kind="magnet", name="the magnet", given=magnet, body=body)


def _base_plate(case: Case, plate: BasePlate) -> Piece:
    from coilgen.physics.metal.near_coil import MetalBody

    face = case.design.stand.bare(plate.place)
    size = (plate.diameter or plate.width or 0.0, plate.diameter or plate.depth or 0.0)
    body = MetalBody(
        round=plate.shape == "round",
        size=size,
        bottom=face if plate.place == "top" else face - plate.thickness,
        thickness=plate.thickness,
        conductivity=_conductivity(float(plate.facts["resistivity"])),
    )
    return Piece(kind="base plate", name="the base plate", given=plate, body=body)


def highest(case: Case) -> float:
    """Hz: the self-resonance where it is below the highest frequency told."""
    resonance = None if case.windings else ladder_frequency(case)
    return HIGHEST if resonance is None else min(HIGHEST, resonance)


def _sought_to(case: Case) -> float:
    """Hz, up to which the decays are sought: to a sine's frequency where that is over the self-resonance."""
    drive = case.design.drive
    sine = drive.frequency if drive.waveform == "sine" and drive.frequency is not None else 0.0
    return max(highest(case), min(HIGHEST, sine))


def metal(case: Case, level: Level) -> "Metal | None":
    """What the bodies add with their permeabilities at a level; None without bodies."""
    if not pieces(case):
        return None
    return (
        case.kept_last(_weak) if level == "weak" else case.once("metal at the drive", lambda: _driven(case))
    )


def bodies_at(case: Case, level: Level) -> "list[MetalBody]":
    """The bodies with their permeabilities at a level."""
    found = [piece.body for piece in pieces(case)]
    if level == "weak" or all(piece.curve is None or piece.curve.straight for piece in pieces(case)):
        return found
    return case.once("metal's permeabilities at the drive", lambda: _magnetised(case))


def _magnetised(case: Case) -> "list[MetalBody]":
    from coilgen.physics.metal.drive_level import drive_permeabilities

    bodies = [piece.body for piece in pieces(case)]
    found = drive_permeabilities(
        case.kept_last(_discs_at_rest),
        [piece.curve for piece in pieces(case)],
        crest(case) * _weak_current(case),
        bias=_bias(case),
    )
    return [replace(body, permeability=float(mu)) for body, mu in zip(bodies, found, strict=True)]


def _discs_at_rest(case: Case) -> "AtRest":
    """The bodies as discs near direct current, in weak fields."""
    from coilgen.physics.metal.drive_level import at_rest
    from coilgen.physics.metal.near_coil import disc_of_equal_area, mesh_detail, winding_rings

    bodies, path = [piece.body for piece in pieces(case)], winding_path(case)
    discs = [disc_of_equal_area(body) for body in bodies]
    return at_rest(discs, winding_rings(bodies, path), mesh_detail(bodies, path))


def _bias(case: Case) -> Floats | None:
    """Mean flux density that the magnet alone holds in each body, (n,) T; None without a magnet."""
    from coilgen.physics.core.on_grid import inside

    soft = _soft_pieces(case)
    if case.design.magnet is None or not soft:
        return None
    with solvable("magnet"):
        mean = inside(on_grids(case).rough.rest)[1]
    held = {piece.name: float(field) for piece, field in zip(soft, mean, strict=True)}
    return np.array([held.get(piece.name, 0.0) for piece in pieces(case)])


def _soft_pieces(case: Case) -> list[Piece]:
    """Cores and target, in the order in which they are on their grids."""
    return [piece for piece in _all(case) if piece.curve is not None]


def _weak_current(case: Case) -> float:
    """The drive's current with the cold coil's impedance in weak fields, A."""
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return float(case.value("current"))
    added = added_at(case, drive.frequency, "weak")
    reactance = 2 * np.pi * drive.frequency * float(case.value("inductance")) + added.imag
    return drive.through(float(case.value("resistance_20c")) + copper_eddies(case) + added.real, reactance)


def _weak(case: Case) -> "Metal":
    bodies = bodies_at(case, "weak")
    return _near(case, bodies, at_rest=_at_rest(case, bodies))


def _driven(case: Case) -> "Metal":
    bodies, weak = bodies_at(case, "drive"), case.kept_last(_weak)
    if bodies == bodies_at(case, "weak"):
        return weak
    return _near(case, bodies, at_rest=_at_rest(case, bodies), like=weak)


def _near(
    case: Case, bodies: "Sequence[MetalBody]", *, at_rest: float | None, like: "Metal | None" = None
) -> "Metal":
    from coilgen.physics.metal.near_coil import metal_near_coil

    found = metal_near_coil(
        bodies,
        winding_path(case),
        LOWEST,
        _sought_to(case),
        round_winding=round_winding(case),
        at_rest=at_rest,
        like=like,
    )
    return _limited(case, found)


def _limited(case: Case, found: "Metal") -> "Metal":
    return replace(found, relaxation=leaving_some(case, found.relaxation))


def leaving_some(case: Case, decays: "Relaxation") -> "Relaxation":
    """Decays so weakened that what is left of the bare inductance stays over a least."""
    from coilgen.physics.metal.relaxation import limited

    return limited(decays, (_LEFT - 1.0) * float(case.value("inductance")))


def round_winding(case: Case) -> bool:
    """Whether the turns go round the axis at one distance."""
    return case.design.winding.shape == "round"


def _at_rest(case: Case, bodies: "Sequence[MetalBody]") -> float | None:
    """H, what the magnetic bodies add for direct current as they are; None where discs of their area do."""
    from coilgen.physics.core.soft_core import coupled
    from coilgen.physics.metal.near_coil import method_for

    magnetic = any(body.magnetic for body in bodies)
    if not magnetic or method_for(bodies, round_winding=round_winding(case)) != "equal area":
        return None
    weak = bodies == bodies_at(case, "weak")
    with solvable("core"):
        state = case.kept_last(_still_weak)
        if not weak:
            state = _still(case, bodies, state)
    return coupled(state, state.load)


def _still(case: Case, bodies: "Sequence[MetalBody]", near: "Magnetised | None" = None) -> "Magnetised":
    """By the volume integral as if their curves were straight, sought from a state near by."""
    from coilgen.physics.core.magnetisation_curve import straight_curve
    from coilgen.physics.core.soft_core import magnetised

    start = None if near is None else near.m
    told = {piece.name: body.permeability for piece, body in zip(pieces(case), bodies, strict=True)}
    curves = tuple(
        straight_curve(told.get(piece.name, piece.body.permeability))
        for piece in (*_soft_pieces(case), *_other_magnetic_pieces(case))
    )
    grid = case.kept_last(_still_grid)
    return magnetised(grid.core.of_curves(curves), grid.load, start, tolerance=_STATIC_TOLERANCE)


def _still_weak(case: Case) -> "Magnetised":
    return _still(case, bodies_at(case, "weak"))


def _still_grid(case: Case) -> "SetUp":
    """Cores and target on the grid they have anyway, so that both tell the same; a hard ferrite with them."""
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.on_grid import set_up

    others = _other_magnetic_pieces(case)
    if not others:
        return on_grids(case).fine
    bodies = bodies_in_place(case)[0] + tuple(
        Body(
            form=_form(body),
            size=body.size,
            thickness=body.thickness,
            bottom=body.bottom,
            hole=body.hole,
            centre=body.centre,
        )
        for body in (piece.body for piece in others)
    )
    return set_up(winding_path(case), bodies, (), cell_size(bodies))


def _other_magnetic_pieces(case: Case) -> list[Piece]:
    """Magnets of a stuff that is magnetic besides."""
    return [piece for piece in pieces(case) if piece.curve is None and piece.body.magnetic]


def _form(body: "MetalBody") -> Literal["plate", "disc", "ring"]:
    if not body.round:
        return "plate"
    return "ring" if body.hole > 0.0 else "disc"


def with_permeabilities(case: Case, factor: float) -> "Metal":
    """The bodies in weak fields, the permeabilities of what is magnetic times a factor or one over it."""
    if factor == 1.0:
        return case.kept_last(_weak)
    low, high = case.kept_last(_permeable, round(max(factor, 1.0 / factor), 9))
    return high if factor > 1.0 else low


def _permeable(case: Case, factor: float) -> "tuple[Metal, Metal]":
    """With permeabilities over a factor and times it."""
    from coilgen.physics.metal.near_coil import metals_with_permeabilities

    usual = bodies_at(case, "weak")
    ends = [
        [
            replace(body, permeability=max(1.0, body.permeability * by)) if body.magnetic else body
            for body in usual
        ]
        for by in (1.0 / factor, factor)
    ]
    low, high = metals_with_permeabilities(
        case.kept_last(_weak), ends, winding_path(case), LOWEST, _sought_to(case)
    )
    return _limited(case, low), _limited(case, high)


def coil_in_metal(case: Case, resistance: float) -> "CoilInMetal | None":
    """The coil at a resistance, ohm, with the decays at the drive's level; None where nothing conducts."""
    from coilgen.physics.metal.switched import CoilInMetal

    if not any(piece.conducts for piece in pieces(case)):
        return None
    found = metal(case, "drive")
    assert found is not None
    return CoilInMetal(
        resistance=resistance, inductance=float(case.value("inductance")), metal=found.relaxation
    )


def added_at(case: Case, frequency: float, level: Level = "drive") -> complex:
    """Impedance that the bodies add at a frequency, Hz, ohm."""
    from coilgen.physics.metal.relaxation import added_impedance

    found = metal(case, level)
    return 0j if found is None else complex(added_impedance(found.relaxation, frequency))


KEPT = (_weak, _permeable, "metal at the drive")
"""What keys of kept solutions begin with."""
