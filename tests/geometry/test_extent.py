"""The rectangle around a path holds it and touches it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle
from coilgen.geometry.extent import extent
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path

centres = st.complex_numbers(max_magnitude=10, allow_nan=False)
arcs = st.builds(
    Arc, centres, st.floats(0.01, 10), st.floats(-10, 10), st.floats(-2 * math.pi, 2 * math.pi).filter(bool)
)


@given(arc=arcs)
def test_it_is_the_rectangle_of_many_points(arc):
    low, high = extent(Path((arc,)))
    points = [arc.at(k / 400) for k in range(401)]
    sagitta = arc.radius * (1 - math.cos(arc.sweep / 800)) + 1e-12
    for found, exact in (
        (min(p.real for p in points), low.real),
        (min(p.imag for p in points), low.imag),
        (-max(p.real for p in points), -high.real),
        (-max(p.imag for p in points), -high.imag),
    ):
        assert exact - 1e-12 <= found <= exact + sagitta


def test_a_circle_is_as_wide_as_its_diameter():
    low, high = extent(circle(3.0))
    assert (low, high) == (pytest.approx(-1.5 - 1.5j), pytest.approx(1.5 + 1.5j))


def test_a_line_reaches_from_end_to_end():
    assert extent(Path((Line(2 - 1j, -1 + 3j),))) == (-1 - 1j, 2 + 3j)
