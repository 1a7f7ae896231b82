"""Finite elements' system of round bodies near rings of current, put together for any material.

What mesh, rings and outlines make of it is kept, so that bodies of another permeability are a sum away.
"""

from collections.abc import Callable, Sequence
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.node_order import dissected
from coilgen.physics.metal.meridian_elements import (
    Meridian,
    Sparse,
    cells,
    current_matrix,
    everywhere,
    gradient_matrix,
    shapes,
)
from coilgen.physics.metal.ring_field import Rings, flux_function, slopes
from coilgen.physics.metal.round_mesh import RoundBody

Solver = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True)
class Outlines:
    """What is known of n free nodes before the bodies' materials are: u_s and u_r are 0 at the others.

    bodies: as they were meshed. air: sparse (n, n), integral of grad u . grad v / mu0 r. gradients, currents:
    of each body, integrals of grad u . grad v / r and u v / r over it. faces: of each body (n,) the integral
    of v du_s/dn / r over its faces, None for one that is not magnetic. inside: (n,) nodes in and on each.
    own: (n,) u_s at the bodies' nodes, else 0.
    """

    bodies: tuple[RoundBody, ...]
    air: Sparse
    gradients: tuple[Sparse, ...]
    currents: tuple[Sparse, ...]
    faces: tuple[Floats | None, ...]
    inside: tuple[NDArray[np.bool_], ...]
    own: Floats


@dataclass(frozen=True, kw_only=True)
class System:
    """(K + s M) u_r = -(g0 + s g1) at the free nodes; M of each body; own: u_s at their nodes, else 0.

    held: nodes where conductors hold the flux; within: nodes of each body; solid: those without a hole.
    energy: p0.
    """

    stiffness: Sparse
    damping: tuple[Sparse, ...]
    at_rest: Floats
    own: Floats
    held: NDArray[np.bool_]
    within: tuple[NDArray[np.int64], ...]
    solid: tuple[bool, ...]
    energy: float

    @property
    def all_damping(self) -> Sparse:
        """M of all bodies."""
        return reduce(lambda a, b: a + b, self.damping)


def outlines(mesh: Meridian, bodies: Sequence[RoundBody], rings: Rings) -> Outlines:
    """The bodies on a mesh."""
    free, r, z = _free_nodes(mesh)
    filled = [cells(mesh, body.inner, body.outer, body.bottom, body.top) for body in bodies]
    inside = tuple(_inside(body, r, z) for body in bodies)
    near, own = np.flatnonzero(np.any(inside, axis=0)), np.zeros(len(free))
    own[near] = flux_function(rings, r[near], z[near])

    place = np.full(len(mesh.node_r) * len(mesh.node_z), -1, dtype=np.int32)
    place[free] = np.arange(len(free))

    def held(matrix: Sparse) -> Sparse:
        return _at_places(matrix, place, len(free))

    return Outlines(
        bodies=tuple(bodies),
        air=held(gradient_matrix(mesh, everywhere(mesh)) / MU0),
        gradients=tuple(held(gradient_matrix(mesh, one)) for one in filled),
        currents=tuple(held(current_matrix(mesh, one)) for one in filled),
        faces=tuple(
            None if body.permeability == 1.0 else _through_faces(mesh, body, rings).ravel()[free]
            for body in bodies
        ),
        inside=inside,
        own=own,
    )


def _at_places(matrix: Sparse, place: NDArray[np.int32], count: int) -> Sparse:
    """What a matrix holds of nodes that have a place, put there, (count, count)."""
    from scipy.sparse import csc_matrix

    matrix = matrix.tocoo(copy=False)
    row, column = place[matrix.row], place[matrix.col]
    kept = (row >= 0) & (column >= 0)
    return csc_matrix((matrix.data[kept], (row[kept], column[kept])), shape=(count, count))


def _free_nodes(mesh: Meridian) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Nodes neither on the axis nor far off, in the order in which they are solved for, their r and z."""
    shape = (len(mesh.node_r), len(mesh.node_z))
    free = dissected(np.arange(shape[0] * shape[1]).reshape(shape)[1:-1, 1:-1])
    r, z = (grid.ravel()[free] for grid in np.meshgrid(mesh.node_r, mesh.node_z, indexing="ij"))
    return free, r, z


def system_of(known: Outlines, bodies: Sequence[RoundBody]) -> System:
    """The system of bodies of these outlines; those that were not magnetic stay so."""
    stiffness, at_rest = known.air, np.zeros(len(known.own))
    for body, gradient, faces in zip(bodies, known.gradients, known.faces, strict=True):
        if faces is not None:
            rise = (1.0 / body.permeability - 1.0) / MU0
            stiffness, at_rest = stiffness + rise * gradient, at_rest + rise * faces
    conductors = [
        inside for body, inside in zip(bodies, known.inside, strict=True) if body.conductivity > 0.0
    ]
    return System(
        stiffness=stiffness,
        damping=tuple(body.conductivity * one for body, one in zip(bodies, known.currents, strict=True)),
        at_rest=at_rest,
        own=known.own,
        held=np.any(conductors, axis=0) if conductors else np.zeros(len(at_rest), dtype=bool),
        within=tuple(np.flatnonzero(inside) for inside in known.inside),
        solid=tuple(body.inner == 0.0 for body in bodies),
        energy=float(at_rest @ known.own),
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


def factored(matrix: Sparse) -> Solver:
    """Solver of a symmetric positive matrix whose nodes are in a good order."""
    from scipy.sparse.linalg import splu

    found = splu(
        matrix.tocsc(),
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        panel_size=1,  # of such sparse columns wider ones take more room and time
        options={"SymmetricMode": True},
    )
    return lambda right: np.asarray(found.solve(right))
