"""Mean inverse distances between the bricks of a plate's layers; numpy only, as a plate needs few of them."""

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats

Mask = NDArray[np.bool_]
_FAR = 5.0
"""Sizes of a brick, beyond which three points along each axis stand for it."""
_TINY = 1e-60


def mean_inverse_distances(
    cell: tuple[float, float], count: tuple[int, int], apart: float, thickness: tuple[float, float]
) -> Floats:
    """Mean of 1/r between two bricks of equal bases, (nx, ny) 1/m, whose middles stand whole cells apart.

    cell: m, of their bases. apart: m, along z, between their middles; thickness: m, of both. Near ones by
    differences of the closed integral, others by the three points along each axis that have the second and
    fourth moments of the offsets between the bricks.
    """
    x, y = (size * np.arange(float(n)) for size, n in zip(cell, count, strict=True))
    far = x[:, None] ** 2 + y**2 + apart**2 > (_FAR * max(*cell, *thickness)) ** 2
    out = _by_points(cell, thickness, x[:, None], y, apart, far)
    wide, deep = int((~far[:, 0]).sum()), int((~far[0]).sum())
    if wide and deep:
        near = ~far[:wide, :deep]
        out[:wide, :deep][near] = _closed(cell, (wide, deep), apart, thickness)[near]
    return out


def _by_points(
    cell: tuple[float, float], thickness: tuple[float, float], x: Floats, y: Floats, z: float, far: Mask
) -> Floats:
    (x_at, x_share), (y_at, y_share) = (_points(size, size) for size in cell)
    z_at, z_share = _points(*thickness)
    out = np.zeros(far.shape)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            flat = (x + i * x_at) ** 2 + (y + j * y_at) ** 2
            for k in (-1, 0, 1):
                square = flat + (z + k * z_at) ** 2
                out += (
                    x_share[i] * y_share[j] * z_share[k] / np.sqrt(square, where=far, out=np.ones_like(flat))
                )
    return out


def _points(a: float, b: float) -> tuple[float, tuple[float, float, float]]:
    """How far off the outer points are, m, and the shares of the middle, upper and lower one.

    They have the second and fourth moments of the sum of two offsets spread evenly over a and b.
    """
    second = (a * a + b * b) / 12.0
    fourth = (a**4 + b**4) / 80.0 + a * a * b * b / 24.0
    share = 0.5 * second * second / fourth
    return float(np.sqrt(fourth / second)), (1.0 - 2.0 * share, share, share)


def _closed(
    cell: tuple[float, float], count: tuple[int, int], apart: float, thickness: tuple[float, float]
) -> Floats:
    """Second differences along each axis of 1/r integrated twice along each, (nx, ny)."""
    (hx, hy), (a, b) = cell, thickness
    x, y = (size * np.arange(-1.0, n + 1) for size, n in zip(cell, count, strict=True))
    along_z = np.zeros((len(x), len(y)))
    for one, other in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        along_z += one * other * _integral(x[:, None], y, apart + 0.5 * (one * a + other * b))
    along_y = along_z[:, 2:] - 2.0 * along_z[:, 1:-1] + along_z[:, :-2]
    whole = along_y[2:] - 2.0 * along_y[1:-1] + along_y[:-2]
    return np.asarray(whole / (hx * hx * hy * hy * a * b))


def _integral(x: Floats, y: Floats, z: float) -> Floats:
    """1/r integrated twice along x, y and z.

    C. Hoer and C. Love, Journal of Research of the NBS 69C, 1965; elementary integrals
    in the tests agree.
    """
    x2, y2, z2 = x * x, y * y, z * z
    r = np.sqrt(x2 + y2 + z2)
    logs = (
        (y2 * z2 / 4 - (y2 * y2 + z2 * z2) / 24) * x * np.arcsinh(x / np.sqrt(y2 + z2 + _TINY))
        + (z2 * x2 / 4 - (z2 * z2 + x2 * x2) / 24) * y * np.arcsinh(y / np.sqrt(z2 + x2 + _TINY))
        + (x2 * y2 / 4 - (x2 * x2 + y2 * y2) / 24) * z * np.arcsinh(z / np.sqrt(x2 + y2 + _TINY))
    )
    angles = z2 * _angle(x * y, z * r) + x2 * _angle(y * z, x * r) + y2 * _angle(z * x, y * r)
    rest = (x2 * x2 + y2 * y2 + z2 * z2 - 3 * (x2 * y2 + y2 * z2 + z2 * x2)) * r / 60
    return np.asarray(logs - x * y * z / 6 * angles + rest)


def _angle(p: Floats, s: Floats) -> Floats:
    """atan(p / s), odd in s; 0 where s = 0, as a factor s stands before it there."""
    return np.arctan(np.divide(p, s, where=s != 0.0, out=np.zeros(np.broadcast_shapes(p.shape, s.shape))))
