"""Capacitance of a round plate over a wide one, through flat dielectrics, its edge's field included."""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.circuit.layered_dielectric import VACUUM_PERMITTIVITY

Floats = NDArray[np.float64]

_TERMS_PER_RATIO = 1.0
_LEAST_TERMS, _MOST_TERMS = 10, 30
_STEP = 0.1
"""Of wavenumber times radius."""
_DECAYED = 18.0
"""Wavenumber times twice the thinnest sheet at which the spectrum is that of two half spaces."""


def disc_capacitance(
    radius: float, thickness: float, permittivity: float, above: Sequence[tuple[float, float]] = ()
) -> float:
    """Capacitance of a thin disc over a plane, F.

    radius m; thickness m and relative permittivity of the dielectric between; above: thickness and
    permittivity of sheets over the disc, the nearest first, free space beyond. The plane is taken as endless:
    three thicknesses beyond the disc's edge are enough for a part in a thousand.

    Galerkin's method on the charge, as a sum of P_2n(sqrt(1 - r^2/a^2)) / sqrt(1 - r^2/a^2), whose Hankel
    transforms are the spherical Bessel functions j_2n(k a) (I. N. Sneddon, Mixed Boundary Value Problems in
    Potential Theory, 1966), and on the spectral admittance of the sheets (transmission-line form of Laplace's
    equation). Between equal media far apart it is that of a free disc, 8 e0 a:

    >>> round(disc_capacitance(1.0, 1e3, 1.0) / (8 * VACUUM_PERMITTIVITY), 2)
    1.0
    """
    terms = _up(np.clip(_TERMS_PER_RATIO * radius / thickness, _LEAST_TERMS, _MOST_TERMS), 10)
    sheets = [thickness, *(each for each, _ in above)]
    waves = _waves(terms, _up(radius * _DECAYED / (2 * min(sheets)) / _STEP, 1000))
    wavenumber = _arguments(waves.shape[1]) / radius
    ends = permittivity + (above[0][1] if above else 1.0)
    rest = 1 / _admittance(wavenumber, thickness, permittivity, above) - 1 / ends
    matrix = (waves * (rest * _STEP)) @ waves.T
    matrix += np.diag(np.pi / 2 / (4 * np.arange(terms) + 1) / ends)
    unit = np.zeros(terms)
    unit[0] = 1.0
    return float(2 * np.pi * VACUUM_PERMITTIVITY * radius * np.linalg.solve(matrix, unit)[0])


def _admittance(
    wavenumber: Floats, thickness: float, permittivity: float, above: Sequence[tuple[float, float]]
) -> Floats:
    """Charge over potential and wavenumber, in units of e0, of both sides of the disc's plane (n,)."""
    upward = np.ones_like(wavenumber)
    for sheet, relative in reversed(above):
        bend = np.tanh(wavenumber * sheet)
        upward = relative * (upward + relative * bend) / (relative + upward * bend)
    both: Floats = upward + permittivity / np.tanh(wavenumber * thickness)
    return both


def _up(count: float, step: int) -> int:
    """So many or more, in steps, so that neighbouring designs share their functions."""
    return step * math.ceil(count / step)


def _arguments(count: int) -> Floats:
    return _STEP * np.arange(0.5, count, dtype=np.float64)


@lru_cache(maxsize=4)
def _waves(terms: int, count: int) -> Floats:
    """Spherical Bessel functions of even orders at steps of their argument (terms, count)."""
    from scipy.special import spherical_jn

    found: Floats = spherical_jn(2 * np.arange(terms)[:, None], _arguments(count)[None, :])
    return found
