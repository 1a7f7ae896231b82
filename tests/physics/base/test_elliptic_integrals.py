"""Complete elliptic integrals against laws, another library's and limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe, ellipkm1

from coilgen.physics.base.elliptic_integrals import bracket_integral, complete_integrals, mean_integrals

ratios = st.floats(1e-12, 1.0)


@given(st.lists(st.floats(1e-30, 1.0), min_size=1))
def test_integrals_of_another_library(complements):
    first, second = complete_integrals(np.array(complements))
    assert first == pytest.approx(ellipkm1(complements), rel=1e-13)
    assert second == pytest.approx(ellipe(1.0 - np.array(complements)), rel=1e-13)


@given(st.floats(0.001, 0.999))
def test_legendre_relation(complement):
    # A. M. Legendre; NIST DLMF 19.7.1: E K' + E' K - K K' = pi / 2.
    first, second = complete_integrals(complement)
    other_first, other_second = complete_integrals(1.0 - complement)
    relation = second * other_first + other_second * first - first * other_first
    assert relation == pytest.approx(np.pi / 2, rel=1e-12)


@given(st.floats(1e-3, 1e3), ratios)
def test_homogeneous(size, ratio):
    first, bracket = mean_integrals(np.array(size), np.array(size * ratio))
    unit_first, unit_bracket = mean_integrals(np.array(1.0), np.array(ratio))
    assert first == pytest.approx(float(unit_first) / size, rel=1e-12)
    assert bracket == pytest.approx(float(unit_bracket) * size, rel=1e-9, abs=1e-15 * size)


@given(ratios, ratios)
def test_the_smallest_ratio_of_an_array_does_not_change_the_others(ratio, smallest):
    alone = mean_integrals(np.array(1.0), np.array(ratio))
    beside = mean_integrals(np.ones(2), np.array([ratio, smallest * ratio]))
    for one, both in zip(alone, beside, strict=True):
        assert both[0] == pytest.approx(float(one), rel=1e-13, abs=1e-30)


def test_bracket_of_small_moduli_keeps_its_digits():
    # Of k^2 the bracket is pi / 32 k^4 (1 + 3/4 k^2 ...): NIST DLMF 19.5.1 and 19.5.2.
    smaller = np.array([0.9, 0.99, 0.999])
    square = (1.0 - smaller) * (1.0 + smaller)
    bracket = mean_integrals(np.ones(3), smaller)[1]
    series = 1.0 + 3 / 4 * square + 75 / 128 * square**2 + 245 / 512 * square**3
    assert bracket[1:] == pytest.approx(np.pi / 32 * (square**2 * series)[1:], rel=1e-6)
    assert bracket[0] == pytest.approx(float(0.5 * (1 + 0.81) * ellipkm1(0.81) - ellipe(0.19)), rel=1e-11)


@given(st.lists(st.floats(1e-12, 0.3), min_size=1))
def test_bracket_alone(ratios):
    smaller = np.array(ratios)
    whole = mean_integrals(np.ones_like(smaller), smaller)[1]
    assert bracket_integral(np.ones_like(smaller), smaller) == pytest.approx(whole, rel=1e-13)


def test_zero_of_the_smaller_number_is_infinite():
    first, bracket = mean_integrals(np.ones(2), np.array([0.0, 1.0]))
    assert np.isinf(first[0]) and np.isinf(bracket[0])
    assert first[1] == pytest.approx(np.pi / 2)
    assert bracket[1] == 0.0
    assert np.isinf(bracket_integral(np.array(1.0), np.array(0.0)))
