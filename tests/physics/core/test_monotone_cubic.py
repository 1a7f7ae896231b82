"""The monotone cubic against scipy's of the same name."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from coilgen.physics.core.monotone_cubic import MonotoneCubic

RANDOM = np.random.default_rng(5)


@pytest.mark.parametrize("points", [2, 3, 4, 40])
def test_values_slopes_and_integrals_are_scipys(points):
    x, y = (np.append(0.0, np.cumsum(10.0 ** RANDOM.uniform(-3, 3, points - 1))) for _ in range(2))
    ours, theirs = MonotoneCubic(x=x, y=y), PchipInterpolator(x, y)
    places = np.concatenate([x, RANDOM.uniform(0.0, x[-1], (3, 200)).ravel()]).reshape(1, -1)
    assert ours.value(places) == pytest.approx(theirs(places), rel=1e-9)
    assert ours.slope(places) == pytest.approx(
        theirs.derivative()(places), rel=1e-9, abs=1e-9 * y[-1] / x[-1]
    )
    assert ours.integral(places) == pytest.approx(theirs.antiderivative()(places), rel=1e-9)
