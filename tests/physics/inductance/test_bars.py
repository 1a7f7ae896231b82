"""Rectangular bars against the exact six-fold integral, evaluated once in 40 digits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.inductance.bars import bar_self_inductance, bars_mutual_inductance


# C. Hoer, C. Love, J. Res. NBS 69C, 1965: their exact form, evaluated in 40 digits.
@pytest.mark.parametrize(
    ("length", "width", "thickness", "nanohenry"),
    [(50, 1, 0.035, 50.762950), (10, 1, 0.035, 6.986382), (10, 0.2, 0.035, 9.896719)],
)
def test_self_inductance(length, width, thickness, nanohenry):
    value = bar_self_inductance(length * 1e-3, width * 1e-3, thickness * 1e-3)
    assert value == pytest.approx(nanohenry * 1e-9, rel=1e-6, abs=0)


@pytest.mark.parametrize(
    ("length", "across", "above", "nanohenry"),
    [(50, 2, 0, 29.735587), (50, 0, 1.6, 31.376221), (10, 2, 0, 3.028372)],
)
def test_mutual_inductance(length, across, above, nanohenry):
    length, across, above = length * 1e-3, across * 1e-3, above * 1e-3
    value = bars_mutual_inductance(length, 0.0, length, across, above, 1e-3, 35e-6)
    assert value == pytest.approx(nanohenry * 1e-9, rel=2e-4, abs=0)


@given(st.floats(2.0, 100.0), st.floats(0.1, 1.0), st.floats(0.01, 1.0), st.floats(1e-3, 1e3))
def test_self_inductance_scales_with_size(length, width, thickness, k):
    whole = bar_self_inductance(k * length, k * width, k * thickness)
    assert whole == pytest.approx(k * float(bar_self_inductance(length, width, thickness)), rel=1e-9)


@given(st.floats(1.1, 5.0), st.floats(0.0, 3.0))
def test_a_bar_is_coupled_less_than_wholly(pitch, above):
    mutual = bars_mutual_inductance(10.0, 0.0, 10.0, pitch, above, 1.0, 0.035)
    assert 0.0 < mutual < bar_self_inductance(10.0, 1.0, 0.035)


def test_a_bar_is_the_sum_of_its_strips():
    count = 40
    place = (np.arange(count) + 0.5) / count
    across = np.subtract.outer(place, place) + np.eye(count)
    pairs = bars_mutual_inductance(10.0, 0.0, 10.0, across, 0.0, 1.0 / count, 0.035)
    np.fill_diagonal(pairs, bar_self_inductance(10.0, 1.0 / count, 0.035))
    assert pairs.mean() == pytest.approx(float(bar_self_inductance(10.0, 1.0, 0.035)), rel=1e-3)
