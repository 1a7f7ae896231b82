"""A round plate over a plane against published forms."""

import math

import numpy as np
import pytest

from coilgen.physics.circuit.disc_capacitor import disc_capacitance
from coilgen.physics.circuit.layered_dielectric import VACUUM_PERMITTIVITY


@pytest.mark.parametrize("ratio", [0.02, 0.05, 0.1])
@pytest.mark.parametrize("relative", [1.0, 2.32, 4.4])
def test_disc_on_a_slab_agrees_with_chew_and_kong(ratio, relative):
    """W. C. Chew, J. A. Kong, IEEE Trans. Microwave Theory Tech. 28, 98 (1980); form from memory."""
    beside = math.log(1 / (2 * ratio)) + 1.41 * relative + 1.77 + ratio * (0.268 * relative + 1.65)
    published = (
        VACUUM_PERMITTIVITY * relative * math.pi / ratio * (1 + 2 * ratio / (math.pi * relative) * beside)
    )
    assert disc_capacitance(1.0, ratio, relative) == pytest.approx(published, rel=4e-3)


def test_two_discs_agree_with_kirchhoff():
    """G. Kirchhoff 1877, near discs at twice the distance, in free space; Love's equation has the same."""
    distance = 0.02
    pair = VACUUM_PERMITTIVITY * (math.pi / distance + math.log(16 * math.pi / distance) - 1)
    assert two_discs(distance) == pytest.approx(pair, rel=1e-3)
    assert disc_capacitance(1.0, distance / 2, 1.0) == pytest.approx(2 * pair, rel=2e-3)


def two_discs(distance):
    """Capacitance of two discs of 1 m radius, F: f(x) - k/pi int f(t)/(k² + (x - t)²) dt = 1 over -1 to 1
    for a distance k, 2 eps0 int f (E. R. Love, Quarterly Journal of Mechanics 2, 1949).
    """
    at, weight = np.polynomial.legendre.leggauss(500)
    kernel = distance / math.pi / (distance**2 + np.subtract.outer(at, at) ** 2) * weight
    return 2 * VACUUM_PERMITTIVITY * weight @ np.linalg.solve(np.eye(len(at)) - kernel, np.ones(len(at)))


def test_a_sheet_above_of_the_slabs_own_material_is_like_a_thick_slab_of_it():
    """More dielectric adds, a sheet of free space adds nothing, and size scales."""
    bare = disc_capacitance(5e-3, 0.2e-3, 4.4)
    assert disc_capacitance(5e-3, 0.2e-3, 4.4, [(0.1e-3, 1.0)]) == pytest.approx(bare, rel=1e-4)
    covered = disc_capacitance(5e-3, 0.2e-3, 4.4, [(0.1e-3, 4.4)])
    assert bare < covered < disc_capacitance(5e-3, 0.2e-3, 4.4, [(2e-3, 4.4)])
    assert disc_capacitance(1e-2, 0.4e-3, 4.4, [(0.2e-3, 4.4)]) == pytest.approx(2 * covered, rel=1e-6)
