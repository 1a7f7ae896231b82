"""Metal and magnetic bodies at the coil as the solver takes them, and what they add at each level."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from coilgen.design.bodies import RECTANGULAR, Core, Magnet, Target
from coilgen.design.mounting import BasePlate
from coilgen.design.stacking import Standing
from coilgen.figures.core._magnetics import crest, solvable, winding_path
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.metal.near_coil import Metal, MetalBody
    from coilgen.physics.metal.switched import CoilInMetal

Level = Literal["weak", "drive"]
"""Permeability in weak fields, as a meter sees it, or at the drive's current."""
LOWEST, HIGHEST = 10.0, 1e7
"""Hz."""
INSULATES = 1e-2
"""ohm m: from this resistivity on eddy currents are left out: ferrites, powder in polymer, glass."""
_LEFT = 0.05
"""Of the bare inductance, least: what metal leaves of it, as scaled discs of equal area may take it all."""
SPREAD = 1.18
"""Of conductivity, either way (common practice, no source)."""
PERMEABILITY_SPREAD = 1.5
"""Of permeability in weak fields, either way (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A body at the coil: kind as its loss is told, name in sentences, curve where it is soft-magnetic."""

    kind: Literal["core", "base plate", "target", "magnet"]
    name: str
    body: "MetalBody"
    curve: "Curve | None" = None

    @property
    def conducts(self) -> bool:
        """Whether eddy currents count in it."""
        return self.body.conductivity > 0.0


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What the bodies add at frequencies, complex H: as expected, and at the ends of their facts' spread."""

    usual: np.ndarray[Any, np.dtype[np.complex128]]
    ends: tuple[np.ndarray[Any, np.dtype[np.complex128]], ...]


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
    return Piece(kind=kind, name=name, body=body, curve=curve)


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
    return Piece(kind="magnet", name="the magnet", body=body)


def _base_plate(case: Case, plate: BasePlate) -> Piece:
    from coilgen.physics.metal.near_coil import MetalBody

    face = 0.0 if plate.place == "top" else -case.design.board.stackup.thickness
    size = (plate.diameter or plate.width or 0.0, plate.diameter or plate.depth or 0.0)
    body = MetalBody(
        round=plate.shape == "round",
        size=size,
        bottom=face if plate.place == "top" else face - plate.thickness,
        thickness=plate.thickness,
        conductivity=_conductivity(float(plate.facts["resistivity"])),
    )
    return Piece(kind="base plate", name="the base plate", body=body)


def highest(case: Case) -> float:
    """Hz: the self-resonance where it is below the highest frequency told."""
    resonance = case.figure("self_resonance")
    return HIGHEST if resonance is None else min(HIGHEST, float(resonance.value))


def metal(case: Case, level: Level) -> "Metal | None":
    """What the bodies add with their permeabilities at a level; None without bodies."""
    if not pieces(case):
        return None
    return case.once(f"metal, {level}", lambda: _solved(case, level))


def bodies_at(case: Case, level: Level) -> "list[MetalBody]":
    """The bodies with their permeabilities at a level."""
    found = [piece.body for piece in pieces(case)]
    if level == "weak" or all(piece.curve is None or piece.curve.straight for piece in pieces(case)):
        return found
    return case.once("metal at the drive", lambda: _magnetised(case))


def _magnetised(case: Case) -> "list[MetalBody]":
    from coilgen.physics.metal.drive_level import drive_permeabilities
    from coilgen.physics.metal.near_coil import disc_of_equal_area, mesh_detail, winding_rings

    bodies, path = [piece.body for piece in pieces(case)], winding_path(case)
    found = drive_permeabilities(
        [disc_of_equal_area(body) for body in bodies],
        [piece.curve for piece in pieces(case)],
        winding_rings(bodies, path),
        crest(case) * float(case.value("current")),
        detail=mesh_detail(bodies, path),
    )
    return [replace(body, permeability=float(mu)) for body, mu in zip(bodies, found, strict=True)]


def _solved(case: Case, level: Level) -> "Metal":
    bodies = bodies_at(case, level)
    if level == "drive" and bodies == bodies_at(case, "weak"):
        found = metal(case, "weak")
        assert found is not None
        return found
    return _near(case, bodies, at_rest=_at_rest(case, bodies))


def _near(
    case: Case, bodies: "Sequence[MetalBody]", *, at_rest: float | None = None, scale: float = 1.0
) -> "Metal":
    from coilgen.physics.metal.near_coil import metal_near_coil
    from coilgen.physics.metal.relaxation import limited

    found = metal_near_coil(
        bodies,
        winding_path(case),
        LOWEST,
        highest(case),
        round_winding=round_winding(case),
        at_rest=at_rest,
        scale=scale,
    )
    least = (_LEFT - 1.0) * float(case.value("inductance"))
    return replace(found, relaxation=limited(found.relaxation, least))


def round_winding(case: Case) -> bool:
    """Whether the turns go round the axis at one distance."""
    return case.design.winding.shape == "round"


def _at_rest(case: Case, bodies: "Sequence[MetalBody]") -> float | None:
    """H, what the magnetic bodies add for direct current as they are; None where discs of their area do."""
    from coilgen.physics.metal.near_coil import method_for

    magnetic = [body for body in bodies if body.magnetic]
    if not magnetic or method_for(bodies, round_winding=round_winding(case)) != "equal area":
        return None
    with solvable("core"):
        return _static(case, magnetic)


def _static(case: Case, magnetic: "Sequence[MetalBody]") -> float:
    """By the volume integral for bodies of straight curves."""
    from coilgen.figures.core._magnetics import cell_size
    from coilgen.physics.core.brick_grid import Body, brick_grid
    from coilgen.physics.core.load import winding_load
    from coilgen.physics.core.magnetisation_curve import straight_curve
    from coilgen.physics.core.soft_core import core, coupled, magnetised

    bricks = tuple(
        Body(
            form=_form(body),
            size=body.size,
            thickness=body.thickness,
            bottom=body.bottom,
            hole=body.hole,
            centre=body.centre,
        )
        for body in magnetic
    )
    grid = case.once("metal at rest, grid", lambda: brick_grid(bricks, cell_size(bricks)))
    load = case.once("metal at rest, load", lambda: winding_load(grid, winding_path(case)))
    one = core(grid, tuple(straight_curve(body.permeability) for body in magnetic))
    return coupled(magnetised(one, load), load)


def _form(body: "MetalBody") -> Literal["plate", "disc", "ring"]:
    if not body.round:
        return "plate"
    return "ring" if body.hole > 0.0 else "disc"


def added(case: Case, level: Level, frequency: Floats) -> Spread | None:
    """What the bodies add at frequencies, Hz, and the ends that their conductivity and permeability leave.

    At the drive's level the ends are as far off, in proportion, as in weak fields.
    """
    from coilgen.physics.metal.relaxation import added_inductance

    weak, found = metal(case, "weak"), metal(case, level)
    if weak is None or found is None:
        return None
    spread = [weak.relaxation, *(each.relaxation for each in _other_permeabilities(case, weak))]
    ends = [
        added_inductance(each, frequency * factor) for each in spread for factor in (1.0 / SPREAD, SPREAD)
    ]
    usual, told = (added_inductance(each.relaxation, frequency) for each in (weak, found))
    real, imaginary = told.real - usual.real, told.imag / np.where(usual.imag == 0.0, 1.0, usual.imag)
    return Spread(usual=told, ends=tuple(end.real + real + 1j * end.imag * imaginary for end in ends))


def _other_permeabilities(case: Case, usual: "Metal") -> "tuple[Metal, ...]":
    """With all permeabilities at the ends of their spread, where bodies are both magnetic and conducting."""
    if not any(piece.curve is not None and piece.conducts for piece in pieces(case)):
        return ()
    ends = (1 / PERMEABILITY_SPREAD, PERMEABILITY_SPREAD)
    return tuple(_changed(case, usual, factor) for factor in ends)


def _changed(case: Case, usual: "Metal", factor: float) -> "Metal":
    bodies = [
        replace(body, permeability=max(1.0, body.permeability * factor)) if body.magnetic else body
        for body in bodies_at(case, "weak")
    ]
    return case.once(f"metal, permeability x {factor:.3g}", lambda: _near(case, bodies, scale=usual.scale))


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


def added_at(case: Case, frequency: float) -> complex:
    """Impedance that the bodies add at a frequency, Hz, with their permeability in weak fields, ohm."""
    from coilgen.physics.metal.relaxation import added_impedance

    found = metal(case, "weak")
    return 0j if found is None else complex(added_impedance(found.relaxation, frequency))
