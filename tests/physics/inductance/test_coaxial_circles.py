"""Coaxial circles and rings against published values, an independent field and laws."""

import magpylib
import numpy as np
import pytest
from flat_rings import ring_self_inductance
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ellipe, ellipkm1

from coilgen.physics.inductance.coaxial_circles import (
    MU0,
    mutual_inductance,
    mutual_inductance_and_slope,
    rings_mutual_inductance,
)

lengths = st.floats(1e-3, 1.0)


def maxwell(a, b, distance):
    """J. C. Maxwell, Treatise, art. 701, with scipy's elliptic integrals."""
    beside = ((a - b) ** 2 + distance**2) / ((a + b) ** 2 + distance**2)
    k = np.sqrt(1 - beside)
    return MU0 * np.sqrt(a * b) * ((2 / k - k) * ellipkm1(beside) - 2 / k * ellipe(k * k))


# E. B. Rosa, F. W. Grover, Bulletin of the Bureau of Standards 8 (1), 1912, and the closed form.
@pytest.mark.parametrize(
    ("a", "b", "distance", "nanohenry"), [(0.25, 0.20, 0.10, 248.7874), (0.25, 0.25, 0.01, 1036.66)]
)
def test_circles(a, b, distance, nanohenry):
    assert mutual_inductance(a, b, distance) == pytest.approx(nanohenry * 1e-9, rel=1e-5, abs=0)
    assert mutual_inductance(a, b, distance) == pytest.approx(maxwell(a, b, distance), rel=1e-12)


# Factor K of a cylindrical current sheet's inductance, K mu0 N^2 pi a^2 / length, by diameter over length:
# H. Nagaoka, J. Coll. Sci. Tokyo 27, 1909, and the sheet's circles, two at a time, by quadrature.
@pytest.mark.parametrize(
    ("ratio", "value"), [(0.1, 0.958807), (0.5, 0.818136), (1.0, 0.688423), (2.0, 0.525510), (5.0, 0.319825)]
)
def test_solenoid_of_circles(ratio, value):
    summed, _ = quad(lambda z: 2 * (1 - z) * maxwell(ratio / 2, ratio / 2, z), 0, 1, epsabs=0, epsrel=1e-9)
    assert summed / (MU0 * np.pi * (ratio / 2) ** 2) == pytest.approx(value, abs=1e-6)
    length, count = 20e-3, 200
    radius, z = ratio * length / 2, length * (np.arange(count) + 0.5) / count
    section = (1e-9, length / count)
    inductance = rings_mutual_inductance(radius, radius, np.subtract.outer(z, z), section, section).sum()
    sheet = value * MU0 * count**2 * np.pi * radius**2 / length
    assert inductance == pytest.approx(sheet, rel=5e-4, abs=0)


# Annular sheets of outer radius 1 cm, computed once in high precision; the first is J. Spielrein's disc,
# Archiv fuer Elektrotechnik 3, 1915: 2/3 mu0 R (2 G - 1) with Catalan's constant G, as two circles of one
# plane share 2 mu0 a (K - E) of their radii's ratio, whose integrals over it are 2 G and G + 1/2.
@pytest.mark.parametrize(
    ("inner", "nanohenry"),
    list(
        enumerate(
            [6.96957, 8.55581, 10.51246, 12.85776, 15.64577, 18.97401, 23.01364, 28.08799, 34.91551, 45.74240]
        )
    ),
)
def test_annular_sheet(inner, nanohenry):
    inner = inner * 1e-3
    value = ring_self_inductance((10e-3 + inner) / 2, 10e-3 - inner, 1e-8, strips=100)
    assert value == pytest.approx(nanohenry * 1e-9, rel=5e-5, abs=0)


def test_strips_of_a_ring_converge_in_second_order():
    values = [ring_self_inductance(7.5e-3, 5e-3, 35e-6, strips=n) for n in (4, 8, 16, 128)]
    errors = np.abs(np.array(values[:3]) - values[3])
    assert np.log2(errors[:2] / errors[1:]) == pytest.approx(2.0, abs=0.3)


@given(lengths, lengths, lengths)
def test_reciprocity(a, b, distance):
    there = float(mutual_inductance(a, b, distance))
    assert there == pytest.approx(float(mutual_inductance(b, a, -distance)), rel=1e-12)


@pytest.mark.parametrize(("a", "b"), [(10e-3, 7e-3), (10e-3, 10e-3), (2e-3, 9e-3)])
def test_slope_is_the_derivative(a, b):
    distance, step = np.array([0.5e-3, -2e-3, 30e-3]), 1e-6
    value, slope = mutual_inductance_and_slope(a, b, distance)
    assert value == pytest.approx(mutual_inductance(a, b, distance), rel=1e-12)
    rise = mutual_inductance(a, b, distance + step) - mutual_inductance(a, b, distance - step)
    assert slope == pytest.approx(rise / (2 * step), rel=1e-5)


@given(lengths, lengths, lengths, st.floats(0.01, 100.0))
def test_scales_with_size(a, b, distance, k):
    whole = float(mutual_inductance(k * a, k * b, k * distance))
    assert whole == pytest.approx(k * float(mutual_inductance(a, b, distance)), rel=1e-9)


def test_far_circles_are_dipoles():
    value = mutual_inductance(1e-3, 2e-3, 0.3)
    assert value == pytest.approx(MU0 * np.pi * 1e-3**2 * 2e-3**2 / (2 * 0.3**3), rel=1e-3)


@pytest.mark.parametrize(
    ("a", "b", "distance"), [(10e-3, 7e-3, 3e-3), (10e-3, 10e-3, 1e-3), (4e-3, 9e-3, 0.0)]
)
def test_flux_of_an_independent_field(a, b, distance):
    # Gauss points over the smaller circle's disc, in the field of the larger.
    large, small = max(a, b), min(a, b)
    circle = magpylib.current.Circle(diameter=2 * large, current=1.0)
    node, weight = np.polynomial.legendre.leggauss(200)
    r = small * np.sin(0.25 * np.pi * (node + 1))
    dr = small * 0.25 * np.pi * np.cos(0.25 * np.pi * (node + 1)) * weight
    points = np.stack([r, np.zeros_like(r), np.full_like(r, distance)], axis=1)
    flux = np.sum(circle.getB(points)[:, 2] * 2 * np.pi * r * dr)
    assert mutual_inductance(a, b, distance) == pytest.approx(flux, rel=1e-6)
