"""Closed forms of planar spirals against the exact inductance, within their stated bias."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from spirals import MM, Section, polygon_spiral, round_spiral

from coilgen.physics.inductance.closed_forms import (
    CURRENT_SHEET,
    CURRENT_SHEET_BIAS,
    MODIFIED_WHEELER,
    MODIFIED_WHEELER_BIAS,
    WHEELER_FLAT_BIAS,
    current_sheet_inductance,
    modified_wheeler_inductance,
    wheeler_flat_inductance,
)
from coilgen.physics.inductance.winding import layer_inductances

SIDES = {"square": 4, "hexagonal": 6, "octagonal": 8}
FORMS = [
    *((current_sheet_inductance, shape, CURRENT_SHEET_BIAS[shape]) for shape in CURRENT_SHEET),
    *((modified_wheeler_inductance, shape, MODIFIED_WHEELER_BIAS[shape]) for shape in MODIFIED_WHEELER),
    (lambda n, outer, inner, _: wheeler_flat_inductance(n, outer, inner), "round", WHEELER_FLAT_BIAS),
]


def deviation(form, shape, turns, fill, share):
    """Relative, of a winding 20 mm across whose trace takes a share of the pitch."""
    outer, inner = 20.0, 20.0 * (1 - fill) / (1 + fill)
    pitch = (outer - inner) / 2 / (turns - 1 + share)
    start, section = inner / 2 + (share - 1) * pitch / 2, Section(width=share * pitch)
    if shape == "round":
        spiral = round_spiral(turns, start, pitch, section)
    else:
        spiral = polygon_spiral(SIDES[shape], turns, start, pitch, section)
    return form(turns, outer * MM, inner * MM, shape) / layer_inductances(spiral).total - 1


@pytest.mark.parametrize(("form", "shape", "bias"), FORMS)
def test_deviation_keeps_to_the_stated_bias_and_fills_it(form, shape, bias):
    cases = itertools.product((5, 15), (0.1, 0.2, 0.35, 0.6), (0.3, 0.8))
    found = [deviation(form, shape, *case) for case in cases]
    assert bias[0] <= min(found) <= bias[0] + 0.01
    assert bias[1] - 0.01 <= max(found) <= bias[1]


@given(
    st.sampled_from(list(CURRENT_SHEET)), st.floats(1.0, 50.0), st.floats(0.0, 0.9), st.floats(0.01, 100.0)
)
def test_scales_with_size_and_turns_squared(shape, turns, inner, k):
    one = current_sheet_inductance(1.0, 1.0, inner, shape)
    assert current_sheet_inductance(turns, k, k * inner, shape) == pytest.approx(turns**2 * k * one)


def test_what_has_no_coefficients_is_refused():
    with pytest.raises(ValueError, match="square, hexagonal, octagonal"):
        modified_wheeler_inductance(5, 10e-3, 5e-3, "round")
    with pytest.raises(ValueError, match="no spiral has"):
        current_sheet_inductance(5, 5e-3, 10e-3, "round")
