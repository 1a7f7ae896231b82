"""Quantities: the same value however it is written, refusals in words, and figures as people read them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import foot, ounce

from coilgen.units import DIMENSIONS, UnitError, in_mm, quantity, readable, written

WITH_UNITS = sorted(set(DIMENSIONS) - {"number"})


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.15 mm", "length", 0.00015),
        ("0.15mm", "length", 0.00015),
        ("6 mil", "length", 0.0001524),  # the international inch of 25.4 mm, 1959
        ("1 in", "length", 0.0254),
        ("35 um", "length", 35e-6),
        ("35 µm", "length", 35e-6),
        (" 1e-2 m ", "length", 0.01),
        (".5 cm", "length", 0.005),
        ("300 mA", "current", 0.3),
        ("0.35 T", "flux density", 0.35),
        ("20 kHz", "frequency", 20e3),
        ("25 degC", "temperature", 25.0),
        ("298.15 K", "temperature", 25.0),  # 0 degC = 273.15 K, SI Brochure, 9th edition, 2019
        ("12 g", "mass", 0.012),
        ("20 ms", "time", 0.02),
        ("-2 mT", "flux density", -0.002),
    ],
)
def test_text_with_a_unit_is_the_nearest_float_in_si(text, dimension, value):
    assert quantity(text, dimension) == value


@pytest.mark.parametrize(
    ("number", "dimension", "value"),
    [(0.15, "length", 0.00015), (24, "length", 0.024), (350, "flux density", 0.35), (14, "number", 14.0)],
)
def test_a_bare_number_takes_the_dimensions_own_unit(number, dimension, value):
    assert quantity(number, dimension) == value


def test_an_ounce_of_copper_lies_in_the_range_of_the_trade():
    # 1 oz/ft² = 305.15 g/m² is 34.3 to 35 µm (common practice, no source).
    assert 34.3e-6 <= quantity("1 oz", "copper thickness") <= 35e-6
    # Ounce and foot as scipy has them; the density of IEC 60028.
    assert quantity("1 oz", "copper thickness") == pytest.approx(ounce / foot**2 / 8890.0, rel=1e-5)


@pytest.mark.parametrize("dimension", WITH_UNITS)
@given(number=st.floats(-1e6, 1e6))
def test_text_in_the_own_unit_equals_the_bare_number(dimension, number):
    own = DIMENSIONS[dimension].bare
    assert quantity(f"{number!r} {own}", dimension) == quantity(number, dimension)


@pytest.mark.parametrize("dimension", WITH_UNITS)
@given(number=st.floats(1e-6, 1e6))
def test_every_unit_is_its_factor_times_the_number(dimension, number):
    kind = DIMENSIONS[dimension]
    for unit, factor in kind.units.items():
        value = quantity(f"{number!r} {unit}", dimension)
        assert value == pytest.approx(
            number * float(factor) + float(kind.offsets.get(unit, 0)), rel=1e-12, abs=1e-9
        )


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
@pytest.mark.parametrize(
    "wrong", [True, None, [], {}, math.nan, math.inf, -math.inf, "", "mm", "1 2 mm", 1 << 2000]
)
def test_what_is_no_quantity_is_refused_with_a_way_out(dimension, wrong):
    with pytest.raises(UnitError, match="write"):
        quantity(wrong, dimension)


@pytest.mark.parametrize(
    "text", ["nan mm", "inf mm", "1e9999 mm", "1_0 mm", "0x10 mm", "1,5 mm", "1e99999 mm", "٣ mm"]
)
def test_numbers_that_are_not_plain_decimals_are_refused(text):
    with pytest.raises(UnitError):
        quantity(text, "length")


def test_an_unknown_unit_is_named_with_the_known_ones():
    with pytest.raises(UnitError, match=r'"furlong" is not a unit of length; use one of mm, um, .*in$'):
        quantity("6 furlong", "length")


def test_ounces_measure_copper_only():
    with pytest.raises(UnitError, match="oz"):
        quantity("1 oz", "length")


def test_a_number_in_quotes_needs_a_unit_and_a_plain_number_no_quotes():
    with pytest.raises(UnitError, match="no unit"):
        quantity("0.15", "length")
    with pytest.raises(UnitError, match="without quotes"):
        quantity("14", "number")


@given(text=st.text(max_size=20), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_finite_quantity_or_refused(text, dimension):
    try:
        assert math.isfinite(quantity(text, dimension))
    except UnitError as refusal:
        assert "\n" not in str(refusal)


@given(value=st.floats(1e-6, 1.0))
def test_a_length_told_in_mm_reads_back(value):
    assert quantity(in_mm(value), "length") == pytest.approx(value, rel=1e-5)


def test_temperatures_are_told_without_offset():
    assert written(25.0, "temperature") == "25 degC"


_FACTORS = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}


@given(value=st.floats(1e-12, 9e11), negative=st.booleans())
def test_a_readable_figure_keeps_three_digits(value, negative):
    value = -value if negative else value
    number, unit = readable(value, "H").split(" ")
    assert float(number) * _FACTORS[unit.removesuffix("H")] == pytest.approx(value, rel=0.0051)
    assert 1 <= abs(float(number)) < 1000


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (-0.5, "A", "-500 mA"),
        (0.0, "T", "0 T"),
        (4.34e-13, "F", "434 fF"),
        (1e-18, "H", "1.00e-18 H"),
        (1e15, "Hz", "1.00e+15 Hz"),
        (0.00052, "m2", "5.20 cm²"),
        (25.04, "degC", "25.0 °C"),
        (3.5, "1", "3.50"),
        (28, "1", "28"),
        (999.6, "ohm", "1.00 kΩ"),
        (math.nan, "H", "nan H"),
        (1.234e-4, "A m2", "123 µA·m²"),
    ],
)
def test_readable_figures(value, unit, text):
    assert readable(value, unit) == text


def test_takes_the_numbers_of_arrays():
    assert quantity(np.float64(0.15), "length") == quantity(0.15, "length")
