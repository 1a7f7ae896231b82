"""What an applied field does to the faces of a brick grid: integrals of w . H0 over the cells."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.brick_charges import from_cell_ends
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.field.filaments import Filaments, Indices, refined, strands, together
from coilgen.physics.field.kernel import flux_density_per_ampere

FluxDensity = Callable[[Floats], Floats]
_ORDERS = np.array([2, 3, 4, 5, 6, 8])
_UPWARD = 3
_POINTS_AT_ONCE = 100_000
_SAME_HEIGHT = 1e-12
_PATH_STEP = 0.2e-3
_TILE = 4
_ROUND_ABOUT = 1.5
"""Cells within which strips count as round about a tile."""
_IN_A_CELL = 2.0
_WIDTHS = 3.0
"""Widths of a strip within which it is more than a filament."""


@dataclass(frozen=True, kw_only=True)
class CellLoads:
    """What a field does in each cell: moments (2, 3, nz, nx, ny) A m2, for each axis V times the means of
    (1 - s) H and of s H, s from 0 to 1 along it.
    """

    grid: BrickGrid
    moments: Floats

    @property
    def flat(self) -> Floats:
        """The load on the faces, A m2."""
        return from_cell_ends(self.grid, tuple(zip(*self.moments, strict=True))).flat

    def onto(self, moments: Floats, grid: BrickGrid) -> NDArray[np.bool_]:
        """Writes what is known of another grid's cells to its moments; which cells (nz, nx, ny) these are."""
        known = np.zeros(grid.body.shape, dtype=bool)
        if grid.cell != self.grid.cell or grid.origin != self.grid.origin:
            return known
        if grid.body.shape[1:] != self.grid.body.shape[1:]:
            return known
        for k, ends in enumerate(zip(grid.bottom, grid.thickness, strict=True)):
            own = np.abs(np.column_stack([self.grid.bottom, self.grid.thickness]) - ends).max(axis=1)
            if own.min() <= _SAME_HEIGHT:
                known[k] = grid.filled[k] & self.grid.filled[own.argmin()]
                moments[:, :, k, known[k]] = self.moments[:, :, own.argmin(), known[k]]
        return known


def winding_load(grid: BrickGrid, path: Filaments) -> Floats:
    """Load (flat, A m2) of a closed path at one ampere, as `path_loads` finds it."""
    return path_loads(grid, path).flat


def path_loads(
    grid: BrickGrid, path: Filaments, orders: Indices | None = None, known: CellLoads | None = None
) -> CellLoads:
    """Loads of a closed path at one ampere.

    orders: as `gauss_orders` finds them, which is what they are where none are given. known: the same path's
    on another grid, from which those of cells in the same places are taken.

    Gauss's rule of two points an axis for all strips, as pure filaments. In cells near to copper the strips
    round about are taken anew: filaments side by side in place of each, and as many points, up to 8, as a
    filament at the cell's distance asks for. Raises ValueError for an open path: its field has a curl, which
    a permeable core would amplify.
    """
    moments = np.zeros((2, 3, *grid.body.shape))
    whole = grid
    if known is not None:
        grid = replace(grid, body=np.where(known.onto(moments, grid), -1, grid.body))
    if not grid.filled.any():
        return CellLoads(grid=whole, moments=moments)
    side_by_side = strands(path, _across(grid, path))
    thin = replace(path, width=np.zeros_like(path.width), thickness=np.zeros_like(path.width))
    _add_moments(moments, grid, np.argwhere(grid.filled), _ORDERS[0], _field_of(thin))
    reach = max(_ROUND_ABOUT * max(grid.cell), _WIDTHS * float(path.width.max()))
    order = gauss_orders(grid, path) if orders is None else orders
    near = grid.filled & (order > _ORDERS[0])
    for cells, strips in _neighbourhoods(grid, near, path, reach):
        finest = int(order[tuple(cells.T)].max())
        anew = together([_chosen(one, strips) for one in side_by_side])
        _add_moments(moments, grid, cells, finest, _field_of(anew))
        _add_moments(moments, grid, cells, _ORDERS[0], _field_of(_chosen(thin, strips)), -1.0)
    return CellLoads(grid=whole, moments=moments)


def _across(grid: BrickGrid, path: Filaments) -> int:
    """Filaments in place of a strip: their ripple is lost on cells over which several of them run."""
    return max(2, int(np.ceil(_IN_A_CELL * path.width.max() / min(grid.cell))))


def _field_of(path: Filaments) -> FluxDensity:
    return lambda points: flux_density_per_ampere(path, points)


def _chosen(path: Filaments, strips: Indices) -> Filaments:
    return Filaments(
        start=path.start[strips],
        end=path.end[strips],
        width=path.width[strips],
        thickness=path.thickness[strips],
        share=path.shares[strips],
    )


def field_load(grid: BrickGrid, flux_density: FluxDensity, order: int = 3) -> Floats:
    """Load (flat, A m2) of any applied field given as B (n, 3) T at points (n, 3) m.

    order: points of Gauss's rule along x and y in a cell (at most 3 along z).
    """
    moments = np.zeros((2, 3, *grid.body.shape))
    _add_moments(moments, grid, np.argwhere(grid.filled), order, flux_density)
    return CellLoads(grid=grid, moments=moments).flat


def _add_moments(
    moments: Floats, grid: BrickGrid, cells: Indices, order: int, flux_density: FluxDensity, sign: float = 1.0
) -> None:
    """Adds what `_moments` finds for cells (n, 3) to moments (2, 3, nz, nx, ny), some cells at a time."""
    at_once = max(1, _POINTS_AT_ONCE // order**3)
    for k in range(0, len(cells), at_once):
        some = cells[k : k + at_once]
        where = (slice(None), slice(None), *some.T)
        moments[where] += sign * np.array(_moments(grid, some, order, flux_density))


def _moments(grid: BrickGrid, cells: Indices, n: int, flux_density: FluxDensity) -> tuple[Floats, Floats]:
    """For each axis and cell: V times the means of (1 - s) H and s H along that axis, (3, cells) A m2."""
    local, share = _rule(n)
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


@cache
def _rule(n: int) -> tuple[Floats, Floats]:
    """Gauss's rule in a unit cell: points (k, 3) and weights (k,)."""
    node, weight = np.polynomial.legendre.leggauss(n)
    node, weight = 0.5 + 0.5 * node, 0.5 * weight
    upward, share = np.polynomial.legendre.leggauss(min(n, _UPWARD))
    upward, share = 0.5 + 0.5 * upward, 0.5 * share
    local = np.stack(np.meshgrid(node, node, upward, indexing="ij"), axis=-1).reshape(-1, 3)
    return local, np.einsum("i,j,k->ijk", weight, weight, share).ravel()


def gauss_orders(grid: BrickGrid, path: Filaments) -> Indices:
    """Points an axis (nz, nx, ny) for copper at a cell's distance; 2 where the cell is empty.

    A filament's ripple falls as exp(-2 pi n d / h); within two widths of a strip, 3 or more.
    """
    distance = _distances(grid, path)
    wanted = np.ceil(0.9 * max(grid.cell) / np.maximum(distance, 1e-9))
    wanted = np.where(distance < _WIDTHS * path.width.max(), np.maximum(wanted, 3), wanted)
    orders = _ORDERS[np.minimum(np.searchsorted(_ORDERS, wanted), len(_ORDERS) - 1)]
    return np.where(grid.filled, orders, _ORDERS[0])


def _neighbourhoods(
    grid: BrickGrid, near: NDArray[np.bool_], path: Filaments, reach: float
) -> Iterator[tuple[Indices, Indices]]:
    """Near cells (n, 3) tile by tile, each with the strips that pass within `reach` (m) of it."""
    cells = np.argwhere(near)
    tiles = cells[:, 1:] // _TILE
    size = _TILE * np.array(grid.cell)
    for tile in np.unique(tiles, axis=0):
        middle = np.array(grid.origin) + (tile + 0.5) * size
        strips = np.flatnonzero(_aside(path, middle) < reach + 0.5 * float(np.hypot(*size)))
        if len(strips):
            yield cells[np.all(tiles == tile, axis=1)], strips


def _aside(path: Filaments, middle: Floats) -> Floats:
    """Distance (m,) of every strip from an upright line through `middle` (2,), m."""
    start, step = path.start[:, :2] - middle, (path.end - path.start)[:, :2]
    square = np.maximum(np.einsum("mk,mk->m", step, step), 1e-30)
    along = np.clip(-np.einsum("mk,mk->m", start, step) / square, 0.0, 1.0)
    nearest = start + along[:, None] * step
    return np.asarray(np.hypot(nearest[:, 0], nearest[:, 1]))


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
