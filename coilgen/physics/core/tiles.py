"""Tiles of a grid's cells, over which a field from outside is smooth: it is told by a few nodes of each."""

from collections.abc import Iterator

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.nodes import chebyshev, growth, lagrange
from coilgen.physics.field.filaments import Indices

_FLAT = 0.5
"""Of a node, by which fewer of them tell a field along a flat tile's height."""


@dataclass(frozen=True, kw_only=True)
class Tiles:
    """t tiles, each some layers of a grid high and as many cells along x as along y, some of them filled.

    layers: (k,) numbers; place: (t, 2) each tile's along x and y; middle: (t, 3) m; half: (3,) m, from there
    to its sides; across: cells along x and y.
    """

    grid: BrickGrid
    layers: Indices
    place: Indices
    middle: Floats
    half: Floats
    across: int

    @property
    def cells(self) -> tuple[Indices, Indices]:
        """The filled ones, (n, 3), and the tile of each, (n,)."""
        number = np.zeros([-(-count // self.across) for count in self.grid.body.shape[1:]], dtype=np.int64)
        number[*self.place.T] = np.arange(len(self.place))
        cells = np.argwhere(self.grid.filled[self.layers])
        tile = number[cells[:, 1] // self.across, cells[:, 2] // self.across]
        cells[:, 0] += self.layers[0]
        return cells, tile

    def nodes(self, count: int, far: float) -> tuple[Indices, Floats]:
        """Nodes along x, y, z, (3,), and (3, q) m about the middle: `count` along the wider sides, fewer
        along others, for fields of sources no nearer than `far` times the larger half side."""
        wide = float(self.half.max())
        rate = np.log(growth(far * wide / self.half)) / np.log(growth(far))
        counts = np.clip(np.ceil(count / rate - _FLAT), 2, count).astype(np.int64)
        along = [half * chebyshev(int(n)) for half, n in zip(self.half, counts, strict=True)]
        return counts, np.stack([one.ravel() for one in np.meshgrid(*along, indexing="ij")])

    def add_moments(self, moments: Floats, field: Floats, counts: Indices) -> None:
        """Adds to moments (2, 3, nz, nx, ny) those of fields H (t, 3, q) A/m told at the nodes."""
        grid, across = self.grid, self.across
        edges = [np.arange(across + 1) * 2.0 / across - 1.0] * 2
        low, high = grid.bottom[self.layers], (grid.bottom + grid.thickness)[self.layers]
        upward = np.column_stack([low, high]) - self.middle[0, 2]
        cells = [np.column_stack([edge[:-1], edge[1:]]) for edge in edges] + [upward / self.half[2]]
        mean, top = zip(*(_means(int(n), ends) for n, ends in zip(counts, cells, strict=True)), strict=True)
        field = field.reshape(len(field), 3, *counts)
        nx, ny = grid.body.shape[1:]
        wide, deep = (-(-count // across) * across for count in (nx, ny))
        whole = np.zeros((2, 3, len(self.layers), wide // across, across, deep // across, across))
        volume = grid.volume[self.layers, 0, 0]
        for axis in range(3):
            upper = [top[k] if k == axis else mean[k] for k in range(3)]
            for share, weights in ((0, mean), (1, upper)):
                found = np.einsum("tabc,ia,jb,kc->tkij", field[:, axis], *weights, optimize=True)
                found *= volume[:, None, None]
                whole[share, axis][:, self.place[:, 0], :, self.place[:, 1]] = found
        whole[0] -= whole[1]
        flat = whole.reshape(2, 3, len(self.layers), wide, deep)[..., :nx, :ny]
        moments[:, :, self.layers] += flat * grid.filled[self.layers]


def tiles(grid: BrickGrid, across: int) -> Iterator[Tiles]:
    """All filled cells in tiles of so many cells along x and y, and no higher than that is wide."""
    nz, nx, ny = grid.body.shape
    wide = across * max(grid.cell)
    first = 0
    while first < nz:
        top = grid.bottom + grid.thickness
        layers = np.arange(first, nz)
        layers = layers[top[layers] - grid.bottom[first] <= max(wide, grid.thickness[first]) * (1 + 1e-9)]
        first = int(layers[-1]) + 1
        filled = np.zeros((-(-nx // across) * across, -(-ny // across) * across), dtype=bool)
        filled[:nx, :ny] = grid.filled[layers].any(axis=0)
        place = np.argwhere(filled.reshape(len(filled) // across, across, -1, across).any(axis=(1, 3)))
        if not len(place):
            continue
        ends = grid.bottom[layers[0]], top[layers[-1]]
        size = across * np.array(grid.cell)
        half = 0.5 * np.array([*size, ends[1] - ends[0]])
        plane = np.array(grid.origin) + (place + 0.5) * size
        middle = np.column_stack([plane, np.full(len(place), 0.5 * sum(ends))])
        yield Tiles(grid=grid, layers=layers, place=place, middle=middle, half=half, across=across)


def _means(count: int, ends: Floats) -> tuple[Floats, Floats]:
    """Means over intervals (k, 2) of -1 ... 1 of the polynomials that are 1 at one node, (k, count): as they
    are, and times what rises from 0 at an interval's lower end to 1 at its upper."""
    at, weight = np.polynomial.legendre.leggauss(count // 2 + 1)
    share, weight = 0.5 + 0.5 * at, 0.5 * weight
    points = ends[:, :1] + share * (ends[:, 1:] - ends[:, :1])
    values = lagrange(points, count)
    return np.einsum("g,igk->ik", weight, values), np.einsum("g,g,igk->ik", weight, share, values)
