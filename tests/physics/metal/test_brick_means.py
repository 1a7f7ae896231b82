"""Mean inverse distances of a plate's bricks: against the cores' compiled ones, and a closed form."""

import numpy as np
import pytest

from coilgen.physics.core.brick_kernels import mean_inverse_distances as compiled
from coilgen.physics.metal.brick_means import mean_inverse_distances

CELLS = np.array([2, 2, 2])


@pytest.mark.parametrize("apart", [0.0, 0.7, 4.0, 9.0])
@pytest.mark.parametrize("thickness", [(0.2, 0.3), (1.0, 0.1), (8.0, 0.2)])
def test_near_and_far_as_the_cores_have_them(apart, thickness):
    found = mean_inverse_distances((1.0, 0.7), (12, 16), apart, thickness)
    assert found == pytest.approx(compiled(CELLS, 1.0, 0.7, 11, 15, apart, *thickness), rel=1e-7)


def test_the_unit_cube():
    """In closed form, by elementary integration."""
    found = mean_inverse_distances((1.0, 1.0), (1, 1), 0.0, (1.0, 1.0))
    two, three = np.sqrt(2), np.sqrt(3)
    expected = 0.4 * (1 + two - 2 * three) - 2 * np.pi / 3 + 2 * np.log((1 + two) * (2 + three))
    assert found[0, 0] == pytest.approx(expected, rel=1e-9)
