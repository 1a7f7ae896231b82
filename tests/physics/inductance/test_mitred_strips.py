"""Strips of a conductor: joints, mitres, chords that keep areas."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from spirals import MM, Section, loop, polyline, round_spiral, turned

from coilgen.physics.inductance.mitred_strips import filament, mitred_strips

SECTION = Section(width=0.3)


def area(strips):
    return 0.5 * float((strips.start.conj() * strips.end).imag.sum())


def test_straight_pieces_stay():
    strips = mitred_strips(polyline(np.array([0, 5, 5 + 4j]), SECTION))
    assert strips.start == pytest.approx(np.array([0, 5]) * MM)
    assert strips.end == pytest.approx(np.array([5, 5 + 4j]) * MM)


def test_a_joint_halves_the_bend():
    strips = mitred_strips(polyline(np.array([0, 5, 5 + 4j]), SECTION))
    for share in (-0.5, 0.2, 0.5):
        start, end, _ = filament(strips, share)
        assert end[0] == pytest.approx(start[1], abs=1e-15)
    # A left turn is shorter on its left.
    assert strips.slope_end[0] == pytest.approx(-1.0)
    assert strips.slope_start[0] == strips.slope_end[1] == 0.0


@given(st.sampled_from([0.02, 0.3, 1.0]), st.floats(0.5, 20.0))
def test_chords_keep_the_area(finest, radius):
    assert area(mitred_strips(loop(radius, SECTION), finest)) == pytest.approx(np.pi * (radius * MM) ** 2)


def test_chords_of_a_spiral_are_joined_and_keep_its_ends():
    spiral = round_spiral(3, 4.0, 0.5, SECTION)
    strips = mitred_strips(spiral)
    assert np.array_equal(strips.end[:-1], strips.start[1:])
    assert strips.start[0] == pytest.approx(complex(*spiral.start[0]))
    assert strips.end[-1] == pytest.approx(complex(*spiral.end[-1]))


def test_layers_are_not_joined():
    two = round_spiral(1, 4.0, 0.5, Section(width=0.3, heights=(0.0, 0.2)))
    strips = mitred_strips(two)
    last = np.flatnonzero(strips.layer == 1)[-1]
    assert strips.slope_end[last] == strips.slope_start[last + 1] == 0.0


def test_no_strip_of_a_piece_without_length():
    assert len(mitred_strips(polyline(np.array([0, 5, 5, 5 + 4j]), SECTION))) == 2


@given(st.floats(-np.pi, np.pi))
def test_turning_turns_the_strips(angle):
    spiral = round_spiral(2, 4.0, 0.5, SECTION)
    there, here = mitred_strips(turned(spiral, angle)), mitred_strips(spiral)
    assert np.abs(there.start - here.start * np.exp(1j * angle)).max() < 1e-15
    assert there.slope_end == pytest.approx(here.slope_end, abs=1e-9)
