"""A core's solver on the faces of filled cells alone: most of a grid about bodies far apart is air."""

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_charges import Faces, face_areas
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.cells import Cells, Tangent
from coilgen.physics.core.descent import Lead, Operator
from coilgen.physics.core.interaction import Interaction, potentials
from coilgen.physics.core.near_charges import NearCharges
from coilgen.physics.field.filaments import Indices

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

_BY_DIAGONAL = 25
"""Steps of conjugate gradients after which a factored system, worth some ten of them, leads."""
_WHERE_STRAIGHT = 150
"""Likewise of bodies whose curves are straight: there it saves few steps, and is large."""
_FEW = 900
"""Faces up to which a whole system is factored, to lead all states near by: some milliseconds, and megabytes.
"""
_STIFF = 1.0
"""dH / dM along the magnetisation from which on it leads at once: more than charges resist."""


@dataclass(frozen=True, kw_only=True)
class Packing:
    """Faces of filled cells: where they are among all, flat, (n,), and each cell's among them, (3, 2, k).

    to_charges: (c, n) m2, charges their magnetisation makes: of cells, then of outer faces across x, y, z.
    """

    faces: Indices
    ends: Indices
    to_charges: "csr_matrix"


def packing(grid: BrickGrid, cells: Cells, outer: Faces) -> Packing:
    """Of a grid's cells, numbered as all its faces are; outer: 1 or -1 on faces with one side filled."""
    from scipy.sparse import csr_matrix

    faces, ends = np.unique(cells.ends, return_inverse=True)
    ends = ends.reshape(cells.ends.shape)
    x, y, z = face_areas(grid)
    of_cells = [np.broadcast_to(area, grid.body.shape)[grid.filled] for area in (x, y, z)]
    bounds = Faces(x=outer.x * x, y=outer.y * y, z=outer.z * z).flat
    outside = np.flatnonzero(bounds)
    count = len(cells.volume)
    rows = [np.arange(count)] * 6 + [count + np.arange(len(outside))]
    columns = [*ends.reshape(6, -1), np.searchsorted(faces, outside)]
    values = [sense * area for area in of_cells for sense in (1.0, -1.0)]
    values.append(bounds[outside])
    shape = count + len(outside), len(faces)
    placed = np.concatenate(rows), np.concatenate(columns)
    return Packing(
        faces=faces, ends=ends, to_charges=csr_matrix((np.concatenate(values), placed), shape=shape)
    )


@dataclass(frozen=True, kw_only=True)
class Packed:
    """Cells and the energy of their charges, on the faces that bound them alone.

    own: (n,) m3, see `Charged`. near: what charges of one cell do to one another, on all faces.
    """

    packing: Packing
    cells: Cells
    own: Floats
    between: Interaction
    near: Callable[[], NearCharges]

    def demagnetising(self, m: Floats) -> Floats:
        """Gradient of the charges' energy, A m2, at m (n,) A/m."""
        charge = self.packing.to_charges @ m
        return np.asarray(self.packing.to_charges.T @ potentials(self.between, charge))

    def whole(self, tangent: Tangent) -> Operator | None:
        """Solves the system about a state, in single precision; None where it is too large to be factored."""
        from scipy.linalg.lapack import spotrf, spotrs

        if len(self.own) > _FEW or self.between.far is not None:
            return None
        faces = self.cells.ends.reshape(6, -1).T
        system = self._energy()
        np.add.at(system, (faces[:, :, None], faces[:, None, :]), tangent.of_each().astype(np.float32))
        factor, failed = spotrf(system.T, lower=1, overwrite_a=1)
        return None if failed else lambda right: spotrs(factor, right.astype(np.float32), lower=1)[0]

    def lead(self, tangent: Tangent) -> Lead:
        """The system of near charges, where the diagonal does not get far, or cells are saturated."""
        after = _WHERE_STRAIGHT
        if tangent.bent:
            after = 0 if tangent.steepest > _STIFF else _BY_DIAGONAL
        return Lead(after, lambda: self._near.solver(tangent.of_each()))

    def _energy(self) -> NDArray[np.float32]:
        """Second derivative of the charges' energy in the faces' magnetisation, (n, n) m3; not kept."""
        charge = self.packing.to_charges
        return np.asarray(charge.T @ (charge.T @ self.between.of_each).T, dtype=np.float32)

    @cached_property
    def _near(self) -> NearCharges:
        one = self.near()
        return replace(one, active=np.searchsorted(self.packing.faces, one.active))


def packed(
    packing: Packing, cells: Cells, own: Floats, between: Interaction, near: Callable[[], NearCharges]
) -> Packed:
    """own, cells: on all faces of the grid."""
    return Packed(
        packing=packing,
        cells=replace(cells, ends=packing.ends),
        own=own[packing.faces],
        between=between,
        near=near,
    )
