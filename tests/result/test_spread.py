"""Laws of the propagation of tolerances: sums, ratios, sides apart, sources that act on several values."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.result.spread import Spread, carried, factor, told, within

SHARES = st.floats(0.0, 0.5)


@given(SHARES, SHARES)
def test_independent_sources_add_in_squares(one: float, other: float) -> None:
    found = carried(lambda a, b: a + b, within(3.0, "a", one), within(4.0, "b", other))
    half = math.hypot(3 * one, 4 * other)
    assert found.band == pytest.approx((7 - half, 7 + half))


@given(SHARES)
def test_a_source_of_both_cancels_in_their_ratio(share: float) -> None:
    found = carried(lambda a, b: a / b, within(3.0, "width", share), within(4.0, "width", share))
    assert found.band == pytest.approx((0.75, 0.75))


@given(st.floats(0.01, 0.8), st.floats(0.01, 0.8))
def test_sides_stay_apart(below: float, above: float) -> None:
    found = carried(lambda a: 2 * a, told(1.0, "joint", 1 - below, 1 + above))
    assert found.band == pytest.approx((2 - 2 * below, 2 + 2 * above))


@given(st.floats(0.01, 0.8))
def test_a_falling_function_turns_the_sides(share: float) -> None:
    found = carried(lambda a: 1 / a, factor("permeability", share))
    assert found.band == pytest.approx((1 / (1 + share), 1 + share))


def test_contributions_are_told_largest_first_and_only_where_there_are_some() -> None:
    found = Spread(1.0, {"none": (0.0, 0.0), "small": (0.1, -0.1), "one side": (-0.5, -0.2)})
    assert found.contributions == (("one side", -0.5, 0.0), ("small", -0.1, 0.1))


def test_what_has_no_tolerance_has_no_band() -> None:
    assert told(2.0, "voltage", 2.0, 2.0).band == (2.0, 2.0)
    assert not told(2.0, "voltage", 2.0, 2.0).contributions
