"""Mutual inductances of the filaments of all turns: exact within a turn, on few nodes between turns."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.coaxial_circles import circles_at_distance, mutual_inductance
from coilgen.physics.conductor import Floats
from coilgen.physics.eddy_section import Section, mean_distances
from coilgen.physics.eddy_turns import Turns

_NEAR_WIDTHS = 2.5
_MIDDLE_WIDTHS = 8.0
_NEAR_PRECISION = 1e-3
_MIDDLE_NODES = 4
_FAR_NODES = 2
_LEAST_RADIUS = 1e-3
_SAME_SIZE = 1e-6


@dataclass(frozen=True, kw_only=True)
class _Table:
    """Blocks (n, nodes, neighbours * nodes) H of each turn with its neighbours (n, neighbours), on nodes that
    basis (m, nodes) interpolates from and to the filaments."""

    blocks: Floats
    neighbours: NDArray[np.int64]
    basis: Floats

    def flux(self, currents: Floats) -> Floats:
        nodes = self.basis.T @ currents
        seen = nodes[self.neighbours].reshape(len(currents), -1, currents.shape[2])
        return np.asarray(self.basis @ (self.blocks @ seen))


@dataclass(frozen=True, kw_only=True)
class _Matrix:
    """All far pairs at once: matrix (n nodes, n nodes) H, basis as of a table."""

    matrix: Floats
    basis: Floats

    def flux(self, currents: Floats) -> Floats:
        nodes = (self.basis.T @ currents).reshape(-1, currents.shape[2])
        return np.asarray(self.basis @ (self.matrix @ nodes).reshape(len(currents), -1, currents.shape[2]))


@dataclass(frozen=True, kw_only=True)
class Coupling:
    """The inductance matrix of n turns of m filaments as a sum of parts.

    own: (n, m, m) H, filaments of one turn. near, middle: turns within 2.5 and 8 widths. far: all others.
    """

    own: Floats
    near: _Table
    middle: _Table
    far: _Matrix

    def flux(self, currents: Floats) -> Floats:
        """Flux linkages (n, m, c) Wb of currents (n, m, c) A."""
        parts = (part.flux(currents) for part in (self.near, self.middle, self.far))
        return np.asarray(self.own @ currents + sum(parts))


def coupling(turns: Turns, cells: Section) -> Coupling:
    """Mutual inductances of the circular filaments of the turns' radii and heights.

    Between turns the currents stand on Chebyshev nodes across the width, as many as the distance asks for,
    and on two heights where there are several rows of filaments. The inductance of circles is smooth there:
    its error falls as rho^-nodes, rho the sum of the half axes of the ellipse about the strip that the other
    copper stays out of (L. N. Trefethen, Approximation Theory and Approximation Practice, 2013, chapter 8).
    """
    apart = np.hypot(*(np.subtract.outer(x, x) for x in (turns.radius, turns.z)))
    apart /= 0.5 * np.add.outer(turns.width, turns.width)
    rows = np.zeros(1) if len(cells.through) == 2 else np.array([-1.0, 1.0]) / np.sqrt(3.0)
    near, middle = apart < _NEAR_WIDTHS, apart < _MIDDLE_WIDTHS
    return Coupling(
        own=_own(turns, cells),
        near=_table(turns, near, _near_columns(turns, cells), rows, cells),
        middle=_table(turns, middle & ~near, _chebyshev(_MIDDLE_NODES), rows, cells),
        far=_matrix(turns, ~middle, _chebyshev(_FAR_NODES), rows, cells),
    )


def radii(turns: Turns, y: Floats) -> Floats:
    """Radii (n, m) m at offsets y (m,) in half widths."""
    half = 0.5 * turns.width[:, None]
    return np.maximum(turns.radius[:, None] + half * y, _LEAST_RADIUS * half)


def clearance(turns: Turns) -> float:
    """Least distance, m, of two turns' copper; infinite for a single turn."""
    r, z, w, t = turns.radius, turns.z, turns.width, turns.thickness
    across = np.abs(np.subtract.outer(r, r)) - 0.5 * np.add.outer(w, w)
    above = np.abs(np.subtract.outer(z, z)) - 0.5 * np.add.outer(t, t)
    gaps = np.maximum(across, above)
    np.fill_diagonal(gaps, np.inf)
    return float(gaps.min())


def _near_columns(turns: Turns, cells: Section) -> Floats:
    """Nodes across the width for the nearest turns; all filaments' own where those are no more."""
    half_axis = min(2.0 * max(clearance(turns), 0.0) / float(turns.width.max()), 1.0 / _NEAR_PRECISION)
    growth = np.arcsinh(half_axis)
    columns = np.unique(cells.y)
    count = -np.log(_NEAR_PRECISION) / growth if growth > 0.0 else np.inf
    return columns if count >= len(columns) else _chebyshev(max(_MIDDLE_NODES, int(np.ceil(count))))


def _chebyshev(count: int) -> Floats:
    return np.asarray(np.cos(np.pi * (np.arange(count) + 0.5) / count))


def _own(turns: Turns, cells: Section) -> Floats:
    """Circles at the mean distance of the filaments; turns of one cross-section share the distances."""
    first, second = np.triu_indices(len(cells.y))
    sizes = np.stack([turns.width, turns.thickness], axis=1)
    unit = _SAME_SIZE * sizes.max(axis=0)
    kinds, kind = np.unique(np.round(sizes / unit), axis=0, return_inverse=True)
    distances = np.array([mean_distances(cells, *(size * unit))[first, second] for size in kinds])
    radius = radii(turns, cells.y)
    values = circles_at_distance(radius[:, first], radius[:, second], 0.0, distances[kind.ravel()])
    own = np.empty((len(radius), len(cells.y), len(cells.y)))
    own[:, first, second] = own[:, second, first] = values
    return own


def _table(turns: Turns, pairs: NDArray[np.bool_], columns: Floats, rows: Floats, cells: Section) -> _Table:
    """Each turn's neighbours side by side; turns with fewer neighbours get blocks of zero."""
    count, nodes = len(turns.radius), len(columns) * len(rows)
    first, second = np.nonzero(np.triu(pairs, 1))
    block = _nodes_mutual(turns, columns, rows, first, second)
    here, there = np.append(first, second), np.append(second, first)
    degree = np.bincount(here, minlength=count)
    order = np.argsort(here, kind="stable")
    place = np.empty(len(here), dtype=np.int64)
    place[order] = np.arange(len(here)) - np.repeat(np.cumsum(degree) - degree, degree)
    most = max(1, int(degree.max()))
    blocks = np.zeros((count, nodes, most, nodes))
    blocks[here, :, place, :] = np.concatenate([block, block.transpose(0, 2, 1)])
    neighbours = np.zeros((count, most), dtype=np.int64)
    neighbours[here, place] = there
    basis = _basis(cells, columns, rows)
    return _Table(blocks=blocks.reshape(count, nodes, most * nodes), neighbours=neighbours, basis=basis)


def _matrix(turns: Turns, pairs: NDArray[np.bool_], columns: Floats, rows: Floats, cells: Section) -> _Matrix:
    count, nodes = len(turns.radius), len(columns) * len(rows)
    first, second = np.nonzero(np.triu(pairs, 1))
    block = _nodes_mutual(turns, columns, rows, first, second)
    matrix = np.zeros((count, nodes, count, nodes))
    matrix[first, :, second, :] = block
    matrix[second, :, first, :] = block.transpose(0, 2, 1)
    return _Matrix(matrix=matrix.reshape(count * nodes, count * nodes), basis=_basis(cells, columns, rows))


def _nodes_mutual(
    turns: Turns, columns: Floats, rows: Floats, first: NDArray[np.int64], second: NDArray[np.int64]
) -> Floats:
    """Mutual inductances (pairs, nodes, nodes) H of the nodes of the first turns with those of the second."""
    radius = radii(turns, np.repeat(columns, len(rows)))
    height = turns.z[:, None] + 0.5 * turns.thickness[:, None] * np.tile(rows, len(columns))
    r, s = radius[first][:, :, None], radius[second][:, None, :]
    return mutual_inductance(r, s, height[first][:, :, None] - height[second][:, None, :])


def _basis(cells: Section, columns: Floats, rows: Floats) -> Floats:
    """Values at the filaments of the polynomials that are one at one node, over columns and rows."""
    across, through = np.unique(cells.y), np.unique(cells.z)
    wide = np.eye(len(across)) if np.array_equal(columns, across) else _lagrange(columns, across)
    return np.asarray(np.kron(wide, _lagrange(rows, through)), dtype=np.float64)


def _lagrange(nodes: Floats, points: Floats) -> Floats:
    others = ~np.eye(len(nodes), dtype=bool)
    gaps = np.where(others, np.subtract.outer(nodes, nodes), 1.0)
    factors = np.where(others, points[:, None, None] - nodes, 1.0)
    return np.asarray(factors.prod(axis=2) / gaps.prod(axis=1))
