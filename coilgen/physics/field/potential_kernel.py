"""Compiled vector potential: all strips, taken as filaments, on all points."""

import math

import numpy as np

from coilgen.physics.base.compiled import by_rows, kernel
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.strip_field import softening

_POINTS_AT_ONCE = 256
_SERIES = 0.05
"""Of the argument of atanh, up to which three terms of its series are good to 1e-11."""


def vector_potential_per_ampere(path: Filaments, points: Floats) -> Floats:
    """Vector potential (n, 3) T m of all strips carrying one ampere at points (n, 3) m.

    The same formula as `strip_field.strips_vector_potential`.
    """
    step = path.end - path.start
    length = np.linalg.norm(step, axis=1)
    along = (path.shares / length)[:, None] * step
    columns = np.column_stack([path.start, path.end, along, length, softening(path)])
    table, places = (np.ascontiguousarray(each, dtype=np.float64) for each in (columns, points))
    out = np.zeros((len(points), 3))
    by_rows(lambda first, last: _add_potential(places, table, first, last, out), len(points), _POINTS_AT_ONCE)
    return 2.0 * MU0_OVER_4PI * out


@kernel
def _add_potential(points, table, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds atanh(L / (ra + rb)) times each strip's direction and share to out[first:last]."""
    for n in range(first, last):
        x, y, z = points[n, 0], points[n, 1], points[n, 2]
        ax, ay, az = 0.0, 0.0, 0.0
        for k in range(table.shape[0]):
            soft = table[k, 10]
            dx, dy, dz = x - table[k, 0], y - table[k, 1], z - table[k, 2]
            ex, ey, ez = x - table[k, 3], y - table[k, 4], z - table[k, 5]
            near = math.sqrt(dx * dx + dy * dy + dz * dz + soft)
            far = math.sqrt(ex * ex + ey * ey + ez * ez + soft)
            ratio = table[k, 9] / (near + far)
            square = ratio * ratio
            value = ratio * (1.0 + square * (1.0 / 3.0 + square * (0.2 + square / 7.0)))
            if ratio > _SERIES:
                value = 0.5 * math.log((1.0 + ratio) / (1.0 - ratio))
            ax += value * table[k, 6]
            ay += value * table[k, 7]
            az += value * table[k, 8]
        out[n, 0] += ax
        out[n, 1] += ay
        out[n, 2] += az
