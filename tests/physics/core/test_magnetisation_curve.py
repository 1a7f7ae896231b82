"""Magnetisation curves: the three views of one curve agree, and tables come back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.catalogue import rows
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.magnetisation_curve import (
    curve_from_table,
    saturating_curve,
    straight_curve,
    stretched_curve,
)

STEEL = rows("magnetisation_curves")["steel"]
TABLE = (STEEL["field_strength"], STEEL["flux_density"])
CURVES = {
    "steel": stretched_curve(*TABLE, 1500.0, 2.15),
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
    h = 1e-8 * curve.magnetisation[-1]
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
    assert list(CURVES["steel"].saturated(np.array([0.0, 0.001, 0.5, 1.9]) / MU0)) == [False] * 3 + [True]


def test_a_falling_table_is_refused():
    with pytest.raises(ValueError, match="rise"):
        curve_from_table(np.array([100.0, 200.0]), np.array([1.0, 0.9]))


def test_permeability_in_weak_fields():
    assert straight_curve(150.0).permeability == pytest.approx(150.0)
    assert saturating_curve(400.0, 2.0).permeability == pytest.approx(400.0, rel=1e-3)


def test_a_table_goes_on_as_air_does():
    """Its last polarisation is the greatest, but for a thousandth that keeps H finite."""
    for table in (CURVES["table"], curve_from_table([0.0, 100.0], [0.0, 1.0])):
        last = table.magnetisation[-1]
        further = table.applied(np.array([last, 1.001 * last]))
        assert np.diff(further)[0] == pytest.approx(1e3 * 1e-3 * last)
        assert table.saturated(np.array([1.001 * last]))[0]
        assert not table.straight


def flux_density(curve, field):
    """B (T) at fields (A/m): the curve H(M) read the other way."""
    m = np.linspace(0.0, curve.magnetisation[-1], 200_001)
    return MU0 * (field + np.interp(field, curve.applied(m), m))


def test_steel_has_the_knee_that_was_measured():
    """Nakata, Takahashi, Fujiwara 1992 and 1995: permeability 295 at first, 1569 at most."""
    curve = stretched_curve(*TABLE, 295.0, 2.13)
    field = np.array(STEEL["field_strength"][1:])
    assert flux_density(curve, field) == pytest.approx(np.array(STEEL["flux_density"][1:]), rel=4e-3)
    assert curve.permeability == pytest.approx(295.0, rel=1e-6)
    field = np.geomspace(1.0, 1e4, 2000)
    assert (flux_density(curve, field) / (MU0 * field)).max() == pytest.approx(1569.0, rel=1e-2)


@given(st.floats(10.0, 2e4), st.floats(0.5, 2.4))
def test_a_stretched_curve_has_what_it_was_stretched_to(permeability, saturation):
    curve, like = stretched_curve(*TABLE, permeability, saturation), curve_from_table(*TABLE)
    assert curve.permeability == pytest.approx(permeability, rel=1e-6)
    assert MU0 * curve.magnetisation[-1] == pytest.approx(saturation)
    share = np.linspace(0.05, 1.0, 12)
    ratio = curve.applied(share * curve.magnetisation[-1]) / like.applied(share * like.magnetisation[-1])
    assert ratio == pytest.approx(ratio[-1], rel=1e-2)
