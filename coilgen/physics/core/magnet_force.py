"""Force and torque of the winding and of soft cores on a permanent magnet, by what its side carries."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.magnet_side import DENSITY, Magnet, MagnetSide, magnet_side
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments

if TYPE_CHECKING:
    from coilgen.physics.core.load import FromAside
    from coilgen.physics.core.soft_core import Core, Magnetised

_ACROSS, _AROUND = 12, 64
_CORE_ACROSS = 24
"""The field of a core is told apart no finer than this part of the magnet's size."""


@dataclass(frozen=True, kw_only=True)
class MagnetForce:
    """Force (3,) N on the magnet, and torque (3,) N m about its centre."""

    force: Floats
    torque: Floats


@dataclass(frozen=True, kw_only=True)
class CoredMagnetForce:
    """A magnet beside a winding with soft cores: what does and what does not turn with the current.

    at_rest: without current, the pull to the core. forward, backward: at plus and minus the current.
    states: the cores' magnetisation at each (flat, A/m), none without cores.
    """

    at_rest: MagnetForce
    forward: MagnetForce
    backward: MagnetForce
    states: tuple[Floats, ...] = ()

    @property
    def odd(self) -> Floats:
        """Part of the force (3,) N that reverses with the current."""
        return 0.5 * (self.forward.force - self.backward.force)


def pole_charges(magnet: Magnet, across: int = _ACROSS, around: int = _AROUND) -> tuple[Floats, Floats]:
    """Points (n, 3) m and charges (n,) A m of M . n dA over the magnet's surface, by Gauss's rules.

    across, around: points along a radius, a side or the height, and around a round magnet.
    Raises ValueError for sizes that are not positive or a pole without direction.
    """
    strength = magnet.magnetisation
    points, normals, areas = (
        _block(magnet, across) if magnet.form == "block" else _round(magnet, across, around)
    )
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


def field_aside(magnet: Magnet) -> "FromAside":
    """Flux density (n, 3) T of the magnet at points (n, 3) m farther off than a twelfth of its size."""
    from coilgen.physics.core.load import FromAside
    from coilgen.physics.core.round_field import round_flux_density

    where, charge = pole_charges(magnet)
    half = 0.5 * np.array([*magnet.size, magnet.height])

    def distances(points: Floats) -> Floats:
        off = np.maximum(np.abs(points - np.asarray(magnet.centre)) - half, 0.0)
        return np.asarray(np.linalg.norm(off, axis=1))

    def field(points: Floats) -> Floats:
        return _charges_flux_density(where, charge, points)

    def around(points: Floats) -> Floats:
        nearest = float(distances(points).min(initial=np.inf))
        return round_flux_density(field, magnet.centre[:2], points, nearest)

    upright = magnet.form != "block" and not np.any(magnet.magnetisation[:2])
    return FromAside(flux_density=around if upright else field, distances=distances)


def _charges_flux_density(where: Floats, charge: Floats, points: Floats) -> Floats:
    from coilgen.physics.core.charge_field import boxes_flux_density

    return boxes_flux_density(np.column_stack([where, np.zeros((len(where), 3)), charge]), points)


def force_on_magnet(
    path: Filaments, magnet: Magnet, current: float = 1.0, density: float = DENSITY
) -> MagnetForce:
    """Force and torque of a bare winding's current (A) on the magnet.

    For one ampere it is the force constant, N/A. density: see `magnet_side`.
    """
    side = magnet_side(magnet, *_path_room(path, magnet), density)
    return _on_side(magnet, side, path_flux_density(path, side.points, current))


def forces_on_magnet(path: Filaments, magnet: Magnet, moves: Floats) -> tuple[Floats, Floats]:
    """Force N/A and torque N m/A, (n, 3) each, with the magnet moved by each of (n, 3) m from its place."""
    moved = [_moved(magnet, move) for move in moves]
    sides = [magnet_side(there, *_path_room(path, there)) for there in moved]
    field = path_flux_density(path, np.concatenate([side.points for side in sides]))
    fields = np.split(field, np.cumsum([len(side.points) for side in sides])[:-1])
    found = [_on_side(*each) for each in zip(moved, sides, fields, strict=True)]
    return np.array([one.force for one in found]), np.array([one.torque for one in found])


def force_with_core(
    path: Filaments,
    core: "Core",
    load: Floats,
    magnet: Magnet,
    current: float,
    near: CoredMagnetForce | None = None,
) -> CoredMagnetForce:
    """Force and torque on a magnet beside a winding with soft cores, magnetised by both.

    load: of the winding at one ampere, on the core's grid (see `load.winding_load`). near: forces of cores or
    a magnet that differ a little; from their states, where the grid has as many faces, these are sought.
    """
    bare, beside = force_on_magnet(path, magnet), _BesideCore(core, magnet)
    known = near.states if near is not None and len(near.states[0]) == len(load) else ()
    at_rest, rest = beside.force(0.0 * load, known[0] if known else None)
    forward, driven = beside.force(current * load, rest.m + known[1] - known[0] if known else rest.m)
    reverse = known[2] - known[0] if known else rest.m - driven.m
    backward, reversed_ = beside.force(-current * load, rest.m + reverse)
    return CoredMagnetForce(
        at_rest=at_rest,
        forward=_sum(forward, bare, current),
        backward=_sum(backward, bare, -current),
        states=(rest.m, driven.m, reversed_.m),
    )


def forces_with_core(
    path: Filaments,
    core: "Core",
    load: Floats,
    magnet: Magnet,
    moves: Floats,
    current: float,
    near: CoredMagnetForce | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Forces without current and at the current (A), N, and torque then, N m, (n, 3) each.

    The magnet moved by each of (n, 3) m, near: forces where it was; otherwise as `force_with_core`.
    """
    at_rest, forward, torque = np.zeros_like(moves), np.zeros_like(moves), np.zeros_like(moves)
    start, changed = (None, None) if near is None else (near.states[0], near.states[1] - near.states[0])
    for k, move in enumerate(moves):
        there = _moved(magnet, move)
        beside = _BesideCore(core, there)
        alone, rest = beside.force(0.0 * load, start)
        driven, state = beside.force(current * load, rest.m if changed is None else rest.m + changed)
        start, changed = rest.m, state.m - rest.m
        whole = _sum(driven, force_on_magnet(path, there), current)
        at_rest[k], forward[k], torque[k] = alone.force, whole.force, whole.torque
    return at_rest, forward, torque


def forces_of_states(core: "Core", magnet: Magnet, states: Floats) -> Floats:
    """Force along z on the magnet of each of some magnetisations (k, n) of a core, (k,) N; of themselves."""
    from coilgen.physics.core.charge_field import core_flux_density
    from coilgen.physics.core.soft_core import Magnetised

    side = magnet_side(magnet, *_core_room(core, magnet))
    fields = (core_flux_density(Magnetised(core=core, m=m, load=m), side.points) for m in states)
    return np.array([_on_side(magnet, side, field).force[2] for field in fields])


class _BesideCore:
    """A magnet beside cores, and what they do to it at a winding's load."""

    def __init__(self, core: "Core", magnet: Magnet) -> None:
        from coilgen.physics.core.load import field_load

        self.core, self.magnet = core, magnet
        self.by_magnet = field_load(core.grid, field_aside(magnet))
        self.side = magnet_side(magnet, *_core_room(core, magnet))

    def force(self, load: Floats, start: Floats | None) -> "tuple[MagnetForce, Magnetised]":
        from coilgen.physics.core.charge_field import core_flux_density
        from coilgen.physics.core.soft_core import magnetised

        state = magnetised(self.core, self.by_magnet + load, start)
        return _on_side(self.magnet, self.side, core_flux_density(state, self.side.points)), state


def _path_room(path: Filaments, magnet: Magnet) -> tuple[float, float]:
    """How far a winding's copper is below and above a magnet, m; inf for none."""
    half = 0.5 * path.thickness
    return _room(path.start[:, 2] - half, path.start[:, 2] + half, magnet)


def _core_room(core: "Core", magnet: Magnet) -> tuple[float, float]:
    """How far cores are below and above a magnet, m, but not less than cells of theirs can tell."""
    grid = core.grid
    filled = grid.filled.any(axis=(1, 2))
    room = _room(grid.bottom[filled], (grid.bottom + grid.thickness)[filled], magnet)
    below, above = (max(each, max(magnet.size) / _CORE_ACROSS) for each in room)
    return below, above


def _room(low: Floats, high: Floats, magnet: Magnet) -> tuple[float, float]:
    """What is as high as the magnet, beside it, counts as touching one of its faces."""
    bottom, top = magnet.ends
    under, over = high <= bottom, low >= top
    if not np.all(under | over):
        return 0.0, 0.0
    return bottom - float(high[under].max(initial=-np.inf)), float(low[over].min(initial=np.inf)) - top


def _moved(magnet: Magnet, move: Floats) -> Magnet:
    x, y, z = (float(a + b) for a, b in zip(magnet.centre, move, strict=True))
    return replace(magnet, centre=(x, y, z))


def _sum(one: MagnetForce, other: MagnetForce, share: float) -> MagnetForce:
    return MagnetForce(force=one.force + share * other.force, torque=one.torque + share * other.torque)


def _on_side(magnet: Magnet, side: MagnetSide, field: Floats) -> MagnetForce:
    each = np.cross(side.current, field) + side.charge[:, None] * field
    arm = side.points - np.asarray(magnet.centre)
    return MagnetForce(force=each.sum(axis=0), torque=np.cross(arm, each).sum(axis=0))
