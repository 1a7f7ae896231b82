"""Geometric mean distances of rectangular cross-sections: the ln is the mean of ln r over pairs of points."""

import numpy as np

from coilgen.physics.base.conductor import Floats

FAR = 3.0
"""Centres beyond this many (width + thickness) use the series in moments, within 1e-5 of exact."""
_ALIKE = 1e-15
"""m, distances that differ by less differ by rounding."""


def geometric_mean_distance(
    across: Floats | float,
    above: Floats | float,
    width_a: Floats | float,
    thickness_a: Floats | float,
    width_b: Floats | float,
    thickness_b: Floats | float,
) -> Floats:
    """Geometric mean distance of two level rectangles, m; across, above: m between their centres.

    Exact: the fourth-order integral of ln r at the sixteen corner differences; beyond FAR sizes a series in
    the sections' moments. All arguments broadcast. Two strips side by side at three widths: J. C. Maxwell's
    integral, ln D = 1.089139 in widths. A square from itself: T. R. Lyle, Phil. Trans. R. Soc. A 213, 1914,
    Table 1, D = 0.223525 of width and thickness together.

    >>> round(float(np.log(geometric_mean_distance(3.0, 0.0, 1.0, 1e-9, 1.0, 1e-9))), 4)
    1.0891
    >>> round(float(geometric_mean_distance(0.0, 0.0, 0.5, 0.5, 0.5, 0.5)), 6)
    0.223525
    """
    arrays = [np.asarray(v, dtype=float) for v in (across, above, width_a, thickness_a, width_b, thickness_b)]
    size = np.maximum(arrays[2] + arrays[3], arrays[4] + arrays[5])
    square = np.square(arrays[0]) + np.square(arrays[1])
    near = np.asarray(square <= np.square(FAR * size))
    if not near.any():
        return _far_mean_distance(square, *arrays)
    distance = _far_mean_distance(np.where(near, np.square(size), square), *arrays)
    distance[near] = np.exp(_near_mean_logs(np.array([np.broadcast_to(v, near.shape)[near] for v in arrays])))
    return distance


def _near_mean_logs(columns: Floats) -> Floats:
    """Of pairs as columns (6, n) of the arguments above; turns of one pitch stand few distances apart."""
    columns[0] = np.abs(columns[0])
    if not (columns[1:] == columns[1:, :1]).all():
        return _near_mean_log(*columns)
    _, first, kind = np.unique(np.rint(columns[0] / _ALIKE), return_index=True, return_inverse=True)
    return _near_mean_log(*columns[:, first])[kind]


def _far_mean_distance(
    square: Floats,
    across: Floats,
    above: Floats,
    width_a: Floats,
    thickness_a: Floats,
    width_b: Floats,
    thickness_b: Floats,
) -> Floats:
    """exp of the mean of ln|zeta + delta|, zeta = across + i above, by the moments of the difference delta.

    square: of zeta's length. Re 1/zeta^2 = (2 across^2 / square - 1) / square, and so on.
    """
    inverse = np.reciprocal(square)
    real = 2.0 * across * across * inverse
    real -= 1.0
    real *= inverse
    u2, u4 = _difference_moments(width_a, width_b)
    v2, v4 = _difference_moments(thickness_a, thickness_b)
    second, fourth = 0.5 * (u2 - v2), 0.25 * (u4 - 6.0 * u2 * v2 + v4)
    inverse *= inverse
    log = fourth * (inverse - 2.0 * real * real)
    log -= second * real
    distance = np.sqrt(square)
    distance *= np.exp(log)
    return np.asarray(distance)


def _difference_moments(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Second and fourth moment of the difference of two numbers spread evenly over lengths a and b."""
    a2, b2 = a * a, b * b
    return (a2 + b2) / 12.0, (a2 * a2 + b2 * b2) / 80.0 + a2 * b2 / 24.0


def _near_mean_log(
    across: Floats, above: Floats, width_a: Floats, thickness_a: Floats, width_b: Floats, thickness_b: Floats
) -> Floats:
    """Fourth-order integral of ln r, differenced over the corners; no section is thinner than a floor."""
    floor = 5e-5 * np.maximum(width_a, width_b)
    thickness_a, thickness_b = np.maximum(thickness_a, floor), np.maximum(thickness_b, floor)
    unit = np.maximum(width_a + thickness_a, width_b + thickness_b)
    x, x_of = _corner_differences(across, width_a, width_b)
    z, z_of = _corner_differences(above, thickness_a, thickness_b)
    integral = [[_fourth_integral(vx / unit, vz / unit) for vz in z] for vx in x]
    sign = (1.0, -1.0, -1.0, 1.0)
    total = sum(sx * sz * integral[i][k] for sx, i in zip(sign, x_of, strict=True)
                for sz, k in zip(sign, z_of, strict=True))  # fmt: skip
    area = width_a * width_b * thickness_a * thickness_b / unit**4
    return np.asarray(total / area + np.log(unit) - 25.0 / 12.0)


def _corner_differences(offset: Floats, a: Floats, b: Floats) -> tuple[list[Floats], tuple[int, ...]]:
    """Differences, and which of them stand at the four corners: the inner two are one where a = b."""
    wide, narrow = 0.5 * (a + b), 0.5 * (a - b)
    if not np.any(narrow):
        return [offset + wide, offset, offset - wide], (0, 1, 1, 2)
    return [offset + wide, offset + narrow, offset - narrow, offset - wide], (0, 1, 2, 3)


def _fourth_integral(x: Floats, z: Floats) -> Floats:
    """ln(x^2 + z^2)/2 integrated twice in x and twice in z, less its term -25/48 x^2 z^2; even in both."""
    x2, z2 = x * x, z * z
    square = np.maximum(x2 + z2, 1e-300)
    angle = np.arctan2(np.abs(z), np.abs(x))
    polynomial = 6.0 * x2 * z2 - x2 * x2 - z2 * z2
    turns = np.abs(x * z) * (x2 * angle + z2 * (0.5 * np.pi - angle))
    return np.asarray(polynomial * np.log(square) / 48.0 + turns / 6.0)
