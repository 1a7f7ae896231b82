"""A state on one grid as a start on another: what a coarser grid has found saves the finer one most steps."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.soft_core import Core, Magnetised
from coilgen.physics.field.filaments import Indices


def refined(state: Magnetised, core: Core) -> Floats:
    """Magnetisation (flat, A/m) of the faces of a core by a state of the same bodies on another grid.

    Each cell takes that of the other grid's cell of its body that it lies in, or that is nearest to it:
    straight from face to face along each axis. What two cells say of their face is its mean.
    """
    other, grid = state.core.grid, core.grid
    (middle, size), (at, wide) = _boxes(grid), _boxes(other)
    cell = _cells_about(other, grid.body[grid.filled], middle, at)
    told = np.empty(core.cells.ends.shape)
    for axis, (low, high) in enumerate(state.m[state.core.cells.ends[:, :, cell]]):
        for end, sense in enumerate((-0.5, 0.5)):
            place = middle[:, axis] + sense * size[:, axis] - at[cell, axis]
            share = np.clip(place / wide[cell, axis] + 0.5, 0.0, 1.0)
            told[axis, end] = low + share * (high - low)
    total, count = (core.cells.onto_faces(each, core.active) for each in (told, np.ones_like(told)))
    return total / np.maximum(count, 1.0)


def _boxes(grid: BrickGrid) -> tuple[Floats, Floats]:
    """Middles and sizes of the filled cells, (k, 3) m."""
    layer, i, j = np.nonzero(grid.filled)
    size = np.column_stack([np.tile(grid.cell, (len(layer), 1)), grid.thickness[layer]])
    low = np.column_stack(
        [grid.origin[0] + i * grid.cell[0], grid.origin[1] + j * grid.cell[1], grid.bottom[layer]]
    )
    return low + 0.5 * size, size


def _cells_about(grid: BrickGrid, body: Indices, places: Floats, at: Floats) -> Indices:
    """Numbers (n,) of the filled cells of bodies (n,) that are at places (n, 3) m, or nearest to them.

    at: (k, 3) m, the cells' middles.
    """
    number = np.full(grid.body.shape, -1, dtype=np.int64)
    number[grid.filled] = np.arange(len(at))
    own, found = grid.body[grid.filled], np.empty(len(places), dtype=np.int64)
    steps = np.floor((places[:, :2] - np.array(grid.origin)) / np.array(grid.cell)).astype(np.int64)
    i, j = np.clip(steps, 0, np.array(grid.body.shape[1:]) - 1).T
    middle = grid.bottom + 0.5 * grid.thickness
    for one in np.unique(body).tolist():
        mine, cells = np.flatnonzero(body == one), np.flatnonzero(own == one)
        layers = np.flatnonzero(np.any(grid.body == one, axis=(1, 2)))
        layer = layers[np.abs(places[mine, 2][:, None] - middle[layers]).argmin(axis=1)]
        found[mine] = number[layer, i[mine], j[mine]]
        aside = mine[grid.body[layer, i[mine], j[mine]] != one]
        far = np.sum((places[aside][:, None] - at[cells]) ** 2, axis=-1)
        found[aside] = cells[far.argmin(axis=1)]
    return found
