"""The cores of one pocket as charged bricks: what their magnetisation charges, and the potentials between."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.compiled import by_rows, kernel
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_charges import Planes, face_areas, planes, sides
from coilgen.physics.core.brick_grid import BrickGrid, brick_grid
from coilgen.physics.core.cells import Cells, cells_of_grid
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.field.filaments import Indices
from coilgen.physics.mover.images import Image

if TYPE_CHECKING:
    from scipy.sparse import csr_array

_NEAR = 4.0
"""Of a pocket's width: images nearer than that are told apart brick by brick, others as points."""
_ROWS_AT_ONCE = 64


@dataclass(frozen=True, kw_only=True)
class Carriers:
    """All that carries charge: c cells and outer faces, each all over.

    plane: which of the grid's sheets each belongs to. place: (c, 2) of its middle in half cells. at, size:
    (c, 3) m.
    """

    plane: Indices
    place: Indices
    at: Floats
    size: Floats


@dataclass(frozen=True, kw_only=True)
class Pocket:
    """Cores of one pocket on their grid, which stands along the pocket.

    face: (n,) numbers in the grid's flat row of those faces that bound a cell, the unknowns. cells: between
    these alone. charged: (c, n) m2, charges of normal magnetisations.
    """

    grid: BrickGrid
    cells: Cells
    face: Indices
    charged: "csr_array"
    carriers: Carriers


def pocket(bodies: tuple[Body, ...], curves: tuple[Curve, ...], cell: float) -> Pocket:
    """Of bodies on cells `cell` wide, m; curves: one for each."""
    grid = brick_grid(bodies, cell)
    lower, upper = sides(grid)
    face = np.flatnonzero(lower.flat + upper.flat)
    known = np.full(len(lower.flat), -1)
    known[face] = np.arange(len(face))
    cells = cells_of_grid(grid, curves, known)
    return Pocket(
        grid=grid,
        cells=cells,
        face=face,
        charged=_charged(grid, cells.ends, (lower.flat - upper.flat)[face]),
        carriers=_carriers(grid),
    )


@dataclass(frozen=True, kw_only=True)
class Mirror:
    """What stands for each carrier (c,) and for each face (n,) in a mirror across an axis through the middle.

    sign: (n,) -1 for faces across that axis.
    """

    carriers: Indices
    faces: Indices
    sign: Floats


def mirror(one: Pocket, axis: int) -> Mirror:
    """Of a pocket's cores, which look alike from both sides."""
    grid, of = one.grid, one.carriers
    lower, _ = sides(grid)
    kinds = [np.full(part.size, kind) for kind, part in enumerate((lower.x, lower.y, lower.z))]
    told = [np.indices(part.shape).reshape(3, -1) for part in (lower.x, lower.y, lower.z)]
    kind, (k, i, j) = np.concatenate(kinds)[one.face], np.concatenate(told, axis=1)[:, one.face]
    place = np.column_stack([2 * i + (kind != 0), 2 * j + (kind != 1)])
    width = 2 * grid.body.shape[1 + axis]
    return Mirror(
        carriers=_mirrored(of.plane, of.place, axis, width),
        faces=_mirrored(k * 3 + kind, place, axis, width),
        sign=np.where(kind == axis, -1.0, 1.0),
    )


def _mirrored(group: Indices, place: Indices, axis: int, width: int) -> Indices:
    """Which member of a group lies where each one's mirror image is, (n,); width: the grid's, half cells."""
    other = place.copy()
    other[:, axis] = width - place[:, axis]
    found = np.empty(len(group), dtype=np.int64)
    found[np.lexsort((*place.T, group))] = np.lexsort((*other.T, group))
    return found


def _charged(grid: BrickGrid, ends: Indices, outer: Floats) -> "csr_array":
    """Cells: minus the sum of outward M A; outer faces: outward M A."""
    from scipy.sparse import csr_array

    cells, shape = ends.shape[2], grid.body.shape
    areas = [np.broadcast_to(area, shape)[grid.filled] for area in face_areas(grid)]
    of_face = np.zeros(len(outer))
    rows, columns, values = list[Indices](), list[Indices](), list[Floats]()
    for axis, area in enumerate(areas):
        for end, sign in ((0, 1.0), (1, -1.0)):
            rows.append(np.arange(cells))
            columns.append(ends[axis, end])
            values.append(sign * area)
            of_face[ends[axis, end]] = area
    open_faces = np.flatnonzero(outer)
    rows.append(cells + np.arange(len(open_faces)))
    columns.append(open_faces)
    values.append((outer * of_face)[open_faces])
    told = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    return csr_array(told, shape=(cells + len(open_faces), len(outer)))


def _carriers(grid: BrickGrid) -> Carriers:
    """Cells, then outer faces across x, y, z, each in the grid's order."""
    lower, upper = sides(grid)
    found = [grid.filled, *(a != b for a, b in ((lower.x, upper.x), (lower.y, upper.y), (lower.z, upper.z)))]
    sheets, first = planes(grid), 0
    plane, place, size = list[Indices](), list[Indices](), list[Floats]()
    for kind, there in enumerate(found):
        k, i, j = np.nonzero(there)
        number = first + k
        first += len(there)
        plane.append(number)
        place.append(np.column_stack([2 * i + (kind != 1), 2 * j + (kind != 2)]))
        height = sheets.extent[number]
        ones = np.ones(len(k))
        size.append(
            np.column_stack([grid.cell[0] * (kind != 1) * ones, grid.cell[1] * (kind != 2) * ones, height])
        )
    planes_of, places = np.concatenate(plane), np.concatenate(place)
    half = 0.5 * np.array(grid.cell)
    at = np.column_stack([np.array(grid.origin) + places * half, sheets.middle[planes_of]])
    return Carriers(plane=planes_of, place=places, at=at, size=np.concatenate(size))


def own_potentials(one: Pocket, mirrored: Sequence[Image] = ()) -> Floats:
    """Mean potentials, (c, c) 1/m, of unit charges on all carriers and of their images over each carrier."""
    sheets, of = planes(one.grid), one.carriers
    own = [np.flatnonzero(of.plane == number) for number in range(len(sheets.kind))]
    width = float(max(one.grid.cell)) * max(one.grid.body.shape[1:])
    near = [image for image in mirrored if _distance(one.grid, image) < _NEAR * width]
    total = np.zeros((len(of.plane), len(of.plane)))
    for a, b, apart, sign in _pairs(sheets, own, near):
        table = sign * _table(one.grid, sheets, a, b, apart)
        steps = np.abs(of.place[own[a], None] - of.place[own[b]]) // 2
        block = table[steps[..., 0], steps[..., 1]]
        total[np.ix_(own[a], own[b])] += block
        if a != b:
            total[np.ix_(own[b], own[a])] += block.T
    add_point_potentials(total, of.at, of.at, [image for image in mirrored if image not in near])
    return total


def _pairs(
    sheets: Planes, own: Sequence[Indices], near: Sequence[Image]
) -> Iterator[tuple[int, int, float, float]]:
    """Sheets a <= b with charge, how far apart one is from the other or from its image, m, and the sign."""
    for a, first in enumerate(own):
        for b in range(a, len(own)):
            if len(first) and len(own[b]):
                yield a, b, abs(float(sheets.middle[a] - sheets.middle[b])), 1.0
                for image in near:
                    mirrored = float(image.height(sheets.middle[b]))
                    yield a, b, abs(float(sheets.middle[a]) - mirrored), image.sign


def _distance(grid: BrickGrid, image: Image) -> float:
    """Between a pocket's cores and their image, m; not over that of their middles."""
    ends = np.array([grid.bottom[0], grid.bottom[-1] + grid.thickness[-1]])
    mirrored = np.sort(image.height(ends))
    return float(max(mirrored[0] - ends[1], ends[0] - mirrored[1], 0.0))


def _table(grid: BrickGrid, sheets: Planes, a: int, b: int, apart: float) -> Floats:
    """Mean of 1 / 4 pi r between carriers of two sheets over offsets in the first quadrant."""
    from coilgen.physics.core.brick_kernels import mean_inverse_distances

    extends = np.array([[kind != axis for axis in (1, 2, 3)] for kind in (sheets.kind[a], sheets.kind[b])])
    nx, ny = grid.body.shape[1:]
    ends = float(sheets.extent[a]), float(sheets.extent[b])
    mean = mean_inverse_distances(extends.sum(axis=0), *grid.cell, nx, ny, apart, *ends)
    return np.asarray(mean / (4.0 * np.pi))


def add_point_potentials(total: Floats, at: Floats, sources: Floats, mirrored: Sequence[Image]) -> None:
    """Adds to (c, d) the potentials, 1/m, at points (c, 3) m of the images of unit charges at (d, 3) m."""
    for image in mirrored:
        moved = np.column_stack([sources[:, :2], image.height(sources[:, 2])])
        _add_points(total, at, moved, image.sign)


def point_potentials(at: Floats, sources: Floats, mirrored: Sequence[Image]) -> Floats:
    """(c, d) 1/m at points (c, 3) m of unit charges at (d, 3) m and of their images."""
    total = np.zeros((len(at), len(sources)))
    _add_points(total, at, sources, 1.0)
    add_point_potentials(total, at, sources, mirrored)
    return total


def _add_points(total: Floats, at: Floats, sources: Floats, sign: float) -> None:
    at, sources = np.ascontiguousarray(at), np.ascontiguousarray(sources)
    share = sign / (4.0 * np.pi)
    by_rows(lambda a, b: _inverse(at, sources, share, a, b, total), len(at), _ROWS_AT_ONCE)


@kernel
def _inverse(at, sources, share, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds a share of 1 / r to out[first:last]."""
    for n in range(first, last):
        for k in range(sources.shape[0]):
            x, y, z = at[n, 0] - sources[k, 0], at[n, 1] - sources[k, 1], at[n, 2] - sources[k, 2]
            out[n, k] += share / np.sqrt(x * x + y * y + z * z)
