"""Warm islands of a flat body: where windings warm it, and what each offers to the air.

Formulas of convection are for faces that are warm all over. So the air counts each stretch that is warm as a
body of its own: the windings and what lies within one fin length of them. Windings nearer to one another
than two fin lengths warm one stretch together.
"""

import math

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.convection import EDGE_EXPONENT
from coilgen.physics.heat.outline import Outline
from coilgen.physics.heat.plate.grid import Grid
from coilgen.physics.heat.plate.raster import cells_of, line_cover, perimeter, polygon_area

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

LOSS = 40.0
"""W/(m² K), convection and radiation of both faces of a small hot board, for its fin length alone."""
_PIXELS = 60_000
"""Of the picture in which islands are looked for."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """Square pixels of a size, m, over all bodies; x, y: their edges."""

    x: Floats
    y: Floats
    size: float

    def mask(self, polygon: Floats) -> Bools:
        """Pixels whose middle line lies inside a polygon by half at least, (ny, nx)."""
        lengths = line_cover(polygon, self.x, (self.y[:-1] + self.y[1:]) / 2)
        return lengths >= self.size / 2

    def cells(self, lines: Grid) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Row and column of the grid's cell that each pixel lies in, each (ny, nx)."""
        x, y = (self.x[:-1] + self.x[1:]) / 2, (self.y[:-1] + self.y[1:]) / 2
        points = np.stack(np.meshgrid(x, y), axis=2).reshape(-1, 2)
        row, column = cells_of(points, lines.x, lines.y)
        shape = (len(y), len(x))
        return row.reshape(shape), column.reshape(shape)


def picture(lines: Grid) -> Picture:
    """The picture that covers a grid."""
    wide, high = float(np.ptp(lines.x)), float(np.ptp(lines.y))
    size = math.sqrt(wide * high / _PIXELS)
    return Picture(x=_even(lines.x, size), y=_even(lines.y, size), size=size)


def _even(edges: Floats, size: float) -> Floats:
    """Edges of pixels that stand out on both sides alike, so that mirrored boards have mirrored pixels."""
    count = math.ceil((edges[-1] - edges[0]) / size)
    even: Floats = (edges[0] + edges[-1]) / 2 + size * (np.arange(count + 1) - count / 2)
    return even


@dataclass(frozen=True, kw_only=True, eq=False)
class Island:
    """A warm stretch of a body: its outline as convection asks for it; share (ny, nx) of the body's area in
    each cell that lies in it; growth (ny, nx): local coefficient over the mean one, mean over that share;
    skirt (ny, nx): share of the body's area in each cell that is cooler and lies nearest to this island.
    """

    outline: Outline
    share: Floats
    growth: Floats
    skirt: Floats


def islands(
    lines: Grid, pixels: Picture, body: Bools, warm: Bools, reach: float, whole: Floats
) -> list[Island]:
    """The islands of a body's mask round warm pixels, as far as its fin length reaches, m.

    whole: polygon of the body's outline (n, 2) m; where nothing warm is near, the body is one island.
    """
    from scipy.ndimage import binary_fill_holes, distance_transform_edt, label

    near = body & (distance_transform_edt(~warm) * pixels.size <= reach) if warm.any() else body
    if not near.any():
        near = body
    # Air passes over holes and over what is cool in the middle as over the rest.
    filled = binary_fill_holes(near)
    near = body & filled
    labels, count = label(near, structure=np.ones((3, 3)))
    depth = pixels.size * (distance_transform_edt(np.pad(filled, 1))[1:-1, 1:-1] - 0.5)
    nearest = labels[tuple(distance_transform_edt(~near, return_distances=False, return_indices=True))]
    at = pixels.cells(lines)
    counted = _gathered(lines, at, body.astype(np.float64))
    return [
        _island(lines, pixels, at, body, labels == number, nearest == number, depth, counted, whole)
        for number in range(1, count + 1)
    ]


def _island(
    lines: Grid,
    pixels: Picture,
    at: tuple[NDArray[np.int64], NDArray[np.int64]],
    body: Bools,
    inside: Bools,
    around: Bools,
    depth: Floats,
    counted: Floats,
    whole: Floats,
) -> Island:
    pixel_growth = np.where(inside, _growth(depth, inside), 0.0)
    area = _gathered(lines, at, inside.astype(np.float64))
    grown = _gathered(lines, at, pixel_growth)
    skirt = _gathered(lines, at, (body & around & ~inside).astype(np.float64))
    empty = counted == 0
    seen = np.where(empty, 1.0, counted)
    # Cells of less than a pixel belong to nobody's island; the nearest one's skirt takes them.
    rows, columns = lines.areas.shape
    middle = np.argwhere(empty)
    alone = np.zeros((rows, columns))
    if len(middle):
        row, column = cells_of(lines.middles[empty], pixels.x, pixels.y)
        alone[empty] = around[row, column]
    return Island(
        outline=_outline(pixels, body, inside, whole),
        share=area / seen,
        growth=np.where(area > 0, grown / np.where(area > 0, area, 1.0), 1.0),
        skirt=skirt / seen + alone,
    )


def _growth(depth: Floats, inside: Bools) -> Floats:
    """Local coefficient over the mean one by the distance from the rim, as convection.edge_growth of a disc.

    There 1 - r²/R² is d/R (2 - d/R); here R is the largest distance from the rim.
    """
    inner = depth / depth[inside].max()
    growth = np.where(inside, np.maximum(inner * (2 - inner), 1e-12), 1.0) ** -EDGE_EXPONENT
    mean: Floats = growth / growth[inside].mean()
    return mean


def _gathered(lines: Grid, at: tuple[NDArray[np.int64], NDArray[np.int64]], values: Floats) -> Floats:
    cells = np.zeros(lines.areas.shape)
    np.add.at(cells, at, values)
    return cells


def _outline(pixels: Picture, body: Bools, inside: Bools, whole: Floats) -> Outline:
    """Area of the stretch, length of a string round it, height; of the body where all of it is warm."""
    if inside.sum() == body.sum():
        return outline_of(whole)
    rows = np.flatnonzero(inside.any(axis=1))
    first, last = inside[rows].argmax(axis=1), inside.shape[1] - inside[rows, ::-1].argmax(axis=1)
    ends = [(pixels.x[x], pixels.y[y]) for y in (rows, rows + 1) for x in (first, last)]
    return _strung(np.concatenate([np.stack(each, axis=1) for each in ends]), inside.sum() * pixels.size**2)


def _strung(corners: Floats, area: float) -> Outline:
    """Of what has an area, m², by corners among which are all that stand out (k, 2), m."""
    from scipy.spatial import ConvexHull

    return Outline(
        area=area,
        perimeter=max(float(ConvexHull(corners).area), math.sqrt(4 * math.pi * area)),
        height=float(np.ptp(corners[:, 1])),
    )


def outline_of(polygon: Floats) -> Outline:
    """Of a polygon (n, 2) m."""
    return Outline(
        area=polygon_area(polygon), perimeter=perimeter(polygon), height=float(np.ptp(polygon[:, 1]))
    )
