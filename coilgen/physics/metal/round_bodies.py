"""Round, centred bodies of any conducting or magnetic stuff near rings of current: finite elements, all
frequencies at once.

With u = r A = u_s + u_r, u_s that of the rings in free space, and for all v

    integral of (nu / r) grad u_r . grad v + s (sigma / r) u_r v
        = - integral over the bodies of ((nu - nu0) / r) grad u_s . grad v + s (sigma / r) u_s v .

As u_s solves its own equation within the bodies, the first integral on the right is one over their faces:
rough meshes then make no currents of their own in permeable bodies.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.metal.meridian_elements import (
    Meridian,
    Sparse,
    cells,
    current_matrix,
    everywhere,
    gradient_matrix,
    shapes,
)
from coilgen.physics.metal.reduction import decays, relaxation
from coilgen.physics.metal.relaxation import Complexes, Relaxation
from coilgen.physics.metal.ring_field import Rings, flux_function, slopes
from coilgen.physics.metal.round_mesh import RoundBody, round_mesh

_MOMENTS = 4
"""Vectors of each shift: the solution and its derivatives along s."""
_A_DECADE = 0.75
"""Shifts."""
Solver = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True)
class RoundMetal:
    """What round bodies add, in the order they were given.

    The flux in a body is that between the two of its places where direct current's flux function is most and
    least: what enters a plate's face, what passes a rod's middle. static_flux: (bodies,) Wb of one ampere;
    flux: (bodies, k) sqrt(H), how the relaxation's decays hold it out, see `flux_after_step`; it feels the
    first power of what the subspace lacks, some per cent.
    """

    relaxation: Relaxation
    flux: Floats
    static_flux: Floats


def body_flux(metal: RoundMetal, frequency: Floats) -> Complexes:
    """Flux in each body, (n, bodies) Wb, of one ampere at frequencies (n,) Hz."""
    turn = 2j * np.pi * frequency[:, None] * metal.relaxation.time
    held_out = (metal.relaxation.amplitude * turn / (1.0 + turn)) @ metal.flux.T
    return np.asarray(metal.static_flux - held_out)


def flux_after_step(metal: RoundMetal, time: Floats) -> Floats:
    """Flux in each body, (n, bodies) Wb, at times (n,) s after one ampere is switched on."""
    fade = np.exp(-time[:, None] / metal.relaxation.time)
    held_out = (metal.relaxation.amplitude * fade) @ metal.flux.T
    return np.asarray(metal.static_flux - held_out)


@dataclass(frozen=True, kw_only=True)
class System:
    """(K + s M) u_r = -(g0 + s g1) at the free nodes; M of each body; own: u_s at their nodes, else 0.

    held: nodes where conductors hold the flux; within: nodes of each body; solid: those without a hole.
    energy: p0. free: of all nodes, those that are not held at 0.
    """

    stiffness: Sparse
    damping: tuple[Sparse, ...]
    at_rest: Floats
    own: Floats
    held: NDArray[np.bool_]
    within: tuple[NDArray[np.int64], ...]
    solid: tuple[bool, ...]
    energy: float
    free: NDArray[np.int64]

    @property
    def all_damping(self) -> Sparse:
        """M of all bodies."""
        return reduce(lambda a, b: a + b, self.damping)


def round_metal(
    bodies: Sequence[RoundBody], rings: Rings, lowest: float, highest: float, *, detail: float
) -> RoundMetal:
    """What the bodies add from a lowest to a highest frequency, Hz.

    detail: m, spacing along r that resolves the rings' field at the bodies' faces: about the gap between.
    """
    mesh = round_mesh(bodies, rings, highest, detail)
    system = round_system(mesh, bodies, rings)
    conducts = any(body.conductivity > 0.0 for body in bodies)
    basis = _basis(system, _shifts(lowest, highest) if conducts else np.zeros(1))
    return _found(system, basis)


def _shifts(lowest: float, highest: float) -> Floats:
    """Real s, 1/s, some a decade; 0 for direct current before them."""
    low, high = 2.0 * np.pi * lowest, 4.0 * np.pi * highest
    count = 1 + int(np.ceil(_A_DECADE * np.log10(high / low)))
    return np.append(0.0, np.geomspace(low, high, count))


def _found(system: System, basis: Floats) -> RoundMetal:
    whole = 2.0 * np.pi
    damping = [basis.T @ (one @ basis) for one in system.damping]
    modes = decays(basis.T @ (system.stiffness @ basis), sum(damping))
    at_rest, moving = basis.T @ system.at_rest, basis.T @ (system.all_damping @ system.own)
    found = relaxation(modes, damping, at_rest, moving, system.energy)
    static = system.own - basis @ (modes.vector @ (modes.vector.T @ at_rest))
    decaying = basis @ modes.lasting.vector
    ends = [_ends(*each, static) for each in zip(system.within, system.solid, strict=True)]
    return RoundMetal(
        relaxation=Relaxation(
            static=whole * found.static,
            amplitude=np.sqrt(whole) * found.amplitude,
            time=found.time,
            damping=found.damping,
        ),
        static_flux=whole * np.array([sign @ static[nodes] for nodes, sign in ends]),
        flux=np.sqrt(whole) * np.array([sign @ decaying[nodes] for nodes, sign in ends]),
    )


def _ends(nodes: NDArray[np.int64], solid: bool, static: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Nodes where the flux function at rest is most and least in a body, and their signs.

    A solid body has the axis too, where it is 0 and no node is free.
    """
    values = static[nodes]
    found = nodes[[int(np.argmax(values)), int(np.argmin(values))]]
    counts = not solid or static[found] * np.array([1.0, -1.0]) > 0.0
    return found, np.where(counts, np.array([1.0, -1.0]), 0.0)


def round_system(mesh: Meridian, bodies: Sequence[RoundBody], rings: Rings) -> System:
    """The bodies' system on a mesh."""
    stiffness = gradient_matrix(mesh, everywhere(mesh)) / MU0
    shape = (len(mesh.node_r), len(mesh.node_z))
    damping, at_rest = [], np.zeros(shape)
    for body in bodies:
        filled = cells(mesh, body.inner, body.outer, body.bottom, body.top)
        if body.permeability != 1.0:
            rise = (1.0 / body.permeability - 1.0) / MU0
            stiffness = stiffness + rise * gradient_matrix(mesh, filled)
            at_rest += rise * _through_faces(mesh, body, rings)
        damping.append(body.conductivity * current_matrix(mesh, filled))
    return _of_free_nodes(mesh, bodies, rings, stiffness, damping, at_rest)


def _of_free_nodes(
    mesh: Meridian,
    bodies: Sequence[RoundBody],
    rings: Rings,
    stiffness: Sparse,
    damping: Sequence[Sparse],
    at_rest: Floats,
) -> System:
    """The system without the nodes on the axis and far off."""
    inner = np.zeros(at_rest.shape, dtype=bool)
    inner[1:-1, 1:-1] = True
    free = np.flatnonzero(inner)
    r, z = (grid.ravel()[free] for grid in np.meshgrid(mesh.node_r, mesh.node_z, indexing="ij"))
    within = tuple(np.flatnonzero(_inside(body, r, z)) for body in bodies)
    conductors = [_inside(body, r, z) for body in bodies if body.conductivity > 0.0]
    near, own = np.unique(np.concatenate(within)), np.zeros(len(free))
    own[near] = flux_function(rings, r[near], z[near])
    return System(
        stiffness=stiffness[free][:, free].tocsc(),
        damping=tuple(one[free][:, free].tocsc() for one in damping),
        at_rest=at_rest.ravel()[free],
        own=own,
        held=np.any(conductors, axis=0) if conductors else np.zeros(len(free), dtype=bool),
        within=within,
        solid=tuple(body.inner == 0.0 for body in bodies),
        energy=float(at_rest.ravel()[free] @ own),
        free=free,
    )


def _inside(body: RoundBody, r: Floats, z: Floats) -> NDArray[np.bool_]:
    """Points in and on a body."""
    hair = 1e-9
    in_r = (r > body.inner - hair) & (r < body.outer + hair)
    return np.asarray(in_r & (z > body.bottom - hair) & (z < body.top + hair))


def _through_faces(mesh: Meridian, body: RoundBody, rings: Rings) -> Floats:
    """Integral of v du_s/dn / r over a body's faces, for every node's v, (2 nr + 1, 2 nz + 1)."""
    out = np.zeros((len(mesh.node_r), len(mesh.node_z)))
    q = mesh.r**2
    radial = _between(mesh.r, body.inner, body.outer)
    upright = _between(mesh.z, body.bottom, body.top)
    for height, sign in ((body.bottom, -1.0), (body.top, 1.0)):
        at, weight = _points(q, radial)
        _, rise = slopes(rings, np.sqrt(at), np.full(len(at), height))
        column = int(np.argmin(np.abs(mesh.node_z - height)))
        _add(out[:, column], radial, sign * rise * weight / (2.0 * at))
    for radius, sign in ((body.inner, -1.0), (body.outer, 1.0)):
        if radius > 0.0:
            at, weight = _points(mesh.z, upright)
            rise, _ = slopes(rings, np.full(len(at), radius), at)
            row = int(np.argmin(np.abs(mesh.node_r - radius)))
            _add(out[row], upright, sign * rise * weight / radius)
    return out


_GAUSS, _WEIGHTS = np.polynomial.legendre.leggauss(4)
_GAUSS, _WEIGHTS = 0.5 + 0.5 * _GAUSS, 0.5 * _WEIGHTS
_SHAPES = shapes(_GAUSS)


def _between(lines: Floats, low: float, high: float) -> NDArray[np.int64]:
    middle = 0.5 * (lines[1:] + lines[:-1])
    return np.flatnonzero((middle > low) & (middle < high))


def _points(lines: Floats, intervals: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Gauss's points and weights on intervals, one after another."""
    width = np.diff(lines)[intervals, None]
    return (lines[intervals, None] + width * _GAUSS).ravel(), (width * _WEIGHTS).ravel()


def _add(nodes: Floats, intervals: NDArray[np.int64], values: Floats) -> None:
    """Adds integrals against shape functions, from values times weights at `_points`, to a line of nodes."""
    parts = values.reshape(-1, len(_GAUSS)) @ _SHAPES.T
    for k in range(3):
        np.add.at(nodes, 2 * intervals + k, parts[:, k])


def _basis(system: System, shifts: Floats) -> Floats:
    """Solutions (n, k) at the shifts with their derivatives, and that with the flux held in conductors."""
    vectors = [_perfect(system)] if system.held.any() else []
    moving = system.all_damping @ system.own
    for shift in shifts:
        solve = factored(system.stiffness + shift * system.all_damping)
        vector = solve(-(system.at_rest + shift * moving))
        vectors.append(vector)
        vector = solve(-(moving + system.all_damping @ vector))
        for _ in range(_MOMENTS - 1):
            vectors.append(vector)
            vector = solve(system.all_damping @ vector)
    return np.array([vector for vector in vectors if np.any(vector)]).T


def _perfect(system: System) -> Floats:
    """u_r where no flux changes in the conductors: s without end."""
    held, loose = np.flatnonzero(system.held), np.flatnonzero(~system.held)
    out = np.where(system.held, -system.own, 0.0)
    rows = system.stiffness[loose]
    out[loose] = factored(rows[:, loose])(-(system.at_rest[loose] + rows[:, held] @ out[held]))
    return out


def factored(matrix: Sparse) -> Solver:
    """Solver of a symmetric positive matrix."""
    from scipy.sparse.linalg import splu

    found = splu(
        matrix.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return lambda right: np.asarray(found.solve(right))
