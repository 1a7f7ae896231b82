"""Potentials of magnets along z, level with the board: the vector one of their walls, the scalar one."""

import math
from collections.abc import Callable

import numpy as np

from coilgen.physics.base.compiled import by_rows, kernel
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.mover.magnets import Magnets, Sheets, Walls, walls

_POINTS_AT_ONCE = 256


def vector_potential(points: Floats, height: float, magnets: Magnets, distance: float) -> Floats:
    """A (n, 2) T m along x and y at points (n, 2) m of a level, m, that no magnet reaches; along z it is 0.

    distance: of the level from the nearest end face, m, or as far as details of the field matter.
    """
    shell = walls(magnets.outlines, magnets.signs, distance)
    return magnets.polarisation * walls_potential(points, height, shell, magnets.sheets)


def walls_potential(points: Floats, height: float, shell: Walls, sheets: Sheets) -> Floats:
    """A (n, 2) m over the polarisation, T, at points (n, 2) m of a level: the current M round every wall.

    A = mu0 / 4 pi times the integral of M dl dz / r (J. D. Jackson, Classical Electrodynamics, section 5.8),
    along z in closed form.
    """
    return _summed(_add, points, height, shell, sheets, np.zeros((len(points), 2)))


def _summed(
    add: Callable[..., None], points: Floats, height: float, shell: Walls, sheets: Sheets, out: Floats
) -> Floats:
    """What a kernel adds at points (n, 2) m of a level to out (n, ...), which begins with zeros."""
    spans = np.array([_span(height, low, high) for low, high in sheets])
    points = np.ascontiguousarray(points, dtype=np.float64)
    near, far = np.ascontiguousarray(spans[:, 0]), np.ascontiguousarray(spans[:, 1])
    by_rows(
        lambda first, last: add(points, shell.at, shell.along, near, far, first, last, out),
        len(points),
        _POINTS_AT_ONCE,
    )
    return out


def _span(height: float, low: float, high: float) -> tuple[float, float]:
    """From a level to the near and to the far end of a sheet, m."""
    return (low - height, high - height) if low >= height else (height - high, height - low)


@kernel
def _add(points, at, along, near, far, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds the potential over the polarisation to out[first:last]."""
    for n in range(first, last):
        px, py = points[n, 0], points[n, 1]
        ax, ay = 0.0, 0.0
        for k in range(at.shape[0]):
            x, y = px - at[k, 0], py - at[k, 1]
            square = x * x + y * y
            ratio = 1.0
            for s in range(near.size):
                a, b = near[s], far[s]
                ratio *= (b + math.sqrt(square + b * b)) / (a + math.sqrt(square + a * a))
            value = math.log(ratio)
            ax += value * along[k, 0]
            ay += value * along[k, 1]
        out[n, 0] += ax / (4.0 * math.pi)
        out[n, 1] += ay / (4.0 * math.pi)


def flux_density(points: Floats, height: float, magnets: Magnets, distance: float) -> Floats:
    """Flux density along z (n,) T at points (n, 2) m of a level: the curl of A, as `vector_potential`."""
    shell = walls(magnets.outlines, magnets.signs, distance)
    found = _summed(_add_upward, points, height, shell, magnets.sheets, np.zeros(len(points)))
    return magnets.polarisation * found


@kernel
def _add_upward(points, at, along, near, far, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds the flux density along z over the polarisation to out[first:last]."""
    for n in range(first, last):
        px, py = points[n, 0], points[n, 1]
        total = 0.0
        for k in range(at.shape[0]):
            x, y = px - at[k, 0], py - at[k, 1]
            square = x * x + y * y
            slope = 0.0
            for s in range(near.size):
                a, b = near[s], far[s]
                slope += a / math.sqrt(square + a * a) - b / math.sqrt(square + b * b)
            total += slope / square * (x * along[k, 1] - y * along[k, 0])
        out[n] += total / (4.0 * math.pi)


def scalar_potential(points: Floats, height: float, magnets: Magnets, distance: float) -> Floats:
    """Magnetic scalar potential (n,) A at points (n, 2) m of a level outside the magnets: H = -grad.

    The charges M and -M of the end faces over 4 pi r (J. D. Jackson, Classical Electrodynamics, section 5.9).
    The integral of 1 / r over a face is that of r - |z| over the angle under which its edge is seen.
    """
    shell = walls(magnets.outlines, magnets.signs, distance)
    points = np.ascontiguousarray(points, dtype=np.float64)
    ends = np.ascontiguousarray(np.array(magnets.sheets).ravel() - height)
    out = np.zeros(len(points))
    by_rows(
        lambda first, last: _add_of_ends(points, shell.at, shell.along, ends, first, last, out),
        len(points),
        _POINTS_AT_ONCE,
    )
    return magnets.polarisation / MU0 * out


@kernel
def _add_of_ends(points, at, along, ends, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds the potential over the magnetisation to out[first:last]; ends: lower and upper ones in turn."""
    for n in range(first, last):
        total = 0.0
        for k in range(at.shape[0]):
            x, y = at[k, 0] - points[n, 0], at[k, 1] - points[n, 1]
            square = x * x + y * y
            value, sign = 0.0, -1.0
            for s in range(ends.size):
                value += sign / (math.sqrt(square + ends[s] * ends[s]) + abs(ends[s]))
                sign = -sign
            total += value * (x * along[k, 1] - y * along[k, 0])
        out[n] += total / (4.0 * math.pi)
