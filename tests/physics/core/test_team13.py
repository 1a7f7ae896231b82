"""Steel plates across narrow gaps against measurement: TEAM problem 13, see `tests/team13.py`."""

from functools import cache

import numpy as np
import pytest
from graded_core import (
    applied_load,
    graded_core,
    graded_flux_density,
    magnetised_cells,
    section_flux_density,
)
from team13 import AIR, AIR_POINTS, BACK, CURVE, HEIGHTS, PLATE, SYMMETRIES, bodies, coil_field, polarisation

from coilgen.physics.base.constants import MU0

BACK_HEIGHTS = 1e-3 * np.array([0, 10, 20, 30, 40, 50])


@cache
def loaded(gap):
    """Plates `gap` (m) apart with their load of one ampere-turn."""
    core = graded_core(bodies(gap), (CURVE, CURVE), SYMMETRIES)
    return core, applied_load(core, coil_field())


@cache
def at_a_thousand(gap):
    core, load = loaded(gap)
    return magnetised_cells(core, 1000.0 * load)


def deviations(gap):
    """Of the centre plate's and the back's mean flux densities from the measured ones, relative."""
    state = at_a_thousand(gap)
    plate = np.array([section_flux_density(state, 0, 2, z) for z in HEIGHTS])
    back = np.array([section_flux_density(state, 1, 2, z) for z in BACK_HEIGHTS])
    return np.abs(plate) / PLATE - 1.0, np.abs(back) / BACK[: len(back)] - 1.0


def test_the_steels_table_meets_its_parabola():
    assert MU0 * 9423.0 + polarisation(9423.0) == pytest.approx(1.8, abs=3e-5)
    assert polarisation(2.327e-5 / (2 * 2.381e-10)) == pytest.approx(2.16, abs=2e-3)


@pytest.mark.slow
def test_plates_half_a_millimetre_apart():
    """The channel as measured; the centre plate, which feels the gap most, some per cent too high.

    That is not the cells, which err to the low side: finite elements of the scalar potential, which err to
    the high one, have 8.2 and 7.3 % too much at 1 mm with 17 and 30 thousand unknowns, where these have 4.0.
    """
    plate, back = deviations(0.5e-3)
    assert np.abs(back).max() < 0.015
    assert np.all((plate > 0.02) & (plate < 0.08))


@pytest.mark.slow
def test_a_gap_seven_hundredths_wider_explains_all_of_the_plates():
    plate, back = deviations(0.57e-3)
    assert np.abs(plate).max() < 0.025
    assert np.abs(back).max() < 0.02


@pytest.mark.slow
def test_air_beside_saturated_plates():
    """3000 ampere-turns: 5 to 13 % too much, 19 % at the last point, on these cells and on finer ones."""
    core, load = loaded(0.5e-3)
    state = magnetised_cells(core, 3000.0 * load, at_a_thousand(0.5e-3).m)
    field = 3000.0 * coil_field()(AIR_POINTS) + graded_flux_density(state, AIR_POINTS)
    off = np.linalg.norm(field, axis=1) / AIR - 1.0
    assert np.all((off > 0.0) & (off < 0.2))
