"""What an applied field does to the faces of a brick grid: integrals of w . H0 over the cells."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.compiled import by_rows
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.brick_charges import from_cell_ends
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.load_kernels import add_to_cells, add_to_nodes, near_tiles
from coilgen.physics.core.tiles import Tiles, tiles
from coilgen.physics.field.filaments import Filaments, Indices, strands

FluxDensity = Callable[[Floats], Floats]
_ORDERS = np.array([2, 3, 4, 5, 6, 8])
"""Points of Gauss's rule along an axis, in the order in which `load_kernels` numbers them."""
_UPWARD = 3
_POINTS_AT_ONCE = 100_000
_SAME_HEIGHT = 1e-12
_TILE = 4
_NODES = ((5, 3.0, 6.0), (3, 6.0, np.inf))
"""Along an axis of a tile, for strips between two distances from its middle, of half its width: a field is
told to some 2e-4 of each strip's."""
_ASIDE = 8
"""Nodes for fields from aside, to some 1e-6: torques on a magnet are what is left of forces that cancel."""
_ROUND_ABOUT = 1.5
"""Cells within which strips count as round about one."""
_IN_A_CELL = 2.0
_WIDTHS = 3.0
"""Widths of a strip within which it is more than a filament."""
_TILES_AT_ONCE, _CELLS_AT_ONCE = 4, 64


@dataclass(frozen=True, kw_only=True)
class CellLoads:
    """What a field does in each cell: moments (2, 3, nz, nx, ny) A m2, for each axis V times the means of
    (1 - s) H and of s H, s from 0 to 1 along it. higher: m, by how much the cells stand over the grid's.
    """

    grid: BrickGrid
    moments: Floats
    higher: float = 0.0

    @property
    def flat(self) -> Floats:
        """The load on the faces, A m2."""
        return from_cell_ends(self.grid, tuple(zip(*self.moments, strict=True))).flat

    def onto(self, other: "CellLoads") -> NDArray[np.bool_]:
        """Writes what is known of another grid's cells to its moments; which cells (nz, nx, ny) these are."""
        grid = other.grid
        known = np.zeros(grid.body.shape, dtype=bool)
        if grid.cell != self.grid.cell or grid.origin != self.grid.origin:
            return known
        if grid.body.shape[1:] != self.grid.body.shape[1:]:
            return known
        own = np.column_stack([self.grid.bottom + self.higher, self.grid.thickness])
        for k, ends in enumerate(zip(grid.bottom + other.higher, grid.thickness, strict=True)):
            off = np.abs(own - ends).max(axis=1)
            if off.min() <= _SAME_HEIGHT:
                known[k] = grid.filled[k] & self.grid.filled[off.argmin()]
                other.moments[:, :, k, known[k]] = self.moments[:, :, off.argmin(), known[k]]
        return known


def winding_load(grid: BrickGrid, path: Filaments) -> Floats:
    """Load (flat, A m2) of a closed path at one ampere, as `path_loads` finds it."""
    return path_loads(grid, path).flat


def path_loads(
    grid: BrickGrid, path: Filaments, known: CellLoads | None = None, higher: float = 0.0
) -> CellLoads:
    """Loads of a closed path at one ampere.

    known: the same path's on another grid, from which those of cells in the same places are taken. higher: m,
    by how much the cells stand higher than in the grid; what is near to what is decided where they are in it.

    The field of strips that are far from a tile of cells is told by nodes. In each cell the nearer ones have
    as many of Gauss's points along an axis, 2 to 8, as a filament at their distance asks for, and close by
    filaments side by side in place of each. Raises ValueError for an open path: its field has a curl, which a
    permeable core would amplify.
    """
    found = CellLoads(grid=grid, moments=np.zeros((2, 3, *grid.body.shape)), higher=higher)
    if known is not None:
        grid = replace(grid, body=np.where(known.onto(found), -1, grid.body))
    side_by_side = np.stack([_rows(one) for one in strands(path, _across(grid, path))])
    strips = np.column_stack([_rows(path), path.width])
    for tiled in tiles(grid, _TILE):
        wide = float(tiled.half.max())
        for count, low, high in _NODES:
            _add_far(found.moments, tiled, strips, count, (low, high * wide), higher)
        near = np.empty((len(tiled.middle), len(strips)), dtype=np.bool_)
        near_tiles(strips, tiled.middle, _NODES[0][1] * wide, near)
        _add_near(found.moments, tiled, strips, side_by_side, near, higher)
    return found


def _rows(path: Filaments) -> Floats:
    """Start, end, m, and current of each strip, (m, 7)."""
    return np.ascontiguousarray(np.column_stack([path.start, path.end, path.shares]))


def _across(grid: BrickGrid, path: Filaments) -> int:
    """Filaments in place of a strip: their ripple is lost on cells over which several of them run."""
    return max(2, int(np.ceil(_IN_A_CELL * path.width.max() / min(grid.cell))))


def _add_far(
    moments: Floats, tiled: Tiles, strips: Floats, count: int, between: tuple[float, float], higher: float
) -> None:
    """Adds the moments of strips between two distances, of half a tile's width and m, by `count` nodes."""
    wide = float(tiled.half.max())
    counts, nodes = tiled.nodes(count, between[0])
    field = np.zeros((len(tiled.middle), 3, nodes.shape[1]))
    at = nodes + np.array([[0.0], [0.0], [higher]])
    by_rows(
        lambda a, b: add_to_nodes(strips, tiled.middle, between[0] * wide, between[1], at, a, b, field),
        len(field),
        _TILES_AT_ONCE,
    )
    tiled.add_moments(moments, field / (4.0 * np.pi), counts)


def _add_near(
    moments: Floats,
    tiled: Tiles,
    strips: Floats,
    side_by_side: Floats,
    near: NDArray[np.bool_],
    higher: float,
) -> None:
    """Adds the moments of the strips near to each tile, cell by cell."""
    grid, rule, edges = tiled.grid, *_rules()
    cells, tile = tiled.cells
    corner, size = _boxes(grid, cells)
    out = np.zeros((len(cells), 2, 3))
    reach = np.array([_ROUND_ABOUT, _WIDTHS])
    raised = corner + np.array([0.0, 0.0, higher])
    by_rows(
        lambda a, b: add_to_cells(
            strips, side_by_side, near, tile, raised, size, -higher, rule, edges, reach, a, b, out
        ),
        len(cells),
        _CELLS_AT_ONCE,
    )
    volume = np.prod(size, axis=1) / (4.0 * np.pi)
    moments[:, :, *cells.T] += np.moveaxis(out, 0, -1) * volume


def _boxes(grid: BrickGrid, cells: Indices) -> tuple[Floats, Floats]:
    """Lower corners and sizes of cells (n, 3), m."""
    corner = np.column_stack(
        [
            grid.origin[0] + cells[:, 1] * grid.cell[0],
            grid.origin[1] + cells[:, 2] * grid.cell[1],
            grid.bottom[cells[:, 0]],
        ]
    )
    return corner, np.column_stack([np.tile(grid.cell, (len(cells), 1)), grid.thickness[cells[:, 0]]])


@cache
def _rules() -> tuple[Floats, Indices]:
    """Points and weights (p, 4) of all orders in a unit cell; where each begins, and the last ends."""
    rules = [np.column_stack(_rule(int(order))) for order in _ORDERS]
    return np.concatenate(rules), np.cumsum([0, *(len(rule) for rule in rules)])


@dataclass(frozen=True, kw_only=True)
class FromAside:
    """A field whose sources lie aside: flux_density (n, 3) T and the sources' distances (n,) m, no less than
    told, of points (n, 3) m.
    """

    flux_density: FluxDensity
    distances: Callable[[Floats], Floats]

    def __call__(self, points: Floats) -> Floats:
        """(n, 3) T."""
        return self.flux_density(points)


def field_load(grid: BrickGrid, flux_density: FluxDensity, order: int = 3) -> Floats:
    """Load (flat, A m2) of any applied field given as B (n, 3) T at points (n, 3) m.

    order: points of Gauss's rule along x and y in a cell (at most 3 along z). Of a field from aside tiles
    that are far from its sources take their nodes.
    """
    moments, left = np.zeros((2, 3, *grid.body.shape)), grid
    if isinstance(flux_density, FromAside):
        for across in (_TILE, _TILE // 2):
            left = _told_by_nodes(moments, left, flux_density, across)
    cells = np.argwhere(left.filled)
    at_once = max(1, _POINTS_AT_ONCE // order**3)
    for k in range(0, len(cells), at_once):
        some = cells[k : k + at_once]
        moments[:, :, *some.T] = _moments(grid, some, order, flux_density)
    return CellLoads(grid=grid, moments=moments).flat


def _told_by_nodes(moments: Floats, grid: BrickGrid, field: FromAside, across: int) -> BrickGrid:
    """Adds the moments of tiles far from a field's sources; the grid without their cells."""
    low, left = _NODES[0][1], grid.body.copy()
    for tiled in tiles(grid, across):
        far = field.distances(tiled.middle) > low * tiled.half.max()
        if far.any():
            some = replace(tiled, place=tiled.place[far], middle=tiled.middle[far])
            counts, nodes = some.nodes(_ASIDE, low)
            points = np.moveaxis(some.middle[:, :, None] + nodes, 1, -1).reshape(-1, 3)
            told = field(points).reshape(len(some.middle), -1, 3) / MU0
            some.add_moments(moments, np.moveaxis(told, -1, 1), counts)
            cells, tile = tiled.cells
            left[tuple(cells[far[tile]].T)] = -1
    return replace(grid, body=left)


def _moments(grid: BrickGrid, cells: Indices, n: int, flux_density: FluxDensity) -> tuple[Floats, Floats]:
    """For each axis and cell: V times the means of (1 - s) H and s H along that axis, (3, cells) A m2."""
    local, share = _rule(n)
    corner, size = _boxes(grid, cells)
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
