"""A sparse stand-in for a core's tangent system, factored: charges feel those of their own cell alone.

Conjugate gradients are led by it where cells saturate: along their magnetisation they then resist thousands
of times more than across, which no diagonal tells. What charges farther apart do is smooth, and soon found.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_charges import Faces, cell_ends, face_areas, split
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.interaction import Interaction
from coilgen.physics.field.filaments import Indices

if TYPE_CHECKING:
    from scipy.sparse.linalg import SuperLU

_OUTWARD = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""Sense in which a cell's lower and upper faces, along x, y and z, bring charge into it."""


@dataclass(frozen=True, kw_only=True)
class NearCharges:
    """What the n filled cells' charges do within each cell.

    active: (k,) faces of filled cells among all, flat, in an order that keeps factors small; faces: (n, 6)
    each cell's among the active ones, lower and upper along x, y, z; energy: (n, 6, 6) second derivative of
    its charges' energy in their magnetisation, m3.
    """

    active: Indices
    faces: Indices
    energy: Floats

    def solver(self, within: Floats) -> Callable[[Floats], Floats]:
        """Solves, for vectors on all faces (flat), the system of these charges and of what the cells resist.

        within: (n, 6, 6) second derivatives of the cells' own energy in their faces' magnetisation, m3.
        """
        factor = _factor(self.faces, within + self.energy, len(self.active), "NATURAL")

        def solve(right: Floats) -> Floats:
            found = np.zeros_like(right)
            found[self.active] = factor.solve(right[self.active])
            return found

        return solve


def near_charges(grid: BrickGrid, outer: Faces, between: Interaction) -> NearCharges:
    """Of a grid; outer: 1 or -1 on faces with one side filled, upward or downward of it."""
    count = outer.flat.size
    every = _of_cells(grid, np.arange(count, dtype=np.float64)).astype(np.int64)
    active, faces = np.unique(every, return_inverse=True)
    areas = face_areas(grid)
    area = np.stack([np.broadcast_to(a, grid.body.shape)[grid.filled] for a in areas for _ in (0, 1)], axis=1)
    # A cell's charges: its own, then those of its six faces where they are outer ones.
    charge = np.zeros((len(area), 7, 6))
    charge[:, 0] = _OUTWARD * area
    sides = np.arange(6)
    charge[:, 1 + sides, sides] = area * _of_cells(grid, outer.flat)
    energy = np.einsum("nai,nab,nbj->nij", charge, _potentials(grid, between), charge, optimize=True)
    faces = faces.reshape(every.shape)
    safe = energy + energy.max() * np.eye(6)
    place = _factor(faces, safe, len(active), "MMD_AT_PLUS_A").perm_c
    return NearCharges(active=active[np.argsort(place)], faces=place[faces], energy=energy)


def _factor(faces: Indices, cells: Floats, count: int, order: str) -> "SuperLU":
    """Of the sum of cells' matrices (n, 6, 6) in their faces (n, 6); order: how faces are ordered for it."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import splu

    rows = np.broadcast_to(faces[:, :, None], cells.shape).ravel()
    columns = np.broadcast_to(faces[:, None, :], cells.shape).ravel()
    whole = coo_matrix((cells.ravel(), (rows, columns)), shape=(count, count)).tocsc()
    return splu(whole, permc_spec=order, diag_pivot_thresh=0.0, panel_size=1, options={"SymmetricMode": True})


def _of_cells(grid: BrickGrid, flat: Floats) -> Floats:
    """Values of all faces, at the six of each filled cell, (n, 6)."""
    ends = cell_ends(grid, split(grid, flat))
    return np.stack([side[grid.filled] for pair in ends for side in pair], axis=1)


def _potentials(grid: BrickGrid, between: Interaction) -> Floats:
    """Mean of 1 / 4 pi r between a cell and its faces, and all of these, (n, 7, 7) 1/m."""
    layer, layers = np.nonzero(grid.filled)[0], len(grid.thickness)
    across_x, across_y, upward = layers + layer, 2 * layers + layer, 3 * layers
    planes = np.stack(
        [
            layer,
            across_x,
            across_x,
            across_y,
            across_y,
            upward + grid.low[layer],
            upward + grid.high[layer],
        ],
        axis=1,
    )
    # Faces across x, and across y, stand a cell apart from the other of their kind.
    apart = np.zeros((2, 7, 7), dtype=np.int64)
    for axis in (0, 1):
        low = 1 + 2 * axis
        apart[axis, low, low + 1] = apart[axis, low + 1, low] = 1
    pairs = between.which[planes[:, :, None], planes[:, None, :]]
    return np.asarray(between.near[pairs, apart[0], apart[1]])
