"""Roots of functions whose roots are known, and that few steps find them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.base.bracketed_root import root_between


@given(
    st.floats(-5.0, 5.0),
    st.floats(0.1, 10.0),
    st.floats(0.1, 10.0),
    st.sampled_from([1, 3, 7]),
    st.booleans(),
)
def test_roots_of_powers(root, below, above, power, falling):
    sign = -1.0 if falling else 1.0
    found = root_between(lambda x: sign * (x - root) ** power, root - below, root + above, within=1e-9)
    assert found == pytest.approx(root, abs=2e-9)


@given(st.floats(1e-9, 1e9))
def test_to_the_last_digits(target):
    found = root_between(lambda x: x * x - target, 0.0, 1e5)
    assert found == pytest.approx(math.sqrt(target), rel=2e-15)


def test_smooth_functions_take_few_steps():
    asked = []

    def function(x):
        asked.append(x)
        return math.exp(x) - 3.0

    assert root_between(function, 0.0, 2.0, within=1e-9) == pytest.approx(math.log(3.0), abs=1e-9)
    assert len(asked) < 15


def test_a_step_is_found_by_halving():
    asked = []

    def function(x):
        asked.append(x)
        return 1.0 if x > 1 / 3 else -1e-6

    assert root_between(function, 0.0, 1.0, within=1e-6) == pytest.approx(1 / 3, abs=1e-6)
    assert len(asked) < 70


def test_an_end_may_be_the_root():
    assert root_between(lambda x: x, 0.0, 1.0) == 0.0
    assert root_between(lambda x: x - 1.0, 0.0, 1.0) == 1.0


def test_one_sign_is_refused():
    with pytest.raises(ValueError, match="one sign"):
        root_between(lambda x: 1.0 + x * x, -1.0, 1.0)
