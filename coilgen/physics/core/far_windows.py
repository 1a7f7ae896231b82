"""Windows of a grid about bodies far apart: charges of one do in another what nodes can tell."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_charges import Planes, planes
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.nodes import chebyshev, count_for, lagrange
from coilgen.physics.field.filaments import Indices

_FAR = 3.0
"""Half widths of a window between middles, least."""
_ACCURACY = 1e-5
_MOST_NODES = 1500
_EMPTY_SHARE = 0.5
"""Of a grid's cells as seen from the top, that windows cover at most."""


@dataclass(frozen=True, kw_only=True)
class FarWindows:
    """Nodes of w windows, some along x, y and z in each.

    along: for each kind of planes what its places along x and y, (nx, a) and (ny, b), are to the nodes;
    upward: (p, c) what the charged planes are to them; between: (w n, w n) 1/m of unit charges at all nodes,
    none within a window.
    """

    along: tuple[tuple[Floats, Floats], ...]
    upward: Floats
    between: Floats

    def add_potentials(self, charge: Floats, rows: list[slice], potential: Floats) -> None:
        """Adds to potentials (w, p, nx + 1, ny + 1) A what charges (A m) of other windows do; rows: of each
        kind of planes."""
        at_nodes = np.concatenate(
            [
                x.T @ (charge[:, own, : len(x), : len(y)] @ y)
                for (x, y), own in zip(self.along, rows, strict=True)
            ],
            axis=1,
        )
        total = np.tensordot(at_nodes, self.upward, axes=(1, 0))
        found = (self.between @ total.ravel()).reshape(total.shape)
        told = np.moveaxis(np.tensordot(found, self.upward, axes=(3, 1)), 3, 1)
        for (x, y), own in zip(self.along, rows, strict=True):
            potential[:, own, : len(x), : len(y)] += x @ told[:, own] @ y.T


def windows(grid: BrickGrid) -> tuple[Indices, tuple[int, int]]:
    """First cells (w, 2) of equal windows about bodies that stand far apart, and the windows' size in cells;
    one window, of the whole grid, where they do not."""
    from scipy.ndimage import find_objects, label

    whole = np.zeros((1, 2), dtype=np.int64), (int(grid.body.shape[1]), int(grid.body.shape[2]))
    seen = np.asarray(grid.filled.any(axis=0))
    found = find_objects(label(seen, structure=np.ones((3, 3)))[0])
    if len(found) < 2:
        return whole
    first = np.array([[one.start for one in each] for each in found])
    wide, deep = (int(max(each[axis].stop - each[axis].start for each in found)) for axis in (0, 1))
    if len(found) * wide * deep > _EMPTY_SHARE * seen.size:
        return whole
    first = np.minimum(first, np.array(seen.shape) - (wide, deep))
    half = 0.5 * max(wide * grid.cell[0], deep * grid.cell[1], float(grid.level[-1] - grid.level[0]))
    far = _apart(grid, first, (wide, deep)) / half
    if far < _FAR or len(found) * count_for(far, _ACCURACY) ** 3 > _MOST_NODES:
        return whole
    return first, (wide, deep)


def far_windows(
    grid: BrickGrid, first: Indices, size: tuple[int, int], charged: NDArray[np.bool_]
) -> FarWindows | None:
    """What charges of windows do in others; None of one window. charged: which planes (np,) hold charge."""
    if len(first) < 2:
        return None
    sheets, cell = planes(grid), np.array(grid.cell)
    middle = (first + 0.5 * np.array(size)) * cell
    apart = _apart(grid, first, size)
    ends = float(grid.level[0]), float(grid.level[-1])
    half = np.array([*(0.5 * np.array(size) * cell), 0.5 * (ends[1] - ends[0])])
    counts = [count_for(apart / float(each), _ACCURACY) for each in half]
    nodes = [each * chebyshev(count) for each, count in zip(half, counts, strict=True)]
    at = np.stack([one.ravel() for one in np.meshgrid(*nodes, indexing="ij")], axis=-1)
    placed = (np.column_stack([middle, np.full(len(middle), 0.5 * sum(ends))])[:, None] + at).reshape(-1, 3)
    own = np.repeat(np.arange(len(first)), len(at))
    off = np.sqrt(sum((one[:, None] - one) ** 2 for one in placed.T))
    other = own[:, None] != own
    between = np.divide(1.0, 4.0 * np.pi * off, out=np.zeros_like(off), where=other)
    extends = [(axis_x, axis_y) for axis_x, axis_y in ((1, 1), (0, 1), (1, 0), (1, 1))]
    along = [(_to_nodes(size[0], counts[0], x), _to_nodes(size[1], counts[1], y)) for x, y in extends]
    return FarWindows(along=tuple(along), upward=_upward(sheets, charged, ends, counts[2]), between=between)


def _apart(grid: BrickGrid, first: Indices, size: tuple[int, int]) -> float:
    """Least distance between two windows' middles, m."""
    middle = (first + 0.5 * np.array(size)) * grid.cell
    off = np.hypot(*np.moveaxis(middle[:, None] - middle, -1, 0))
    return float(off[~np.eye(len(off), dtype=bool)].min())


def _to_nodes(cells: int, count: int, extends: int) -> Floats:
    """Means over a window's cells along an axis, or its lines between cells, of what is 1 at one node."""
    middle = (np.arange(cells + 1 - extends) + 0.5 * extends) * 2.0 / cells - 1.0
    return _means(middle, np.full(len(middle), 2.0 * extends / cells), count)


def _upward(sheets: Planes, charged: NDArray[np.bool_], ends: tuple[float, float], count: int) -> Floats:
    half = 0.5 * (ends[1] - ends[0])
    middle = (sheets.middle[charged] - 0.5 * sum(ends)) / half
    return _means(middle, sheets.extent[charged] / half, count)


def _means(middle: Floats, extent: Floats, count: int) -> Floats:
    """By Gauss's two points of each extent."""
    off = extent / np.sqrt(12.0)
    return 0.5 * (lagrange(middle - off, count) + lagrange(middle + off, count))
