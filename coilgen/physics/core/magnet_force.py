"""Force and torque of the winding and of soft cores on a permanent magnet, by its equivalent charges."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments

if TYPE_CHECKING:
    from coilgen.physics.core.soft_core import Core

FluxDensity = Callable[[Floats], Floats]
_ACROSS, _AROUND = 12, 64
_ACROSS_MOVED, _AROUND_MOVED = 8, 40


@dataclass(frozen=True, kw_only=True)
class Magnet:
    """Evenly magnetised permanent magnet, its axis along z, SI units.

    size: (x, y) m; the diameter twice for a disc or ring. hole: m, a ring's inner diameter. height: m, along
    z. remanence: T. pole: (3,), where its north pole points, any length. centre: (3,) m.
    The magnet's own permeability (about 1.05 for neodymium) is taken as 1.
    """

    form: Literal["disc", "ring", "block"]
    size: tuple[float, float]
    height: float
    remanence: float
    hole: float = 0.0
    pole: tuple[float, float, float] = (0.0, 0.0, 1.0)
    centre: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class MagnetForce:
    """Force (3,) N on the magnet, and torque (3,) N m about its centre."""

    force: Floats
    torque: Floats


@dataclass(frozen=True, kw_only=True)
class CoredMagnetForce:
    """A magnet beside a winding with soft cores: what does and what does not turn with the current.

    at_rest: without current, the pull to the core. forward, backward: at plus and minus the current.
    """

    at_rest: MagnetForce
    forward: MagnetForce
    backward: MagnetForce

    @property
    def odd(self) -> Floats:
        """Part of the force (3,) N that reverses with the current."""
        return 0.5 * (self.forward.force - self.backward.force)


def pole_charges(magnet: Magnet, across: int = _ACROSS, around: int = _AROUND) -> tuple[Floats, Floats]:
    """Points (n, 3) m and charges (n,) A m of M . n dA over the magnet's surface, by Gauss's rules.

    across, around: points along a radius, a side or the height, and around a round magnet.
    Raises ValueError for sizes that are not positive or a pole without direction.
    """
    if min(*magnet.size, magnet.height) <= 0.0 or not 0.0 <= magnet.hole < magnet.size[0]:
        raise ValueError("a magnet needs a positive size and height, and a hole smaller than itself")
    direction = np.asarray(magnet.pole, dtype=np.float64)
    if not np.any(direction):
        raise ValueError("a magnet's pole needs a direction")
    points, normals, areas = (
        _block(magnet, across) if magnet.form == "block" else _round(magnet, across, around)
    )
    strength = magnet.remanence / MU0 * direction / np.linalg.norm(direction)
    charge = areas * (normals @ strength)
    charged = np.abs(charge) > 1e-12 * np.abs(charge).max()
    return points[charged] + np.asarray(magnet.centre), charge[charged]


def _block(magnet: Magnet, across: int) -> tuple[Floats, Floats, Floats]:
    node, weight = np.polynomial.legendre.leggauss(across)
    u, v = (a.ravel() for a in np.meshgrid(node, node, indexing="ij"))
    share = np.outer(weight, weight).ravel() / 4.0
    half = 0.5 * np.array([*magnet.size, magnet.height])
    points, normals, areas = [], [], []
    for axis in range(3):
        one, other = (axis + 1) % 3, (axis + 2) % 3
        for side in (-1.0, 1.0):
            face = np.zeros((len(u), 3))
            face[:, axis], face[:, one], face[:, other] = side * half[axis], u * half[one], v * half[other]
            points.append(face)
            normals.append(np.tile(side * np.eye(3)[axis], (len(u), 1)))
            areas.append(4.0 * half[one] * half[other] * share)
    return np.concatenate(points), np.concatenate(normals), np.concatenate(areas)


def _round(magnet: Magnet, across: int, count: int) -> tuple[Floats, Floats, Floats]:
    node, weight = np.polynomial.legendre.leggauss(across)
    inner, outer, half = 0.5 * magnet.hole, 0.5 * magnet.size[0], 0.5 * magnet.height
    around = 2.0 * np.pi * (np.arange(count) + 0.5) / count
    out = np.column_stack([np.cos(around), np.sin(around), np.zeros(count)])
    up = np.array([0.0, 0.0, 1.0])
    radius = 0.5 * (inner + outer) + 0.5 * (outer - inner) * node
    ends = (radius[:, None, None] * out).reshape(-1, 3)
    ring = np.repeat(np.pi / count * (outer - inner) * weight * radius, count)
    points, normals, areas = [], [], []
    for side in (-1.0, 1.0):
        points.append(ends + side * half * up)
        normals.append(np.tile(side * up, (len(ends), 1)))
        areas.append(ring)
    for wall, sense in ((outer, 1.0), (inner, -1.0)):
        points.append((wall * out + half * node[:, None, None] * up).reshape(-1, 3))
        normals.append(np.tile(sense * out, (across, 1)))
        areas.append(np.repeat(2.0 * np.pi / count * wall * half * weight, count))
    return np.concatenate(points), np.concatenate(normals), np.concatenate(areas)


def magnet_flux_density(magnet: Magnet, points: Floats) -> Floats:
    """Flux density (n, 3) T of the magnet at points (n, 3) m farther off than a twelfth of its size."""
    return _charges_flux_density(*pole_charges(magnet), points)


def _charges_flux_density(where: Floats, charge: Floats, points: Floats) -> Floats:
    from coilgen.physics.core.charge_field import boxes_flux_density

    return boxes_flux_density(np.column_stack([where, np.zeros((len(where), 3)), charge]), points)


def force_on_magnet(path: Filaments, magnet: Magnet, current: float = 1.0) -> MagnetForce:
    """Force and torque of a bare winding's current (A) on the magnet: the sum of charge times B.

    For one ampere it is the force constant, N/A.
    """
    where, charge = pole_charges(magnet)
    return _on_charges(magnet, where, charge, path_flux_density(path, where, current))


def forces_on_magnet(path: Filaments, magnet: Magnet, moves: Floats) -> tuple[Floats, Floats]:
    """Force N/A and torque N m/A, (n, 3) each, with the magnet moved by each of (n, 3) m from its place.

    With fewer charges than `force_on_magnet`: within 1e-4 of it.
    """
    where, charge = pole_charges(magnet, _ACROSS_MOVED, _AROUND_MOVED)
    points = (where + np.asarray(moves)[:, None, :]).reshape(-1, 3)
    field = path_flux_density(path, points).reshape(len(moves), len(where), 3)
    moved = [_on_charges(magnet, where, charge, each) for each in field]
    return np.array([one.force for one in moved]), np.array([one.torque for one in moved])


def force_with_core(
    path: Filaments, core: "Core", load: Floats, magnet: Magnet, current: float
) -> CoredMagnetForce:
    """Force and torque on a magnet beside a winding with soft cores, magnetised by both.

    load: of the winding at one ampere, on the core's grid (see `core_load.winding_load`).
    """
    from coilgen.physics.core.charge_field import core_flux_density
    from coilgen.physics.core.load import field_load
    from coilgen.physics.core.soft_core import magnetised

    where, charge = pole_charges(magnet)
    bare = path_flux_density(path, where)
    by_magnet = field_load(core.grid, _flux_density_of(where, charge))
    forces, start = [], None
    for share in (0.0, current, -current):
        state = magnetised(core, by_magnet + share * load, start)
        start = state.m if start is None else start
        field = share * bare + core_flux_density(state, where)
        forces.append(_on_charges(magnet, where, charge, field))
    return CoredMagnetForce(at_rest=forces[0], forward=forces[1], backward=forces[2])


def forces_with_core(
    path: Filaments, core: "Core", load: Floats, magnet: Magnet, moves: Floats, current: float
) -> tuple[Floats, Floats, Floats]:
    """Forces without current and at the current (A), N, and torque then, N m, (n, 3) each.

    The magnet moved by each of (n, 3) m. With fewer charges than `force_with_core`: within 0.1 % of it where
    the core is a twelfth of the magnet's size away.
    """
    from coilgen.physics.core.charge_field import core_flux_density
    from coilgen.physics.core.load import field_load
    from coilgen.physics.core.soft_core import magnetised

    at_rest, forward, torque = np.zeros_like(moves), np.zeros_like(moves), np.zeros_like(moves)
    start = None
    for k, move in enumerate(moves):
        x, y, z = (float(a + b) for a, b in zip(magnet.centre, move, strict=True))
        there = replace(magnet, centre=(x, y, z))
        where, charge = pole_charges(there, _ACROSS_MOVED, _AROUND_MOVED)
        by_magnet = field_load(core.grid, _flux_density_of(where, charge))
        alone = magnetised(core, by_magnet, start)
        start = alone.m
        driven = magnetised(core, by_magnet + current * load, start)
        at_rest[k] = charge @ core_flux_density(alone, where)
        field = path_flux_density(path, where, current) + core_flux_density(driven, where)
        one = _on_charges(there, where, charge, field)
        forward[k], torque[k] = one.force, one.torque
    return at_rest, forward, torque


def _flux_density_of(where: Floats, charge: Floats) -> FluxDensity:
    return lambda points: _charges_flux_density(where, charge, points)


def _on_charges(magnet: Magnet, where: Floats, charge: Floats, field: Floats) -> MagnetForce:
    each = charge[:, None] * field
    arm = where - np.asarray(magnet.centre)
    return MagnetForce(force=each.sum(axis=0), torque=np.cross(arm, each).sum(axis=0))
