"""The sparse system that leads conjugate gradients where cores saturate."""

import numpy as np
import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.descent import conjugate_gradients
from coilgen.physics.core.magnetisation_curve import saturating_curve
from coilgen.physics.core.soft_core import core

CURVE = saturating_curve(500.0, 0.3)


def sheet(cell):
    body = Body(form="plate", size=(4e-3, 3e-3), thickness=0.2e-3, bottom=0.0)
    return core(brick_grid((body,), cell), (CURVE,))


def test_outer_faces_of_a_cell_feel_one_another_as_in_the_whole():
    """Their charges lie in that cell and on themselves alone."""
    one = sheet(2e-3)
    faces = one.near().active[one.near().faces[0]]
    outer = one.outer.flat[faces] != 0.0
    assert 3 <= outer.sum() < 6
    for face in np.flatnonzero(outer):
        alone = np.zeros(one.active.shape)
        alone[faces[face]] = 1.0
        energy = one.demagnetising(alone)[faces]
        assert one.near().energy[0, face][outer] == pytest.approx(energy[outer], rel=1e-9)


@pytest.mark.parametrize("field", [1e3, 1e6])
def test_the_tangent_is_solved_to_its_accuracy_however_it_is_led(field):
    """A sheet in its plane's and a slanting field, from far below to far above saturation."""
    one = sheet(0.25e-3)
    rng = np.random.default_rng(1)
    m = field * one.active * (1.0 + 0.1 * rng.normal(size=one.active.shape))
    right = 1e-3 * field * one.own * one.active * rng.normal(size=one.active.shape)
    solved = conjugate_gradients(one.packed, one.packed.cells.tangent(one.pack(m)), one.pack(right), 1e-8)
    found = one.spread(solved)
    step = 1e-2
    places = (m + sign * step * found for sign in (1, -1))
    ahead, behind = (one.cells.tangent(place).secant_of(place) for place in places)
    told = (ahead - behind) / (2 * step) + one.demagnetising(found)
    assert np.abs(told - right).max() < 1e-3 * np.abs(right).max()


@pytest.mark.parametrize("field", [0.0, 1e4, 1e6])
def test_the_tangent_is_solved_by_a_state_near_by_and_by_one_far_off(field):
    """The latter only takes longer: led by it, the solution is the same."""
    one = sheet(0.25e-3)
    rng = np.random.default_rng(2)
    m, right = one.pack(1e4 * one.active), one.pack(one.own * one.active * rng.normal(size=one.active.shape))
    packed = one.packed
    tangent, known = packed.cells.tangent(m), packed.whole(packed.cells.tangent(m * field / 1e4))
    alone = conjugate_gradients(packed, tangent, right, 1e-8)
    led = conjugate_gradients(packed, tangent, right, 1e-8, known=known)
    assert np.abs(led - alone).max() < 1e-6 * np.abs(alone).max()


def test_a_system_factored_whole_is_solved_in_a_step():
    one = sheet(0.25e-3)
    packed, m = one.packed, one.pack(1e4 * one.active)
    right = np.random.default_rng(3).normal(size=m.shape)
    tangent = packed.cells.tangent(m)
    found = packed.whole(tangent)(right)
    assert np.abs(tangent.of(found) + packed.demagnetising(found) - right).max() < 1e-3 * np.abs(right).max()


def test_energy_of_near_charges_is_never_negative():
    energies = np.linalg.eigvalsh(sheet(0.5e-3).near().energy)
    assert energies.min() > -1e-12 * energies.max()
