"""Flux density outside a magnetised core: the field of its charged cells and faces."""

import math

import numpy as np

from coilgen.physics.base.compiled import by_rows, kernel, part
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.core.brick_charges import charges, split
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.soft_core import Magnetised

_NEAR = 3.0
_FAR = 6.0
"""Sizes of a box away from which its charge and the second moments of it tell to some 5e-5."""
_TINY = 1e-40
_GAUSS = 0.5 / math.sqrt(3.0)
_THIN = 1e-4
_THINNER = 0.01
_POINTS_AT_ONCE = 16


def core_flux_density(state: Magnetised, points: Floats) -> Floats:
    """Flux density (n, 3) T of the core alone at points (n, 3) m outside it.

    Cells and faces near a point in closed form (a face as a box a ten-thousandth as thick as wide), farther
    ones as up to eight charges, or by their charge and its second moments.
    """
    return boxes_flux_density(charged_boxes(state), points)


def charged_boxes(state: Magnetised) -> Floats:
    """Rows (k, 7): middle x, y, z, extents x, y, z, all m, and charge, A m, of all that carries charge."""
    grid, m = state.core.grid, split(state.core.grid, state.m)
    cells, x, y, z = charges(grid, state.core.outer, m)
    hx, hy = grid.cell
    thin = _THIN * min(hx, hy)
    height = grid.thickness
    flat = np.full(len(grid.level), thin)
    middle = grid.bottom + 0.5 * height
    rows = [
        _rows(grid, cells, (0.5, 0.5), middle, (hx, hy), height),
        _rows(grid, x, (0.0, 0.5), middle, (thin, hy), height),
        _rows(grid, y, (0.5, 0.0), middle, (hx, thin), height),
        _rows(grid, z, (0.5, 0.5), grid.level, (hx, hy), flat),
    ]
    return np.ascontiguousarray(np.concatenate(rows))


def _rows(
    grid: BrickGrid,
    charge: Floats,
    at: tuple[float, float],
    middle: Floats,
    size: tuple[float, float],
    height: Floats,
) -> Floats:
    k, i, j = np.nonzero(charge)
    x = grid.origin[0] + (i + at[0]) * grid.cell[0]
    y = grid.origin[1] + (j + at[1]) * grid.cell[1]
    ones = np.ones(len(k))
    return np.column_stack([x, y, middle[k], size[0] * ones, size[1] * ones, height[k], charge[k, i, j]])


def boxes_flux_density(boxes: Floats, points: Floats) -> Floats:
    """Flux density (n, 3) T of evenly charged boxes, rows as `charged_boxes` makes them."""
    points = np.ascontiguousarray(points, dtype=np.float64)
    out = np.zeros((len(points), 3))
    if len(boxes):
        far = (_FAR * boxes[:, 3:6].max(axis=1)) ** 2
        spread = boxes[:, 3:6] ** 2 / 12.0
        each = (*boxes[:, :3].T, boxes[:, 6], *spread.T, far)
        columns = tuple(np.ascontiguousarray(column) for column in each)
        by_rows(lambda a, b: add_boxes(points, boxes, columns, a, b, out), len(points), _POINTS_AT_ONCE)
    return out


@kernel
def add_boxes(points, boxes, columns, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the field of all boxes to out[first:last].

    columns: middle, charge, mean square distances of the charge from it along x, y, z, square of what is far.
    """
    mx, my, mz, charge, sx, sy, sz, far = columns
    for n in range(first, last):
        px, py, pz = points[n, 0], points[n, 1], points[n, 2]
        bx, by, bz = 0.0, 0.0, 0.0
        for k in range(charge.size):
            x, y, z = px - mx[k], py - my[k], pz - mz[k]
            r2 = x * x + y * y + z * z
            inverse = 1.0 / (r2 + _TINY)  # in a box's very middle its charge is not far: 0 times a number
            factor = charge[k] * inverse * math.sqrt(inverse) if r2 > far[k] else 0.0
            along = (sx[k] * x * x + sy[k] * y * y + sz[k] * z * z) * inverse
            whole = 1.0 + (7.5 * along - 1.5 * (sx[k] + sy[k] + sz[k])) * inverse
            bx += factor * x * (whole - 3.0 * sx[k] * inverse)
            by += factor * y * (whole - 3.0 * sy[k] * inverse)
            bz += factor * z * (whole - 3.0 * sz[k] * inverse)
        out[n, 0] += MU0_OVER_4PI * bx
        out[n, 1] += MU0_OVER_4PI * by
        out[n, 2] += MU0_OVER_4PI * bz
        for k in range(charge.size):
            x, y, z = px - mx[k], py - my[k], pz - mz[k]
            if not x * x + y * y + z * z > far[k]:
                _add_nearer(x, y, z, boxes[k], out[n])


@part
def _add_nearer(x, y, z, box, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Of a box within some widths: as charges at Gauss's points of its sides but thin ones, or exactly."""
    size = max(box[3], box[4], box[5])
    if x * x + y * y + z * z <= (_NEAR * size) ** 2:
        _add_box(x, y, z, box, out)
        return
    thin = _THINNER * size
    ni, nj, nk = 1 + (box[3] > thin), 1 + (box[4] > thin), 1 + (box[5] > thin)
    part = box[6] / (ni * nj * nk)
    for i in range(ni):
        dx = (2 * i + 1 - ni) * _GAUSS * box[3]
        for j in range(nj):
            dy = (2 * j + 1 - nj) * _GAUSS * box[4]
            for k in range(nk):
                dz = (2 * k + 1 - nk) * _GAUSS * box[5]
                _add_charge(x + dx, y + dy, z + dz, part, out)


@part
def _add_charge(x, y, z, charge, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    r2 = x * x + y * y + z * z
    factor = MU0_OVER_4PI * charge / (r2 * math.sqrt(r2))
    out[0] += factor * x
    out[1] += factor * y
    out[2] += factor * z


@part
def _add_box(x, y, z, box, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Minus the gradient of the integral of 1/r: differences of its second integrals over the faces."""
    gx, gy, gz = 0.0, 0.0, 0.0
    for i in range(2):
        for j in range(2):
            for k in range(2):
                a, b, c = x + (0.5 - i) * box[3], y + (0.5 - j) * box[4], z + (0.5 - k) * box[5]
                sign = 1.0 - 2.0 * ((i + j + k) % 2)
                gx += sign * _rectangle_integral(b, c, a)
                gy += sign * _rectangle_integral(c, a, b)
                gz += sign * _rectangle_integral(a, b, c)
    factor = -MU0_OVER_4PI * box[6] / (box[3] * box[4] * box[5])
    out[0] += factor * gx
    out[1] += factor * gy
    out[2] += factor * gz


@part
def _rectangle_integral(x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Twice-integrated 1/r, as in `field.kernel`; twice as a kernel's cache sees its own file only."""
    r = math.sqrt(x * x + y * y + z * z)
    first = x * math.asinh(y / math.sqrt(x * x + z * z + _TINY))
    second = y * math.asinh(x / math.sqrt(y * y + z * z + _TINY))
    return first + second - abs(z) * math.atan2(x * y, abs(z) * r)
