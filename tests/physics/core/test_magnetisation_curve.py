"""Magnetisation curves: the three views of one curve agree, and tables come back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.magnetisation_curve import curve_from_table, saturating_curve, straight_curve

CURVES = {
    "straight": straight_curve(2000.0),
    "rounded": saturating_curve(800.0, 1.9),
    "table": curve_from_table(
        np.array([50.0, 100, 200, 500, 2e3, 1e4, 5e4]), np.array([0.2, 0.6, 1.0, 1.3, 1.55, 1.75, 2.0])
    ),
}


@pytest.mark.parametrize("name", CURVES)
@given(st.floats(0.01, 1.2))
def test_slope_and_energy_are_derivative_and_integral(name, share):
    curve = CURVES[name]
    m = np.array([share * curve.magnetisation[-1]])
    h = 1e-6 * curve.magnetisation[-1]
    slope = (curve.applied(m + h) - curve.applied(m - h)) / (2 * h)
    field = (curve.energy(m + h) - curve.energy(m - h)) / (2 * h)
    around = curve.slope(m + np.array([-h, h]))
    assert 0.99 * around.min() <= slope[0] <= 1.01 * around.max()
    assert curve.applied(m) == pytest.approx(field, rel=1e-3)
    assert curve.reluctivity(m) * m == pytest.approx(curve.applied(m), rel=1e-9)


@pytest.mark.parametrize("name", CURVES)
def test_field_rises_with_magnetisation(name):
    curve = CURVES[name]
    m = np.linspace(0, 1.5 * curve.magnetisation[-1], 3000)
    assert np.all(np.diff(curve.applied(m)) > 0)
    assert np.all(curve.slope(m) >= 0)


def test_table_passes_through_its_points():
    curve = CURVES["table"]
    m = 1.3 / MU0 - 500.0
    assert curve.applied(np.array([m]))[0] == pytest.approx(500.0)
    assert curve.magnetisation[0] == 0.0


def test_first_permeability_and_saturation_of_the_rounded_curve():
    curve = saturating_curve(800.0, 1.9)
    assert 1 / curve.reluctivity(np.array([1.0]))[0] == pytest.approx(799.0, rel=1e-3)
    assert MU0 * curve.magnetisation[-1] == pytest.approx(1.9, rel=1e-3)


def test_saturated_from_where_the_curve_is_flat():
    curve = saturating_curve(800.0, 1.9)
    flags = curve.saturated(np.array([0.1, 0.5, 0.99]) * 1.9 / MU0)
    assert list(flags) == [False, False, True]
    assert not CURVES["straight"].saturated(np.array([1e9]))[0]


def test_a_falling_table_is_refused():
    with pytest.raises(ValueError, match="rise"):
        curve_from_table(np.array([100.0, 200.0]), np.array([1.0, 0.9]))


def test_permeability_in_weak_fields():
    assert straight_curve(150.0).permeability == pytest.approx(150.0)
    assert saturating_curve(400.0, 2.0).permeability == pytest.approx(400.0, rel=1e-3)
