"""Compiled Biot-Savart kernel: all strips on all points."""

import math

import numpy as np

from coilgen.physics.base.compiled import by_rows, kernel, part
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.field.filaments import NEAR_WIDTHS, Filaments

_POINTS_AT_ONCE = 1024
_STRIPS_AT_ONCE = 256
_TINY = 1e-30
_TINIER = 1e-40


def flux_density_per_ampere(path: Filaments, points: Floats) -> Floats:
    """Flux density (n, 3) T of all strips carrying one ampere at points (n, 3) m.

    The same formulas as `strip_field.strips_flux_density`; widths of zero give pure filaments.
    """
    runs, table = _runs(path.chain), _table(path)
    out = np.zeros((3, len(points)))
    columns = np.ascontiguousarray(points.T, dtype=np.float64)

    def work(first: int, last: int) -> None:
        near = np.zeros(last - first)
        for run in runs:
            add_filaments(columns, *run, first, last, near, out)
        add_near_strips(columns, table, first, near, out)

    by_rows(work, len(points), _POINTS_AT_ONCE)
    return np.ascontiguousarray(out.T)


def _runs(steps: Floats) -> list[Floats]:
    """The chain in short runs that stay in the fastest memory; each begins where the last ends."""
    starts = range(0, steps.shape[1] - 1, _STRIPS_AT_ONCE)
    return [np.ascontiguousarray(steps[:, k : k + _STRIPS_AT_ONCE + 1]) for k in starts]


def _table(path: Filaments) -> Floats:
    """Rows (m, 20): start, end, length, limit of ra + rb, width, thickness, axes, share of the current."""
    limit = path.length + 2.0 * NEAR_WIDTHS * path.width
    axes = path.axes.reshape(-1, 9)
    columns = [path.start, path.end, path.length, limit, path.width, path.thickness, axes, path.shares]
    return np.ascontiguousarray(np.column_stack(columns))


@kernel
def add_filaments(columns, vx, vy, vz, lx, ly, lz, square, limit, first, last, near, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds 2 (1/ra + 1/rb) / ((ra + rb)^2 - L^2) L x d for every strip that is not near, and counts the near.

    Single-precision seeds and one Newton step give the reciprocals to 1e-14 at half the cost of a square root
    and a division.
    """
    for i in range(first, last):
        px, py, pz = columns[0, i], columns[1, i], columns[2, i]
        bx, by, bz, close_ones = 0.0, 0.0, 0.0, 0.0
        dx, dy, dz = px - vx[0], py - vy[0], pz - vz[0]
        radius = math.sqrt(dx * dx + dy * dy + dz * dz + _TINY)
        inverse = 1.0 / radius
        for k in range(1, vx.size):
            dx, dy, dz = px - vx[k], py - vy[k], pz - vz[k]
            r2 = dx * dx + dy * dy + dz * dz + _TINY
            y = np.float64(np.float32(1.0) / np.sqrt(np.float32(r2)))
            y = y * (1.5 - 0.5 * r2 * y * y)
            r = r2 * y
            total = radius + r
            spread = total * total - square[k]
            g = np.float64(np.float32(1.0) / np.float32(spread))
            g = g * (2.0 - spread * g)
            close = total < limit[k]
            f = 0.0 if close else (inverse + y) * g
            close_ones += 1.0 if close else 0.0
            bx += f * (ly[k] * dz - lz[k] * dy)
            by += f * (lz[k] * dx - lx[k] * dz)
            bz += f * (lx[k] * dy - ly[k] * dx)
            radius, inverse = r, y
        near[i - first] += close_ones
        out[0, i] += 2.0 * MU0_OVER_4PI * bx
        out[1, i] += 2.0 * MU0_OVER_4PI * by
        out[2, i] += 2.0 * MU0_OVER_4PI * bz


@kernel
def add_near_strips(columns, table, first, near, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the strips that `add_filaments` left out, as bars."""
    for n in range(near.size):
        if near[n] > 0.0:
            i = first + n
            x, y, z = columns[0, i], columns[1, i], columns[2, i]
            for k in range(table.shape[0]):
                row = table[k]
                if _distance(x, y, z, row, 0) + _distance(x, y, z, row, 3) < row[7]:
                    _add_strip(x, y, z, row, out, i)


@part
def _distance(x, y, z, row, at):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return math.sqrt((x - row[at]) ** 2 + (y - row[at + 1]) ** 2 + (z - row[at + 2]) ** 2 + _TINY)


@part
def _add_strip(x, y, z, row, out, column):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """As `strip_field.strip_flux_density`."""
    ox, oy, oz = x - row[0], y - row[1], z - row[2]
    u = ox * row[10] + oy * row[11] + oz * row[12]
    v = ox * row[13] + oy * row[14] + oz * row[15]
    w = ox * row[16] + oy * row[17] + oz * row[18]
    sideways, upward = 0.0, 0.0
    for i in range(2):
        for j in range(2):
            for k in range(2):
                uu, vv, ww = u - i * row[6], v + (0.5 - j) * row[8], w + (0.5 - k) * row[9]
                sign = 1.0 - 2.0 * ((i + j + k) % 2)
                sideways += sign * _rectangle_integral(uu, vv, ww)
                upward -= sign * _rectangle_integral(uu, ww, vv)
    scale = row[19] * MU0_OVER_4PI / (row[8] * row[9])
    for c in range(3):
        out[c, column] += scale * (sideways * row[13 + c] + upward * row[16 + c])


@part
def _rectangle_integral(x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Twice-integrated 1/r: x asinh(y / hypot(x, z)) + y asinh(x / hypot(y, z)) - z atan(xy / zr)."""
    r = math.sqrt(x * x + y * y + z * z)
    first = x * math.asinh(y / math.sqrt(x * x + z * z + _TINIER))
    second = y * math.asinh(x / math.sqrt(y * y + z * z + _TINIER))
    return first + second - abs(z) * math.atan2(x * y, abs(z) * r)
