"""Straight filaments in closed form against quadrature and the laws of Neumann's integral."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from straight_conductors import parallel_filaments

from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.inductance.straight_filaments import skew_filaments

coordinates = st.floats(-1.0, 1.0)
points = st.builds(complex, coordinates, coordinates)


def filament(start, end):
    return tuple(np.array([v], dtype=complex) for v in (start, end, (end - start) / abs(end - start)))


def mutual(a, b, height=0.0):
    return float(skew_filaments(filament(*a), filament(*b), np.array([height]))[0][0])


def by_quadrature(a, b, height, count=60):
    node, weight = np.polynomial.legendre.leggauss(count)
    p, q = (s + (e - s) * 0.5 * (node + 1) for s, e in (a, b))
    gap = np.sqrt(np.abs(p[:, None] - q) ** 2 + height**2)
    da, db = a[1] - a[0], b[1] - b[0]
    return MU0_OVER_4PI * (da.conjugate() * db).real / 4 * float(weight @ (1 / gap) @ weight)


def slanted(a, b):
    da, db = a[1] - a[0], b[1] - b[0]
    return abs(da) > 0.1 and abs(db) > 0.1 and abs((da.conjugate() * db).imag) > 0.01 * abs(da) * abs(db)


@given(points, points, points, points, st.floats(0.3, 2.0))
def test_skew_against_quadrature(p, q, r, s, height):
    assume(slanted((p, q), (r, s)))
    expected = by_quadrature((p, q), (r, s), height)
    assert mutual((p, q), (r, s), height) == pytest.approx(expected, rel=1e-6, abs=1e-12)


@given(points, points, points, points, st.sampled_from([0.0, 0.05, 0.7]))
def test_reciprocity_and_reversal(p, q, r, s, height):
    assume(slanted((p, q), (r, s)))
    value = mutual((p, q), (r, s), height)
    assert mutual((r, s), (p, q), -height) == pytest.approx(value, rel=1e-7, abs=1e-14)
    assert mutual((q, p), (r, s), height) == pytest.approx(-value, rel=1e-7, abs=1e-14)


@given(points, points, points, points, st.floats(0.1, 0.9), st.sampled_from([0.0, 0.3]))
def test_parts_add_up(p, q, r, s, share, height):
    middle = p + share * (q - p)
    assume(slanted((p, q), (r, s)) and abs(middle - p) > 0.02 and abs(q - middle) > 0.02)
    parts = mutual((p, middle), (r, s), height) + mutual((middle, q), (r, s), height)
    assert parts == pytest.approx(mutual((p, q), (r, s), height), rel=1e-6, abs=1e-13)


@pytest.mark.parametrize("height", [0.0, 0.1])
def test_nearly_parallel_tends_to_parallel(height):
    tilt = 1e-5
    near = mutual((0j, 1 + 0j), (0.2 + 0.1j, 1.2 + 0.1j + 1j * tilt), height)
    level = parallel_filaments(1.0, 0.2, 1.2, np.hypot(0.1, height))
    assert near == pytest.approx(float(level), rel=1e-4)


def test_filaments_that_meet():
    # Equal sides of a corner: the quadrature leaves out the corner and closes in on the closed form.
    value = mutual((-1 + 0j, 0j), (0j, np.exp(1j * np.pi / 3)))
    assert value == pytest.approx(
        by_quadrature((-1 + 0j, 0j), (0j, np.exp(1j * np.pi / 3)), 0.0, 300), rel=1e-4
    )


def test_right_angles_share_nothing():
    assert mutual((0j, 1 + 0j), (1 + 0j, 1 + 1j)) == pytest.approx(0.0, abs=1e-20)


@given(st.floats(0.1, 2.0), st.floats(-2.0, 2.0), st.floats(0.1, 2.0), st.floats(0.2, 2.0))
def test_parallel_against_quadrature(length, start, other, distance):
    a, b = (0j, length + 0j), (start + 1j * distance, start + other + 1j * distance)
    value = float(parallel_filaments(length, start, start + other, distance))
    assert value == pytest.approx(by_quadrature(a, b, 0.0), rel=1e-6)
    assert parallel_filaments(length, start + other, start, distance) == pytest.approx(-value)


def test_campbells_triangle_of_wire():
    # Equilateral triangle of side 1 from filaments: the sum of the skew pairs is a closed form itself,
    # each pair sharing -mu0/4pi ln 3 (F. W. Grover 1946, chapter 7: equal filaments that meet at 60 degrees).
    side = [np.exp(2j * np.pi * k / 3) / np.sqrt(3) for k in range(4)]
    pair = mutual((side[0], side[1]), (side[1], side[2]))
    assert pair == pytest.approx(-MU0_OVER_4PI * np.log(3.0), rel=1e-9)
