"""Strips found again in other layers, whatever their turn or mirroring."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spirals import Section, joined, mirrored, placed, polygon_spiral, polyline, turned

from coilgen.physics.inductance.layer_patterns import Motion, common_pattern
from coilgen.physics.inductance.mitred_strips import mitred_strips

SECTION = Section(width=0.3)


@settings(max_examples=40)
@given(st.sampled_from([4, 5, 6]), st.floats(-3.0, 3.0), st.booleans())
def test_every_strip_recurs_under_its_motion(sides, angle, flip):
    first = polygon_spiral(sides, 3, 3.0, 0.5, SECTION)
    second = turned(mirrored(first) if flip else first, angle)
    strips = mitred_strips(joined(placed(first, 1, 0.0), placed(second, 2, -0.3)))
    pattern = common_pattern(strips)
    assert len(pattern.rows[2]) == len(first.sweep)
    motion = pattern.motion[2]
    assert motion.mirrored == flip
    points = strips.start[pattern.rows[1]]
    moved = motion.turn * (points.conj() if flip else points)
    ends = strips.end if flip else strips.start
    assert np.abs(moved - ends[pattern.rows[2]]).max() < 1e-9


def test_leads_are_left_out():
    first = polygon_spiral(4, 3, 3.0, 0.5, SECTION)
    lead = polyline(np.array([3 - 3j, 2 - 2j]), SECTION)
    strips = mitred_strips(
        joined(placed(first, 1, 0.0), placed(lead, 2, -0.3), placed(mirrored(first), 2, -0.3))
    )
    pattern = common_pattern(strips)
    assert len(pattern.rows[1]) == len(pattern.rows[2]) == len(first.sweep)


def test_unlike_layers_share_nothing():
    first, second = polygon_spiral(4, 3, 3.0, 0.5, SECTION), polygon_spiral(4, 3, 3.2, 0.5, SECTION)
    pattern = common_pattern(mitred_strips(joined(placed(first, 1, 0.0), placed(second, 2, -0.3))))
    assert list(pattern.rows) == [1]


@given(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0), st.booleans(), st.booleans())
def test_relative_motion(alpha, beta, flip_a, flip_b):
    a = Motion(turn=np.exp(1j * alpha), mirrored=flip_a)
    b = Motion(turn=np.exp(1j * beta), mirrored=flip_b)
    relative = a.relative(b)
    assert moved(a, moved(relative, 2 + 1j)) == pytest.approx(moved(b, 2 + 1j))
    if relative.own_inverse:
        assert moved(relative, moved(relative, 2 + 1j)) == pytest.approx(2 + 1j)


def moved(motion, point):
    return motion.turn * (point.conjugate() if motion.mirrored else point)
