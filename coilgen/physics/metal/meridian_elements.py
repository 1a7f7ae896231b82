"""Finite elements for r A in a meridian plane: nine-node quadrilaterals in r² and z.

With q = r² the energy of the field, integral of (nu / r) |grad u|² dr dz, is that of 2 u_q² + u_z² / 2 q over
dq dz, which is free of the axis's singularity; a field that is even is found exactly. u = 0 on the axis.
"""

from typing import Any

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

Sparse = Any
"""A sparse matrix of scipy."""

_NODE, _WEIGHT = np.polynomial.legendre.leggauss(5)
_NODE, _WEIGHT = 0.5 + 0.5 * _NODE, 0.5 * _WEIGHT


def shapes(x: Floats) -> Floats:
    """The three quadratic shape functions at x (n,) from 0 to 1, (3, n)."""
    return np.array([(1.0 - x) * (1.0 - 2.0 * x), 4.0 * x * (1.0 - x), x * (2.0 * x - 1.0)])


_SHAPE = shapes(_NODE)
_SLOPE = np.array([4.0 * _NODE - 3.0, 4.0 - 8.0 * _NODE, 4.0 * _NODE - 1.0])


@dataclass(frozen=True, kw_only=True)
class Meridian:
    """A mesh of lines r (nr + 1,) from 0 and z (nz + 1,), m; nodes on the lines and halfway in r² and z."""

    r: Floats
    z: Floats

    @property
    def node_r(self) -> Floats:
        """(2 nr + 1,) m."""
        return np.sqrt(_with_middles(self.r**2))

    @property
    def node_z(self) -> Floats:
        """(2 nz + 1,) m."""
        return _with_middles(self.z)


def _with_middles(lines: Floats) -> Floats:
    nodes = np.empty(2 * len(lines) - 1)
    nodes[::2], nodes[1::2] = lines, 0.5 * (lines[1:] + lines[:-1])
    return nodes


@dataclass(frozen=True, kw_only=True)
class Cells:
    """A body's cells: along r and z, 1 for intervals it fills and 0 for others."""

    along_r: Floats
    along_z: Floats


def cells(mesh: Meridian, inner: float, outer: float, bottom: float, top: float) -> Cells:
    """The cells between two radii and two heights, m, all of them lines of the mesh."""
    return Cells(along_r=_filled(mesh.r, inner, outer), along_z=_filled(mesh.z, bottom, top))


def _filled(lines: Floats, low: float, high: float) -> Floats:
    middle = 0.5 * (lines[1:] + lines[:-1])
    return np.where((middle > low) & (middle < high), 1.0, 0.0)


def everywhere(mesh: Meridian) -> Cells:
    """All cells."""
    return Cells(along_r=np.ones(len(mesh.r) - 1), along_z=np.ones(len(mesh.z) - 1))


def gradient_matrix(mesh: Meridian, where: Cells) -> Sparse:
    """Integral of grad u . grad v / r dr dz over the cells, nodes of one r after another."""
    from scipy.sparse import kron

    across = _banded(2.0 * _stiffness(mesh.r**2), where.along_r)
    along = _banded(_mass(mesh.z), where.along_z)
    bent = _banded(_stiffness(mesh.z), where.along_z)
    return kron(across, along, "csr") + kron(_over_radius(mesh, where), bent, "csr")


def current_matrix(mesh: Meridian, where: Cells) -> Sparse:
    """Integral of u v / r dr dz over the cells, nodes of one r after another."""
    from scipy.sparse import kron

    return kron(_over_radius(mesh, where), _banded(_mass(mesh.z), where.along_z), "csr")


def _over_radius(mesh: Meridian, where: Cells) -> Sparse:
    """Integral of u v / 2 q dq along r."""
    return _banded(_mass(mesh.r**2, weighted=True), where.along_r)


def _mass(lines: Floats, *, weighted: bool = False) -> Floats:
    """Products of shape functions over each interval, (n, 3, 3); weighted: over twice the coordinate."""
    width = np.diff(lines)[:, None]
    weight = width * _WEIGHT
    if weighted:
        weight = 0.5 * weight / (lines[:-1, None] + width * _NODE)
    return np.asarray(np.einsum("ig,jg,eg->eij", _SHAPE, _SHAPE, weight))


def _stiffness(lines: Floats) -> Floats:
    """Products of the shape functions' slopes over each interval, (n, 3, 3)."""
    one: Floats = np.einsum("ig,jg,g->ij", _SLOPE, _SLOPE, _WEIGHT)
    return np.asarray(one / np.diff(lines)[:, None, None])


def _banded(elements: Floats, share: Floats) -> Sparse:
    """Elements (n, 3, 3) of a row of intervals, each times its share, as one matrix."""
    from scipy.sparse import csr_matrix

    count = len(elements)
    first = 2 * np.arange(count)[:, None, None]
    row = np.broadcast_to(first + np.arange(3)[None, :, None], (count, 3, 3))
    column = np.broadcast_to(first + np.arange(3)[None, None, :], (count, 3, 3))
    values = elements * share[:, None, None]
    size = 2 * count + 1
    matrix = csr_matrix((values.ravel(), (row.ravel(), column.ravel())), shape=(size, size))
    matrix.eliminate_zeros()
    return matrix
