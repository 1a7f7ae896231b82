"""Conduction as a sparse matrix: flat bodies by bilinear elements, joints between nodes.

Elements of a grid's rectangles with one conductance tensor each (textbook form of the finite elements); a
cell that a body fills in part counts by its share.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.plate.grid import Grid, Patch

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_XX = np.array([[2, -2, -1, 1], [-2, 2, 1, -1], [-1, 1, 2, -2], [1, -1, -2, 2]]) / 6
_YY = np.array([[2, 1, -1, -2], [1, 2, -2, -1], [-1, -2, 2, 1], [-2, -1, 1, 2]]) / 6
_XY = np.array([[1, 0, -1, 0], [0, -1, 0, 1], [-1, 0, 1, 0], [0, 1, 0, -1]]) / 2


@dataclass(frozen=True, kw_only=True, eq=False)
class Entries:
    """Entries of a sparse matrix: one, other (m,) node numbers, value (m,) W/K."""

    one: Indices
    other: Indices
    value: Floats


def spreading(lines: Grid, patch: Patch, sheet: Floats, begin: int) -> Entries:
    """Conduction along a flat body; sheet (ny, nx, 3) W/K: conductivity times thickness, xx, yy, xy.

    begin: number of the node at the patch's first vertex.
    """
    rows, columns = np.divmod(patch.cells, len(lines.x) - 1)
    dx, dy = np.diff(lines.x)[columns], np.diff(lines.y)[rows]
    share = patch.area.ravel()[patch.cells] / (dx * dy)
    xx, yy, xy = (sheet.reshape(-1, 3)[patch.cells] * share[:, None]).T
    each = (xx * dy / dx)[:, None, None] * _XX + (yy * dx / dy)[:, None, None] * _YY + xy[:, None, None] * _XY
    nodes = patch.corners + begin
    return Entries(
        one=np.repeat(nodes, 4, axis=1).ravel(), other=np.tile(nodes, (1, 4)).ravel(), value=each.ravel()
    )


def joined(one: Indices, other: Indices, conductance: Floats) -> Entries:
    """Joints between pairs of nodes; conductance (n,) W/K."""
    return Entries(
        one=np.concatenate([one, other, one, other]),
        other=np.concatenate([other, one, one, other]),
        value=np.concatenate([-conductance, -conductance, conductance, conductance]),
    )


def laplacian(entries: list[Entries], count: int) -> Any:
    """The sum of all as a sparse matrix (count, count), whose rows add up to nothing."""
    from scipy.sparse import csr_array

    one, other, value = (
        np.concatenate([getattr(each, name) for each in entries]) for name in ("one", "other", "value")
    )
    return csr_array((value, (one, other)), shape=(count, count))
