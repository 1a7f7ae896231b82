"""The grid of a plate: lines where something ends and between them, and the cells that a body covers."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.plate.body import Plate
from coilgen.physics.heat.plate.raster import area_cover, edge_pieces, polygon_area

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_ACROSS_WINDING = 5
"""Cells across the breadth of the narrowest winding."""
_LEAST_ACROSS, _MOST_ACROSS = 36, 96
"""Cells of the winding's size along the board's longer side, at least and at most."""
_COARSER, _COARSE = 2.0, 6.0
"""Largest cell over one in a winding: beside windings on the board, and beyond the board."""
_NEAR = 0.3
"""Of a cell: lines nearer than this to one before fall together."""
_SLIVER = 1e-6
"""Share of a cell under which it counts as empty."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Lines x (nx + 1,) and y (ny + 1,), m; cells are counted (ny, nx), row by row from the lowest y."""

    x: Floats
    y: Floats

    @property
    def areas(self) -> Floats:
        """Of the cells, (ny, nx) m²."""
        return np.outer(np.diff(self.y), np.diff(self.x))

    @property
    def middles(self) -> Floats:
        """Of the cells, (ny, nx, 2) m."""
        x, y = (self.x[:-1] + self.x[1:]) / 2, (self.y[:-1] + self.y[1:]) / 2
        return np.stack(np.meshgrid(x, y), axis=2)

    def cover(self, polygon: Floats) -> Floats:
        """Area of each cell inside a polygon, (ny, nx) m²."""
        return area_cover(polygon, self.x, self.y)


def grid(plate: Plate, cell: float | None = None) -> Grid:
    """The grid of a plate; cell: size of the cells in the windings, m, by its own choice for None."""
    size = cell or usual_cell(plate)
    return Grid(x=_lines(plate, 0, size), y=_lines(plate, 1, size))


def usual_cell(plate: Plate) -> float:
    """Size of the cells in the windings by the grid's own choice, m."""
    longest = float(np.ptp(plate.outline, axis=0).max())
    wanted = min(_breadth(winding.outer, winding.inner) for winding in plate.windings) / _ACROSS_WINDING
    return float(np.clip(wanted, longest / _MOST_ACROSS, longest / _LEAST_ACROSS))


def _breadth(outer: Floats, inner: Floats | None) -> float:
    """Of the ring between the circles of the same areas, m."""
    hole = 0.0 if inner is None else polygon_area(inner)
    return float((np.sqrt(polygon_area(outer)) - np.sqrt(hole)) / np.sqrt(np.pi))


def _lines(plate: Plate, axis: int, size: float) -> Floats:
    """Lines along one axis: at the ends of all bodies, and even between them."""
    wound = [_span(winding.outer, axis) for winding in plate.windings]
    board = _span(plate.outline, axis)
    others = [_span(part, axis) for part in _parts(plate)]
    ends = _apart(sorted({end for span in (board, *wound, *others) for end in span}), _NEAR * size)
    spans = [np.linspace(*part, _count(part, wound, board, size), endpoint=False) for part in pairwise(ends)]
    return np.append(np.concatenate(spans), ends[-1])


def _parts(plate: Plate) -> Iterator[Floats]:
    """Polygons besides outline and windings at whose ends the grid has a line."""
    yield from plate.cutouts
    for body in plate.bodies:
        yield body.outline
    for winding in plate.windings:
        if winding.inner is not None:
            yield winding.inner


def _span(polygon: Floats, axis: int) -> tuple[float, float]:
    return float(polygon[:, axis].min()), float(polygon[:, axis].max())


def _apart(ends: list[float], least: float) -> list[float]:
    """The same without those nearer than the least to one before; the first and the last stay."""
    kept = ends[:1]
    for end in ends[1:]:
        if end - kept[-1] > least:
            kept.append(end)
    kept[-1] = ends[-1]
    return kept


def _count(
    part: tuple[float, float], wound: list[tuple[float, float]], board: tuple[float, float], size: float
) -> int:
    middle = sum(part) / 2
    if any(low <= middle <= high for low, high in wound):
        most = size
    else:
        most = size * (_COARSER if board[0] <= middle <= board[1] else _COARSE)
    return max(1, int(np.ceil((part[1] - part[0]) / most - 1e-6)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Patch:
    """The cells of a grid that a flat body covers, and the vertices at their corners.

    area (ny, nx) m² of it in each cell; corners (c, 4): numbers of the vertices of each covered cell, round
    from low x and low y; cells (c,): numbers of these cells; vertex (ny + 1, nx + 1): numbers, -1 for none;
    places (v, 2) m of the vertices.
    """

    area: Floats
    corners: Indices
    cells: Indices
    vertex: Indices
    places: Floats

    @property
    def count(self) -> int:
        """Of vertices."""
        return len(self.places)

    def shared(self, values: Floats) -> Floats:
        """What cells (ny, nx) hold, given to their corners by quarters, (count,)."""
        whole = np.zeros(self.count)
        np.add.at(whole, self.corners, values.ravel()[self.cells, None] / 4)
        return whole

    def along(self, polygon: Floats) -> Floats:
        """Length of a polygon's sides nearest to each vertex, (count,) m."""
        from scipy.spatial import cKDTree

        middle, length = edge_pieces(polygon, float(np.sqrt(self.area.max())) / 4)
        whole = np.zeros(self.count)
        np.add.at(whole, cKDTree(self.places).query(middle)[1], length)
        return whole


def patch(lines: Grid, outline: Floats, holes: tuple[Floats, ...] = ()) -> Patch:
    """The patch of a body by its outline and holes, polygons (n, 2) m."""
    area = lines.cover(outline)
    for hole in holes:
        area = area - lines.cover(hole)
    whole = lines.areas
    area = np.where(area > _SLIVER * whole, np.minimum(area, whole), 0.0)
    rows, columns = area.shape
    cells = np.flatnonzero(area)
    low = cells // columns * (columns + 1) + cells % columns
    round_ = np.stack([low, low + 1, low + columns + 2, low + columns + 1], axis=1)
    used, corners = np.unique(round_, return_inverse=True)
    vertex = np.full((rows + 1) * (columns + 1), -1)
    vertex[used] = np.arange(len(used))
    return Patch(
        area=area,
        corners=corners.reshape(-1, 4),
        cells=cells,
        vertex=vertex.reshape(rows + 1, columns + 1),
        places=np.stack([lines.x[used % (columns + 1)], lines.y[used // (columns + 1)]], axis=1),
    )
