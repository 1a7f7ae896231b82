"""Bars of rectangular section and thin filaments in closed form, independent of the package's strips."""

import math

import numpy as np


def parallel_filaments(length, start, end, distance):
    """Mutual inductance of two parallel filaments, H, all arguments in m, broadcast.

    The first runs from 0 to length, the second, `distance` away, from start to end along it; end < start is a
    current that runs back. Neumann's integral (F. W. Grover, Inductance Calculations, 1946, chapter 6).

    >>> round(float(parallel_filaments(1.0, 0.0, 1.0, 0.01)) * 1e9, 4)
    861.6585
    """

    def twice_integrated(x):
        return x * np.arcsinh(x / distance) - np.hypot(x, distance)

    begun = twice_integrated(length - start) - twice_integrated(-start)
    return 1e-7 * (begun - twice_integrated(length - end) + twice_integrated(-end))


def bars_inductance(
    across: float,
    above: float,
    along: float,
    section: tuple[float, float],
    lengths: tuple[float, float],
) -> float:
    """Mutual inductance of two parallel bars of one section with uniform current, H; all in m.

    across, above, along: from a corner of the first to that of the second; all 0 for a bar's self
    inductance. section: (width, thickness). The six-fold integral in closed form (C. Hoer, C. Love, J. Res.
    NBS 69C, 1965), which loses digits as the square of length over section. Values of it in 40 digits, nH:

    >>> strip = (1e-3, 0.035e-3)
    >>> round(bars_inductance(0, 0, 0, strip, (50e-3, 50e-3)) * 1e9, 5)
    50.76295
    >>> round(bars_inductance(0, 0, 0, (0.2e-3, 0.035e-3), (10e-3, 10e-3)) * 1e9, 5)
    9.89672
    >>> round(bars_inductance(2e-3, 0, 0, strip, (50e-3, 50e-3)) * 1e9, 5)
    29.73559
    >>> round(bars_inductance(0, 1.6e-3, 0, strip, (50e-3, 50e-3)) * 1e9, 5)
    31.37622
    """
    width, thickness = section
    xs = (across - width, across, across + width, across)
    ys = (above - thickness, above, above + thickness, above)
    zs = (along - lengths[0], along - lengths[0] + lengths[1], along + lengths[1], along)
    total = 0.0
    for i, x in enumerate(xs):
        for j, y in enumerate(ys):
            for k, z in enumerate(zs):
                sign = (-1) ** (i + j + k)
                total += sign * _sixth_integral(x, y, z)
    return 1e-7 * total / (width * thickness) ** 2


def _sixth_integral(x: float, y: float, z: float) -> float:
    r = math.sqrt(x * x + y * y + z * z)
    total = (x**4 + y**4 + z**4 - 3 * (x * x * y * y + y * y * z * z + z * z * x * x)) * r / 60
    for a, b, c in ((x, y, z), (y, z, x), (z, x, y)):
        across = math.hypot(b, c)
        if across > 0.0:
            total += (b * b * c * c / 4 - b**4 / 24 - c**4 / 24) * a * math.asinh(a / across)
        if c * r != 0.0:
            total -= a * b * c**3 / 6 * math.atan(a * b / (c * r))
    return total
