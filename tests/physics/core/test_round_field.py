"""A round magnet's field told along radii, against the same at every point."""

import numpy as np
import pytest
from magnet_cases import magnet_flux_density

from coilgen.physics.core.magnet_force import field_aside
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.core.round_field import round_flux_density

MAGNET = Magnet(
    form="disc", size=(10e-3, 10e-3), height=5e-3, remanence=1.3, centre=(0.7e-3, -1.1e-3, 4.5e-3)
)
RANDOM = np.random.default_rng(8)


def places(count, levels):
    """About the magnet's axis and on it, m, at levels."""
    flat = 12e-3 * RANDOM.uniform(-1.0, 1.0, (count, 2)) + MAGNET.centre[:2]
    flat[0] = MAGNET.centre[:2]
    return np.column_stack([flat, RANDOM.choice(levels, count)])


def test_many_points_of_few_heights_are_told_to_a_millionth():
    """2 mm under a magnet of 10 mm, where sums over its poles are round to 1e-6 themselves."""
    points = places(4000, [-0.2e-3, 0.0, 9.5e-3])
    found, expected = field_aside(MAGNET)(points), magnet_flux_density(MAGNET, points)
    assert np.abs(found - expected).max() < 3e-6 * np.abs(expected).max()
    assert np.all(np.abs(found[0, :2]) < 1e-12)


@pytest.mark.parametrize("points", [places(40, [0.0]), places(500, RANDOM.uniform(-1e-3, 0.0, 500))])
def test_few_points_and_many_heights_are_asked_of_the_field(points):
    asked = []

    def field(at):
        asked.append(len(at))
        return np.ones((len(at), 3))

    round_flux_density(field, (0.0, 0.0), points, 2e-3)
    assert asked == [len(points)]


def test_a_magnet_whose_pole_lies_aslant_has_no_axis():
    aslant = Magnet(form="disc", size=(10e-3, 10e-3), height=5e-3, remanence=1.3, pole=(1.0, 0.0, 1.0))
    points = places(3000, [-5e-3])
    assert np.array_equal(field_aside(aslant)(points), magnet_flux_density(aslant, points))
