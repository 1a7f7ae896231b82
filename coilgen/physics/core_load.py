"""What an applied field does to the faces of a brick grid: integrals of w . H0 over the cells."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from coilgen.physics.brick_charges import from_cell_ends
from coilgen.physics.brick_grid import BrickGrid
from coilgen.physics.conductor import Floats
from coilgen.physics.field_kernel import flux_density_per_ampere
from coilgen.physics.filaments import Filaments, Indices, refined, strands
from coilgen.physics.magnetisation_curve import MU0

FluxDensity = Callable[[Floats], Floats]
_ORDERS = np.array([2, 3, 4, 5, 6, 8])
_UPWARD = 3
_POINTS_AT_ONCE = 400_000
_PATH_STEP = 0.2e-3


def winding_load(grid: BrickGrid, path: Filaments) -> Floats:
    """Load (flat, A m2) of a closed path at one ampere.

    Gauss's rule of 2 to 8 points an axis: as many as a filament at the cell's distance from the copper asks
    for. Raises ValueError for an open path: its field has a curl, which a permeable core would amplify.
    """
    order = _orders(grid, _distances(grid, path))
    left, right = strands(path)
    thin = replace(path, width=left.width, thickness=left.thickness)

    def near(points: Floats) -> Floats:
        return 0.5 * (flux_density_per_ampere(left, points) + flux_density_per_ampere(right, points))

    close = order > _ORDERS[0]
    far = field_load(grid, lambda points: flux_density_per_ampere(thin, points), np.where(close, 0, order))
    return far + field_load(grid, near, np.where(close, order, 0))


def field_load(grid: BrickGrid, flux_density: FluxDensity, order: Indices | int = 3) -> Floats:
    """Load (flat, A m2) of any applied field given as B (n, 3) T at points (n, 3) m.

    order: (nz, nx, ny), points of Gauss's rule along x and y in a cell (at most 3 along z); 0 leaves it out.
    """
    orders = np.where(grid.filled, np.broadcast_to(order, grid.body.shape), 0)
    low = np.zeros((3, *grid.body.shape))
    high = np.zeros((3, *grid.body.shape))
    for n in np.unique(orders[orders > 0]):
        cells = np.argwhere(orders == n)
        at_once = max(1, _POINTS_AT_ONCE // int(n) ** 3)
        for k in range(0, len(cells), at_once):
            some = cells[k : k + at_once]
            where = (slice(None), *some.T)
            low[where], high[where] = _moments(grid, some, int(n), flux_density)
    return from_cell_ends(grid, tuple(zip(low, high, strict=True))).flat


def _moments(grid: BrickGrid, cells: Indices, n: int, flux_density: FluxDensity) -> tuple[Floats, Floats]:
    """For each axis and cell: V times the means of (1 - s) H and s H along that axis, (3, cells) A m2."""
    node, weight = np.polynomial.legendre.leggauss(n)
    node, weight = 0.5 + 0.5 * node, 0.5 * weight
    upward, share = np.polynomial.legendre.leggauss(min(n, _UPWARD))
    upward, share = 0.5 + 0.5 * upward, 0.5 * share
    local = np.stack(np.meshgrid(node, node, upward, indexing="ij"), axis=-1).reshape(-1, 3)
    share = np.einsum("i,j,k->ijk", weight, weight, share).ravel()
    corner = np.column_stack(
        [
            grid.origin[0] + cells[:, 1] * grid.cell[0],
            grid.origin[1] + cells[:, 2] * grid.cell[1],
            grid.bottom[cells[:, 0]],
        ]
    )
    size = np.column_stack([np.tile(grid.cell, (len(cells), 1)), grid.thickness[cells[:, 0]]])
    points = corner[:, None, :] + local * size[:, None, :]
    h = flux_density(points.reshape(-1, 3)).reshape(points.shape) / MU0
    volume = np.prod(size, axis=1)
    high = volume * np.einsum("g,gk,cgk->kc", share, local, h)
    return volume * np.einsum("g,cgk->kc", share, h) - high, high


def _orders(grid: BrickGrid, distance: Floats) -> Indices:
    """Points an axis for a filament at this distance: its ripple falls as exp(-2 pi n d / h)."""
    wanted = np.ceil(0.9 * max(grid.cell) / np.maximum(distance, 1e-9))
    return np.asarray(_ORDERS[np.minimum(np.searchsorted(_ORDERS, wanted), len(_ORDERS) - 1)])


def _distances(grid: BrickGrid, path: Filaments) -> Floats:
    """Lower bound of each cell's distance from the path, (nz, nx, ny) m."""
    from scipy.spatial import cKDTree

    dots = refined(path, _PATH_STEP)
    x, y = grid.centres
    middles = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    aside = cKDTree(dots.start[:, :2]).query(middles)[0].reshape(len(x), len(y))
    aside = np.maximum(aside - 0.5 * np.hypot(*grid.cell) - 0.5 * _PATH_STEP, 0.0)
    lowest, highest = dots.start[:, 2].min(), dots.start[:, 2].max()
    above = np.maximum(grid.bottom - highest, lowest - grid.bottom - grid.thickness)
    return np.asarray(np.hypot(aside[None], np.maximum(above, 0.0)[:, None, None]))
