"""Mean inverse distances of bricks and faces: quadrature, a published constant, and symmetry."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.core.brick_kernels import mean_inverse_distances

ORDERS = [
    (2, 2, 2),
    (1, 2, 2),
    (2, 1, 2),
    (2, 2, 1),
    (0, 2, 2),
    (2, 0, 2),
    (2, 2, 0),
    (1, 1, 2),
    (1, 2, 1),
    (2, 1, 1),
]


def by_quadrature(orders, h, extents, offset):
    """Gauss's rule of ten points on every extent of both carriers."""
    node, weight = np.polynomial.legendre.leggauss(10)
    node, weight = node / 2, weight / 2
    axes = []
    for order, a, b in zip(orders, (h[0], h[1], extents[0]), (h[0], h[1], extents[1]), strict=True):
        if order == 0:
            axes.append((np.zeros(1), np.ones(1)))
        elif order == 1:
            axes.append((node * (a + b if a * b == 0 else a), weight))
        else:
            axes.append(((node[:, None] * a + node * b).ravel(), np.outer(weight, weight).ravel()))
    (x, wx), (y, wy), (z, wz) = axes
    r = np.sqrt((offset[0] + x)[:, None, None] ** 2 + (offset[1] + y)[:, None] ** 2 + (offset[2] + z) ** 2)
    return np.einsum("i,j,k,ijk->", wx, wy, wz, 1 / r)


@pytest.mark.parametrize("orders", ORDERS)
def test_against_quadrature(orders):
    h, dz = (0.5, 0.7), 2.0
    extents = (0.3 if orders[2] else 0.0, 0.45 if orders[2] == 2 else 0.0)
    table = mean_inverse_distances(np.array(orders), *h, 8, 8, dz, *extents)
    for i, j in ((0, 0), (2, 1), (3, 4), (7, 7)):
        offset = [(k + 0.5 * (o == 1)) * s for k, o, s in zip((i, j), orders, h, strict=False)]
        assert table[i, j] == pytest.approx(by_quadrature(orders, h, extents, (*offset, dz)), rel=2e-7)


def test_mean_inverse_distance_in_the_unit_cube():
    """In closed form, by elementary integration."""
    table = mean_inverse_distances(np.array([2, 2, 2]), 1.0, 1.0, 1, 1, 0.0, 1.0, 1.0)
    two, three = np.sqrt(2), np.sqrt(3)
    expected = 0.4 * (1 + two - 2 * three) - 2 * np.pi / 3 + 2 * np.log((1 + two) * (2 + three))
    assert table[0, 0] == pytest.approx(expected, rel=1e-9)


def test_mean_inverse_distance_in_the_unit_square():
    """4 ln(1 + sqrt 2) - 4 (sqrt 2 - 1) / 3, by elementary integration."""
    table = mean_inverse_distances(np.array([2, 2, 0]), 1.0, 1.0, 1, 1, 0.0, 0.0, 0.0)
    expected = 4 * np.log(1 + np.sqrt(2)) - 4 * (np.sqrt(2) - 1) / 3
    assert table[0, 0] == pytest.approx(expected, rel=1e-12)


@given(st.floats(0.1, 3.0), st.floats(0.05, 2.0), st.floats(0.0, 2.0))
@settings(max_examples=20, deadline=None)
def test_a_split_cell_has_its_parts_potential(h, t, dz):
    """The mean over a box is the mean of the means over its lower and upper half."""
    orders = np.array([2, 2, 2])
    whole = mean_inverse_distances(orders, h, h, 2, 2, dz, t, 0.7)
    low = mean_inverse_distances(orders, h, h, 2, 2, abs(dz - t / 4), t / 2, 0.7)
    high = mean_inverse_distances(orders, h, h, 2, 2, dz + t / 4, t / 2, 0.7)
    assert np.allclose(whole, 0.5 * (low + high), rtol=1e-6)


def test_near_and_far_rules_meet():
    """Closed forms and moment rule agree across the distance at which one takes over from the other."""
    orders = np.array([2, 2, 2])
    table = mean_inverse_distances(orders, 1.0, 1.0, 12, 0, 0.0, 1.0, 1.0)[:, 0]
    series = 1 / np.arange(4, 13) + 0 * table[4:]
    # A cube on a cube: the first correction to 1/r is of fourth moments, -7/240 / r^5 twice.
    ratio = (table[4:] / series - 1) * np.arange(4, 13) ** 4
    assert np.ptp(ratio[2:]) < 0.02 * abs(ratio.mean()) + 3e-3
