"""Polygons on rectangular cells: the length of lines and the area of cells that lie inside."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

LINES = 8
"""Lines across a cell on which its area is measured; each line exactly."""


def line_cover(polygon: Floats, edges: Floats, at: Floats) -> Floats:
    """Length inside a polygon of the lines y = at (m,), between successive edges (n + 1,): (m, n), in m.

    polygon (k, 2) m, closed by itself, either way round, not crossing itself.

    >>> square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]])
    >>> line_cover(square, np.array([-1.0, 0.5, 3.0]), np.array([0.5, 1.5])).tolist()
    [[0.5, 1.5], [0.0, 0.0]]
    """
    line, x, sign = _crossings(polygon, at)
    cell = np.searchsorted(edges, x, side="right") - 1
    count = len(edges) - 1
    whole, part = np.zeros((len(at), count + 1)), np.zeros((len(at), count))
    np.add.at(whole, (line, np.minimum(cell + 1, count)), sign)
    inside = (cell >= 0) & (cell < count)
    np.add.at(part, (line[inside], cell[inside]), sign[inside] * (edges[cell[inside] + 1] - x[inside]))
    return np.abs(np.cumsum(whole[:, :count], axis=1) * np.diff(edges) + part)


def _crossings(polygon: Floats, at: Floats) -> tuple[Indices, Floats, Floats]:
    """Where the polygon's sides cross the lines: numbers of lines, x, and 1 for sides that lead down."""
    begin, end = polygon, np.roll(polygon, -1, axis=0)
    up = begin[:, 1] < end[:, 1]
    low, high = np.minimum(begin[:, 1], end[:, 1]), np.maximum(begin[:, 1], end[:, 1])
    line, side = np.nonzero((at[:, None] >= low) & (at[:, None] < high))
    run = (at[line] - begin[side, 1]) / (end[side, 1] - begin[side, 1])
    x = begin[side, 0] + run * (end[side, 0] - begin[side, 0])
    return line, x, np.where(up[side], -1.0, 1.0)


def area_cover(polygon: Floats, x: Floats, y: Floats) -> Floats:
    """Area of each cell inside a polygon, (len(y) - 1, len(x) - 1) m²; x, y: the cells' edges, m."""
    step = np.diff(y) / LINES
    at = (y[:-1, None] + step[:, None] * (np.arange(LINES) + 0.5)).ravel()
    lengths = line_cover(polygon, x, at).reshape(len(step), LINES, -1)
    area: Floats = lengths.sum(axis=1) * step[:, None]
    return area


def polygon_area(polygon: Floats) -> float:
    """Enclosed area, m² (the surveyors' formula)."""
    x, y = polygon.T
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def perimeter(polygon: Floats) -> float:
    """Length round a polygon, m."""
    return float(np.linalg.norm(np.roll(polygon, -1, axis=0) - polygon, axis=1).sum())


def edge_pieces(polygon: Floats, longest: float) -> tuple[Floats, Floats]:
    """A polygon's sides cut into pieces up to a length, m: their middles (k, 2) m and lengths (k,) m."""
    begin, side = polygon, np.roll(polygon, -1, axis=0) - polygon
    length = np.linalg.norm(side, axis=1)
    pieces = np.maximum(1, np.ceil(length / longest)).astype(np.int64)
    of = np.repeat(np.arange(len(length)), pieces)
    number = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    middle = begin[of] + ((number + 0.5) / pieces[of])[:, None] * side[of]
    return middle, (length / pieces)[of]


def cells_of(points: Floats, x: Floats, y: Floats) -> tuple[Indices, Indices]:
    """Row and column of the cell that holds each point (k, 2), or of the nearest one."""
    column = np.clip(np.searchsorted(x, points[:, 0], side="right") - 1, 0, len(x) - 2)
    row = np.clip(np.searchsorted(y, points[:, 1], side="right") - 1, 0, len(y) - 2)
    return row, column


def along_nearest_side(polygon: Floats, points: Floats) -> Floats:
    """Direction of the polygon's side that is nearest to each point (k, 2), (k, 2) of length 1."""
    begin, side = polygon, np.roll(polygon, -1, axis=0) - polygon
    real = np.linalg.norm(side, axis=1) > 0
    begin, side = begin[real], side[real]
    towards = points[:, None] - begin
    squared = (side**2).sum(axis=1)
    run = np.clip((towards * side).sum(axis=2) / squared, 0, 1)
    away = ((towards - run[..., None] * side) ** 2).sum(axis=2)
    nearest = np.argmin(away, axis=1)
    along: Floats = side[nearest] / np.sqrt(squared[nearest])[:, None]
    return along
