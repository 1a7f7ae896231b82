"""Mutual inductances of all filaments of all turns: exact within a turn, fewer nodes the farther turns are apart."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.coaxial_circles import circles_at_distance, mutual_inductance
from coilgen.physics.conductor import Floats
from coilgen.physics.eddy_section import Section, mean_distances
from coilgen.physics.eddy_turns import Turns

_FAR_NODES = 5
_NEAR_WIDTHS = 2.0
_LEAST_RADIUS = 1e-3


@dataclass(frozen=True, kw_only=True)
class Coupling:
    """The inductance matrix of n turns of m filaments as three parts, H.

    own: (n, m, m), filaments of one turn. near: (n, near nodes, neighbours * near nodes) with neighbours
    (n, neighbours), turns within two widths, on columns of filaments. far: (n far nodes, n far nodes), all
    others, on Chebyshev nodes. near_basis (m, near nodes) and far_basis (m, far nodes) interpolate from nodes to
    filaments.
    """

    own: Floats
    near: Floats
    neighbours: NDArray[np.int64]
    far: Floats
    near_basis: Floats
    far_basis: Floats

    def flux(self, currents: Floats) -> Floats:
        """Flux linkages (n, m, c) Wb of currents (n, m, c) A."""
        count, _, cases = currents.shape
        near = self.near_basis.T @ currents
        seen = near[self.neighbours].reshape(count, -1, cases)
        far = self.far @ (self.far_basis.T @ currents).reshape(-1, cases)
        far = far.reshape(count, -1, cases)
        return np.asarray(self.own @ currents + self.near_basis @ (self.near @ seen) + self.far_basis @ far)


def coupling(turns: Turns, cells: Section) -> Coupling:
    """Mutual inductances of the circular filaments of the turns' radii and heights."""
    columns = np.unique(cells.y)
    rows = np.zeros(1) if len(cells.through) == 2 else np.array([-1.0, 1.0]) / np.sqrt(3.0)
    chebyshev = np.cos(np.pi * (np.arange(_FAR_NODES) + 0.5) / _FAR_NODES)
    apart = np.hypot(*(np.subtract.outer(x, x) for x in (turns.radius, turns.z)))
    is_near = apart < _NEAR_WIDTHS * 0.5 * np.add.outer(turns.width, turns.width)
    near, neighbours = _near(turns, is_near, *_grid(columns, rows))
    return Coupling(
        own=_own(turns, cells),
        near=near,
        neighbours=neighbours,
        far=_far(turns, is_near, *_grid(chebyshev, rows)),
        near_basis=_basis(cells, columns, rows),
        far_basis=_basis(cells, chebyshev, rows),
    )


def radii(turns: Turns, y: Floats) -> Floats:
    """Radii (n, m) m at offsets y (m,) in half widths."""
    half = 0.5 * turns.width[:, None]
    return np.maximum(turns.radius[:, None] + half * y, _LEAST_RADIUS * half)


def _grid(y: Floats, z: Floats) -> tuple[Floats, Floats]:
    return np.repeat(y, len(z)), np.tile(z, len(y))


def _own(turns: Turns, cells: Section) -> Floats:
    """Circles at the mean distance of the filaments; turns of one cross-section share the distances."""
    distance = np.empty((len(turns.radius), len(cells.y), len(cells.y)))
    kinds, kind = np.unique(np.stack([turns.width, turns.thickness], axis=1), axis=0, return_inverse=True)
    for number, (width, thickness) in enumerate(kinds):
        distance[kind.ravel() == number] = mean_distances(cells, width, thickness)
    radius = radii(turns, cells.y)
    return circles_at_distance(radius[:, :, None], radius[:, None, :], 0.0, distance)


def _near(turns: Turns, is_near: NDArray[np.bool_], y: Floats, z: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Blocks between near turns, each turn's side by side; turns with fewer neighbours get blocks of zero."""
    count, nodes = len(turns.radius), len(y)
    first, second = np.nonzero(np.triu(is_near, 1))
    block = _nodes_mutual(turns, y, z, first, second)
    rows, columns = np.append(first, second), np.append(second, first)
    degree = np.bincount(rows, minlength=count)
    order = np.argsort(rows, kind="stable")
    place = np.empty(len(rows), dtype=np.int64)
    place[order] = np.arange(len(rows)) - np.repeat(np.cumsum(degree) - degree, degree)
    most = max(1, int(degree.max()))
    near = np.zeros((count, nodes, most, nodes))
    near[rows, :, place, :] = np.concatenate([block, block.transpose(0, 2, 1)])
    neighbours = np.zeros((count, most), dtype=np.int64)
    neighbours[rows, place] = columns
    return near.reshape(count, nodes, most * nodes), neighbours


def _far(turns: Turns, is_near: NDArray[np.bool_], y: Floats, z: Floats) -> Floats:
    count, nodes = len(turns.radius), len(y)
    first, second = np.nonzero(np.triu(~is_near, 1))
    block = _nodes_mutual(turns, y, z, first, second)
    far = np.zeros((count, nodes, count, nodes))
    far[first, :, second, :] = block
    far[second, :, first, :] = block.transpose(0, 2, 1)
    return far.reshape(count * nodes, count * nodes)


def _nodes_mutual(
    turns: Turns, y: Floats, z: Floats, first: NDArray[np.int64], second: NDArray[np.int64]
) -> Floats:
    """Mutual inductances (pairs, nodes, nodes) H of the nodes of the first turns with those of the second."""
    radius = radii(turns, y)
    height = turns.z[:, None] + 0.5 * turns.thickness[:, None] * z
    r, s = radius[first][:, :, None], radius[second][:, None, :]
    apart = height[first][:, :, None] - height[second][:, None, :]
    return mutual_inductance(r, s, apart)


def _basis(cells: Section, columns: Floats, rows: Floats) -> Floats:
    """Values at the filaments of the polynomials that are one at one node: a product over columns and rows."""
    across = np.unique(cells.y)
    through = np.unique(cells.z)
    same = len(columns) == len(across) and np.array_equal(columns, across)
    wide = np.eye(len(across)) if same else _lagrange(columns, across)
    return np.kron(wide, _lagrange(rows, through))


def _lagrange(nodes: Floats, points: Floats) -> Floats:
    others = ~np.eye(len(nodes), dtype=bool)
    gaps = np.where(others, np.subtract.outer(nodes, nodes), 1.0)
    factors = np.where(others, points[:, None, None] - nodes, 1.0)
    return np.asarray(factors.prod(axis=2) / gaps.prod(axis=1))
