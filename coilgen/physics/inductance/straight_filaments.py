"""Mutual inductance of straight filaments in parallel planes, in closed form."""

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI

_TINY = 1e-30

Corners = tuple[Floats, Floats, Floats, Floats]


def end_function(x: Floats, distance: Floats) -> Floats:
    """Second integral of 1/sqrt(x^2 + d^2) in x: x asinh(x/d) - sqrt(x^2 + d^2), m; d > 0.

    The four differences of two parallel filaments' ends, put into it with alternating sign, give their mutual
    inductance over mu0/4pi (F. W. Grover, Inductance Calculations, 1946, chapter 6).
    """
    return np.asarray(x * np.arcsinh(x / distance) - np.sqrt(x * x + distance * distance))


Points = NDArray[np.complex128]
Filament = tuple[Points, Points, Points]
"""Start, end (n,) m and unit direction (n,) of straight filaments, seen from above, x + iy."""


def skew_filaments(a: Filament, b: Filament, height: Floats) -> tuple[Floats, Corners]:
    """Mutual inductance of straight filaments in parallel planes, (n,) H, and their ends' distances, m.

    a, b: start and end, (n,) complex m, and unit direction, (n,) complex, not parallel to each other.
    height: (n,) m, between the planes; 0 is allowed, and so are filaments that meet. Neumann's integral in
    closed form (G. A. Campbell, Phys. Rev. 5, 1915; F. W. Grover, 1946, chapter 7). The distances are
    start-start, start-end, end-start, end-end.

    Two unit filaments, the second turning off by 60 degrees where the first ends:

    >>> first, turned = np.array([-1.0, 0.0, 1.0]) + 0j, np.exp(1j * np.pi / 3) * np.array([0.0, 1.0, 1.0])
    >>> pair = [tuple(v[:, None]) for v in (first, turned)]
    >>> round(float(skew_filaments(*pair, np.zeros(1))[0][0]) * 1e9, 4)
    76.7652
    """
    turn = a[2].conj() * b[2]
    cosine, sine = turn.real, turn.imag
    step = (b[0] - a[0]).conj()
    s1, t1 = (step * b[2]).imag / -sine, (step * a[2]).imag / -sine
    length_a, length_b = (np.asarray(((f[1] - f[0]) * f[2].conj()).real) for f in (a, b))
    s2, t2 = s1 + length_a, t1 + length_b
    r11, r12, r21, r22 = (_distance(p - q, height) for p in a[:2] for q in b[:2])
    reach = (
        s2 * _log_ratio(r21 + r22, length_b)
        - s1 * _log_ratio(r11 + r12, length_b)
        + t2 * _log_ratio(r12 + r22, length_a)
        - t1 * _log_ratio(r11 + r21, length_a)
    )
    if np.any(height):
        ends = ((s1, t1), (s1, t2), (s2, t1), (s2, t2))
        reach -= _solid_angle(cosine, np.abs(sine), height, ends, (r11, r12, r21, r22))
    return np.asarray(MU0_OVER_4PI * cosine * reach), (r11, r12, r21, r22)


def _log_ratio(two_sides: Floats, base: Floats) -> Floats:
    """2 atanh(base / two_sides) of a triangle; finite where the triangle is flat (its factor is then 0)."""
    return np.asarray(np.log(np.maximum(two_sides + base, _TINY) / np.maximum(two_sides - base, _TINY)))


def _solid_angle(
    cosine: Floats, sine: Floats, height: Floats, ends: tuple[tuple[Floats, Floats], ...], distances: Corners
) -> Floats:
    """Campbell's angle times height over the sine, m."""
    rise = np.abs(height)
    first = rise * rise * cosine
    scale = np.maximum(rise * sine, _TINY)
    a11, a12, a21, a22 = (
        np.arctan((first + s * t * sine * sine) / (scale * np.maximum(r, _TINY)))
        for (s, t), r in zip(ends, distances, strict=True)
    )
    return np.asarray(rise / sine * (a22 - a21 - a12 + a11))


def _distance(step: Points, height: Floats) -> Floats:
    return np.asarray(np.sqrt(step.real**2 + step.imag**2 + height**2))
