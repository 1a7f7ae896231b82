"""Inside and outside of closed paths, exact on arcs."""

import math
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle, regular_polygon
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import distance
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path

POINTS = st.builds(complex, st.floats(-4, 4), st.floats(-4, 4))
BITTEN = Path(
    (Line(-2 - 2j, 2 - 2j), Line(2 - 2j, 2 + 2j), Arc(2j, 2.0, 0.0, -math.pi), Line(-2 + 2j, -2 - 2j))
)
BOUNDARIES = [
    circle(6.0),
    regular_polygon(6, 5.0, 1.0),
    rectangle(6.0, 3.0, 0.7),
    BITTEN,
    Path((Arc(1j, 2.5, 1.0, 2 * math.pi),)),
]


@cache
def polygon(boundary):
    points = [segment.at(k / 400) for segment in boundary.segments for k in range(400)]
    return shapely.Polygon([(point.real, point.imag) for point in points])


@pytest.mark.parametrize("boundary", BOUNDARIES)
@given(at=POINTS)
def test_agrees_with_a_polygon_of_chords(boundary, at):
    assume(min(distance(segment, at) for segment in boundary.segments) > 1e-4)
    expected = polygon(boundary).contains(shapely.Point(at.real, at.imag))
    assert contains(boundary, np.array([at])).tolist() == [expected]
    assert contains(boundary.reversed(), np.array([at])).tolist() == [expected]


@given(st.floats(-math.pi, math.pi), st.floats(1e-9, 1e-3))
def test_is_exact_at_a_circle(angle, off):
    at = np.exp(1j * angle) * np.array([3 - off, 3 + off])
    assert contains(circle(6.0), at).tolist() == [True, False]


@pytest.mark.parametrize("boundary", [circle(6.0), circle(6.0).reversed()])
@pytest.mark.parametrize("at", [1.5 + 1.5j, -1.5 + 1.5j, 1.5 - 1.5j, 0j, 2j, -1 - 2j])
def test_points_on_a_chord_between_an_arcs_ends_are_inside(boundary, at):
    assert contains(boundary, np.array([at])).tolist() == [True]
