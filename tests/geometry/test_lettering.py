"""Letters: every sign fits its box, is drawn in straight strokes, and differs from the others."""

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.geometry.extent import extent
from coilgen.geometry.lettering import lettering, text_width
from coilgen.geometry.line import Line

SIGNS = string.ascii_uppercase + string.digits + "-_+.,:;/=()%?"
texts = st.text(alphabet=SIGNS + string.ascii_lowercase + " ", min_size=1, max_size=12)
heights = st.floats(0.3e-3, 5e-3)
places = st.complex_numbers(max_magnitude=0.1, allow_nan=False)


@given(text=texts, height=heights, at=places)
def test_text_stays_in_its_box_about_its_middle(text, height, at):
    half = complex(text_width(text, height), height) / 2
    for path in lettering(text, height, at):
        low, high = extent(path)
        assert low.real >= (at - half).real - 1e-9
        assert low.imag >= (at - half).imag - 1e-9
        assert high.real <= (at + half).real + 1e-9
        assert high.imag <= (at + half).imag + 1e-9


@given(text=texts, height=heights)
def test_size_scales_every_stroke(text, height):
    single, double = lettering(text, height, 0j), lettering(text, 2 * height, 0j)
    assert sum(p.length for p in double) == pytest.approx(2 * sum(p.length for p in single))


@given(text=texts)
def test_small_letters_are_drawn_as_capitals(text):
    assert lettering(text.lower(), 1e-3, 0j) == lettering(text.upper(), 1e-3, 0j)


@pytest.mark.parametrize("sign", SIGNS)
def test_every_letter_and_figure_is_of_full_height(sign):
    boxes = [extent(path) for path in lettering(sign, 6.0, 0j)]
    heights = (min(low.imag for low, _ in boxes), max(high.imag for _, high in boxes))
    assert (heights == (-3.0, 3.0)) == (sign not in "-_+.,:;=")


def test_no_two_signs_look_alike():
    drawn = {frozenset(_unit_strokes(sign)) for sign in SIGNS}
    assert len(drawn) == len(SIGNS)


def test_letters_are_straight_strokes_only():
    assert all(isinstance(s, Line) for path in lettering(SIGNS, 1e-3, 0j) for s in path.segments)


def test_a_sign_without_strokes_is_refused():
    with pytest.raises(ValueError, match="no strokes for the sign '@'"):
        lettering("5@", 1e-3, 0j)


def _unit_strokes(sign):
    for path in lettering(sign, 6.0, 0j):
        for segment in path.segments:
            yield frozenset((segment.start, segment.end))
