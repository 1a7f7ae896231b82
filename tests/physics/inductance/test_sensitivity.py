"""Inductance of equal layers of rings: the sum over all pairs, found from each kind of pair once."""

import numpy as np
import pytest

from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance
from coilgen.physics.inductance.sensitivity import ring_inductance

RADIUS = np.array([3e-3, 4e-3, 5.5e-3])
WIDTH = 0.4e-3
THICKNESS = np.array([3.5e-5, 1.75e-5, 1.75e-5, 3.5e-5])
HEIGHT = np.array([0.0, -0.2e-3, -1.3e-3, -1.5e-3])
SHARE = np.array([1.0, 0.5, 0.5, 1.0])


def test_is_the_sum_over_every_pair_of_turns() -> None:
    found = 0.0
    for i in range(len(HEIGHT)):
        for j in range(len(HEIGHT)):
            apart = np.array([[abs(HEIGHT[i] - HEIGHT[j])]])
            sections = [(WIDTH, THICKNESS[k]) for k in (i, j)]
            each = rings_mutual_inductance(RADIUS[:, None], RADIUS, apart, *sections)
            found += SHARE[i] * SHARE[j] * each.sum()
    assert ring_inductance(RADIUS, WIDTH, THICKNESS, HEIGHT, SHARE) == pytest.approx(found, rel=1e-9)


def test_grows_with_the_size_and_the_square_of_the_current() -> None:
    usual = ring_inductance(RADIUS, WIDTH, THICKNESS, HEIGHT, SHARE)
    large = ring_inductance(3 * RADIUS, 3 * WIDTH, 3 * THICKNESS, 3 * HEIGHT, SHARE)
    assert large == pytest.approx(3 * usual, rel=1e-9)
    assert ring_inductance(RADIUS, WIDTH, THICKNESS, HEIGHT, 2 * SHARE) == pytest.approx(4 * usual, rel=1e-12)


def test_wider_thicker_and_farther_layers_have_less() -> None:
    usual = ring_inductance(RADIUS, WIDTH, THICKNESS, HEIGHT, SHARE)
    assert ring_inductance(RADIUS, 1.2 * WIDTH, THICKNESS, HEIGHT, SHARE) < usual
    assert ring_inductance(RADIUS, WIDTH, 1.2 * THICKNESS, HEIGHT, SHARE) < usual
    assert ring_inductance(RADIUS, WIDTH, THICKNESS, 1.2 * HEIGHT, SHARE) < usual
