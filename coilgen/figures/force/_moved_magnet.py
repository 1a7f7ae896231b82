"""The design's magnet for the solvers, its forces where it stands and where it could stand instead."""

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.core._cells import cell_size
from coilgen.figures.core._ends import gap_ends, material_ends
from coilgen.figures.core._magnetics import (
    check_cores,
    core_bodies,
    core_curves,
    magnet_for_solvers,
    solvable,
)
from coilgen.figures.field._paths import coils_path, winding_path
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.magnet_force import CoredMagnetForce, MagnetForce
    from coilgen.physics.core.magnet_side import Magnet
    from coilgen.physics.core.soft_core import Core

COARSER, FINER = 2.5, 1.5
"""Cells beside a magnet over those for a core alone: force on a magnet is smooth, and needs many solves.

The second is for a magnet so near that the first's cells would be wider than its distance from the core.
"""
ROUGHER = 2.0
"""Cells of the second grid over those of the first; the change between them is taken for the error.

Forces were seen to converge with the square of the cells or faster.
"""
ACROSS = 12
"""The force is good to some percent from this share of the magnet's size on, over a core."""
LEAST_GAP = 2e-5
ERROR = 0.003
"""Of a force of the winding: 0.13 % were found against integrals over its copper, from 25 um of gap on."""
Moves = tuple[tuple[float, float, float], ...]
"""Of the magnet from where it stands, m."""
_GAPS = tuple(10.0 ** (step / 5) for step in range(-5, 4))
_GAPS_WITH_CORE = (0.25, 0.5, 1.0, 1.5, 2.5, 4.0)


@dataclass(frozen=True, kw_only=True)
class MagnetForces:
    """Forces at the drive's current, and the relative error of its parts: at rest, odd in the current.

    rough: the forces on the rougher grid, None without cores.
    """

    forces: "CoredMagnetForce"
    error: tuple[float, float]
    rough: "CoredMagnetForce | None" = None


@dataclass(frozen=True, kw_only=True)
class Moved:
    """Places of the magnet against what was varied (m), with forces (n, 3) N at rest and driven.

    torque: (n, 3) N m, driven, about the magnet's centre.
    """

    varied: tuple[float, ...]
    at_rest: Floats
    driven: Floats
    torque: Floats


def clearance(case: Case) -> float:
    """Smallest distance in height between the magnet and a core, m; inf without cores."""
    magnet = magnet_for_solvers(case)
    low, high = magnet.centre[2] - magnet.height / 2, magnet.centre[2] + magnet.height / 2
    return min(
        (max(low - each.top, each.bottom - high) for each in case.design.stand.standing), default=math.inf
    )


def magnet_forces(case: Case) -> MagnetForces:
    """At rest, at the drive's current and at its reverse, computed once."""
    return case.once("forces on the magnet", lambda: _with_core(case) if case.design.core else _bare(case))


def _bare(case: Case) -> MagnetForces:
    from coilgen.physics.core.magnet_force import CoredMagnetForce, MagnetForce

    one, current = case.kept(_per_ampere), case.value("current")
    forces = CoredMagnetForce(
        at_rest=MagnetForce(force=np.zeros(3), torque=np.zeros(3)),
        forward=MagnetForce(force=current * one.force, torque=current * one.torque),
        backward=MagnetForce(force=-current * one.force, torque=-current * one.torque),
    )
    return MagnetForces(forces=forces, error=(0.0, ERROR))


def _per_ampere(case: Case) -> "MagnetForce":
    """Of the winding without cores."""
    from coilgen.physics.core.magnet_force import force_on_magnet

    return force_on_magnet(winding_path(case), magnet_for_solvers(case))


def _moved_per_ampere(case: Case, moves: "Moves") -> tuple[Floats, Floats]:
    """Forces N/A and torques N m/A of the winding without cores, the magnet moved."""
    from coilgen.physics.core.magnet_force import forces_on_magnet

    return forces_on_magnet(winding_path(case), magnet_for_solvers(case), np.array(moves))


def _with_core(case: Case) -> MagnetForces:
    magnet = magnet_for_solvers(case)
    fine = _forces(case, *_gridded(case), magnet)
    if case.values_only:
        return MagnetForces(forces=fine, error=(0.0, 0.0))
    rough = _forces(case, *_gridded(case, ROUGHER), magnet)
    at_rest = _change(fine.at_rest.force, rough.at_rest.force)
    return MagnetForces(forces=fine, error=(at_rest, ERROR + _change(fine.odd, rough.odd)), rough=rough)


def forces_at_core_ends(case: Case) -> "Mapping[str, tuple[CoredMagnetForce, CoredMagnetForce]]":
    """At both ends of what the cores' materials and gaps may be, by source, on the rougher grid."""
    return case.once("forces at the ends of the cores", lambda: dict(_at_core_ends(case)))


def _at_core_ends(case: Case) -> "Iterator[tuple[str, tuple[CoredMagnetForce, CoredMagnetForce]]]":
    (usual, load), near = _gridded(case, ROUGHER), magnet_forces(case).rough
    for source, *factors in material_ends(case, straight=usual.cells.straight):
        low, high = (usual.made_of(*by) for by in factors)
        magnet = magnet_for_solvers(case)
        yield source, (_forces(case, low, load, magnet, near), _forces(case, high, load, magnet, near))
    for source, *places in gap_ends(case):
        if source.startswith("gap of core"):
            narrow, wide = (
                _forces(case, *_on_cells(case, at.cores, ROUGHER), at.pushed, near) for at in places
            )
            yield source, (narrow, wide)


def _forces(
    case: Case, cores: "Core", load: Floats, magnet: "Magnet", near: "CoredMagnetForce | None" = None
) -> "CoredMagnetForce":
    from coilgen.physics.core.magnet_force import force_with_core

    with solvable("magnet"):
        return force_with_core(winding_path(case), cores, load, magnet, case.value("current"), near)


def _change(fine: Floats, rough: Floats) -> float:
    return float(np.linalg.norm(fine - rough) / np.linalg.norm(fine))


def _cell(case: Case) -> float:
    """Width of the cells beside the magnet, m: no wider than its distance from a core, within bounds."""
    alone = case.coarser * cell_size(core_bodies(case))
    return min(COARSER * alone, max(FINER * alone, clearance(case)))


def _gridded(case: Case, rougher: float = 1.0) -> "tuple[Core, Floats]":
    """The cores on a grid, with the winding's load on it."""
    return case.once(
        f"cores for the magnet, cells {rougher}", lambda: _on_cells(case, core_bodies(case), rougher)
    )


def _on_cells(case: Case, bodies: "tuple[Body, ...]", rougher: float) -> "tuple[Core, Floats]":
    from coilgen.physics.core.brick_grid import brick_grid
    from coilgen.physics.core.load import winding_load
    from coilgen.physics.core.soft_core import core

    check_cores(case)
    with solvable("core"):
        one = core(brick_grid(bodies, rougher * _cell(case)), core_curves(case))
    return one, winding_load(one.grid, coils_path(case))


def against_gap(case: Case) -> Moved:
    """Gaps about the given one. With a core none at which the magnet's field is no longer good."""
    magnet = case.design.magnet
    if magnet is None:
        raise LookupError("the design has no magnet")
    factors, least = _GAPS, LEAST_GAP
    if case.design.core:
        nearer = max(0.0, clearance(case) - max(magnet.size) / ACROSS)
        factors, least = _GAPS_WITH_CORE, max(LEAST_GAP, magnet.gap - nearer)
    gaps = sorted({magnet.gap, *(factor * magnet.gap for factor in factors if factor * magnet.gap >= least)})
    return at_gaps(case, tuple(gaps))


def at_gaps(case: Case, gaps: tuple[float, ...]) -> Moved:
    """The magnet at other gaps, m."""
    magnet = case.design.magnet
    assert magnet is not None
    up = 1.0 if magnet.place == "top" else -1.0
    return _moved(case, gaps, tuple((0.0, 0.0, up * (gap - magnet.gap)) for gap in gaps))


def against_offset(case: Case) -> Moved:
    """From the axis to the winding's edge along x, and where the magnet stands."""
    magnet = case.design.magnet
    if magnet is None:
        raise LookupError("the design has no magnet")
    edge = case.reach
    offsets = sorted({magnet.offset[0], *np.linspace(0.0, edge, 4 if case.design.core else 17).tolist()})
    return _moved(case, tuple(offsets), tuple((offset - magnet.offset[0], 0.0, 0.0) for offset in offsets))


def _moved(case: Case, varied: tuple[float, ...], moves: Moves) -> Moved:
    from coilgen.physics.core.magnet_force import forces_with_core

    current, where = case.value("current"), np.array(moves)
    if not case.design.core:
        driven, torque = (current * each for each in case.kept(_moved_per_ampere, moves))
        return Moved(varied=varied, at_rest=np.zeros_like(driven), driven=driven, torque=torque)
    known, moved = magnet_forces(case).forces, where.any(axis=1)
    at_rest, driven, torque = (
        np.tile(each, (len(where), 1))
        for each in (known.at_rest.force, known.forward.force, known.forward.torque)
    )
    with solvable("magnet"):
        at_rest[moved], driven[moved], torque[moved] = forces_with_core(
            winding_path(case), *_gridded(case), magnet_for_solvers(case), where[moved], current, known
        )
    return Moved(varied=varied, at_rest=at_rest, driven=driven, torque=torque)
