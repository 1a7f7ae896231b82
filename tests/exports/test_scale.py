"""Scales of plots: ends hold all values, ticks are round, in order, and labelled in one unit."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.exports.page._scale import Axis, round_step, scale

values = st.lists(st.floats(-1e6, 1e6).filter(lambda v: v == 0 or abs(v) > 1e-6), min_size=1, max_size=8)


@given(values)
def test_a_linear_scale_holds_all_values_between_round_ticks(values: list[float]) -> None:
    found = scale(Axis(says="force", unit="N"), values)
    room = 1e-6 * (found.high - found.low)
    assert found.low - room <= min(values) <= max(values) <= found.high + room
    assert 2 <= len(found.ticks) <= 10
    steps = [b - a for a, b in pairwise(found.ticks)]
    assert max(steps) == pytest.approx(min(steps), rel=1e-6, abs=1e-9 * max(abs(found.low), abs(found.high)))
    assert len(set(found.labels)) == len(found.labels) == len(found.ticks)


@given(st.lists(st.floats(1e-6, 1e9), min_size=1, max_size=8))
def test_a_logarithmic_scale_holds_all_values(values: list[float]) -> None:
    found = scale(Axis(says="frequency", unit="Hz", logarithmic=True), values)
    assert found.low <= min(values) * (1 + 1e-8)
    assert max(values) * (1 - 1e-8) <= found.high
    assert list(found.ticks) == sorted(set(found.ticks))
    assert found.share(found.low) == 0
    assert found.share(found.high) == 1
    middle = math.sqrt(found.low * found.high)
    assert found.share(middle) == pytest.approx(0.5)


def test_labels_are_in_the_title_s_unit() -> None:
    found = scale(Axis(says="height", unit="m"), [0.5e-3, 5e-3])
    assert found.title == "height, mm"
    assert found.labels == ("0", "1", "2", "3", "4", "5")
    assert scale(Axis(says="flux density", unit="T"), [-2e-3, 2e-3]).labels[0] == "−2"


def test_a_far_zero_is_left_out_and_a_near_one_is_shown() -> None:
    assert scale(Axis(says="inductance", unit="H"), [1.09e-4, 1.11e-4]).low > 1e-4
    assert scale(Axis(says="current", unit="A"), [0.1, 1.0]).low == 0


def test_frequencies_have_their_prefixes() -> None:
    found = scale(Axis(says="frequency", unit="Hz", logarithmic=True), [1e3, 1e7])
    assert found.labels == ("1 kHz", "10 kHz", "100 kHz", "1 MHz", "10 MHz")


def test_a_logarithm_needs_positive_values() -> None:
    with pytest.raises(ValueError, match="logarithmic"):
        scale(Axis(says="q", unit="1", logarithmic=True), [0.0, 1.0])


@given(st.floats(1e-9, 1e9))
def test_steps_are_round_and_no_smaller(least: float) -> None:
    step = round_step(least)
    assert least * (1 - 1e-8) <= step <= 2.5 * least * (1 + 1e-8)
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - each) for each in (1, 2, 5)) < 1e-6


@given(values)
def test_an_axis_from_zero_holds_zero_and_all_values(values: list[float]) -> None:
    found = scale(Axis(says="force", unit="N", from_zero=True), values)
    room = 1e-6 * (found.high - found.low)
    assert found.low <= 0 <= found.high
    assert found.low - room <= min(values) <= max(values) <= found.high + room


def test_nothing_but_zero_stands_on_the_axis() -> None:
    """No room under it for values that are counts or sizes."""
    found = scale(Axis(says="rules broken", unit="1"), [0.0, 0.0])
    assert (found.low, found.high) == (0.0, 1.0)


def test_a_small_change_looks_small() -> None:
    """0.2 K filled the plot of the temperature."""
    found = scale(Axis(says="temperature", unit="degC", least_span=10.0), [40.0, 40.2])
    assert found.low <= 40.0
    assert found.high - found.low >= 10.0
    wide = scale(Axis(says="temperature", unit="degC", least_span=10.0), [20.0, 90.0])
    assert (wide.low, wide.high) == (0.0, 100.0)


@pytest.mark.parametrize(("period", "ticks"), [(180.0, 7), (90.0, 7), (360.0, 5), (51.4, 7)])
def test_angles_have_ticks_at_parts_of_a_right_angle(period: float, ticks: int) -> None:
    found = scale(Axis(says="angle", unit="°"), [0.0, period])
    assert len(found.ticks) == ticks
    assert found.high == pytest.approx(math.ceil(period / 10) * 10)
