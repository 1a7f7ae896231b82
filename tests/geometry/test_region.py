"""Polygons of closed paths keep within the stated tolerance."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, polyline
from coilgen.geometry.region import chords, region


@settings(deadline=None)
@given(
    st.floats(1e-4, 0.05), st.floats(-6.2, 6.2).filter(lambda sweep: abs(sweep) > 0.01), st.floats(1e-9, 1e-4)
)
def test_chords_keep_within_the_tolerance_and_no_more_than_needed(
    radius: float, sweep: float, tolerance: float
) -> None:
    points = chords(Path((Arc(1 + 2j, radius, 0.4, sweep),)), tolerance)
    middles = (points[1:] + points[:-1]) / 2 - (1, 2)
    sagitta = radius - float((middles[:, 0] ** 2 + middles[:, 1] ** 2).max()) ** 0.5
    assert sagitta <= tolerance * 1.001 + 1e-12
    fewer = abs(sweep) / max(len(points) - 2, 1)
    assert len(points) == 2 or radius * (1 - math.cos(fewer / 2)) > tolerance * 0.999 or fewer > math.pi / 2


@settings(deadline=None)
@given(st.floats(1e-4, 0.05), st.floats(1e-9, 1e-6))
def test_area_of_a_disc(radius: float, tolerance: float) -> None:
    disc = region(Path((Arc(0j, radius, 0.0, math.pi), Arc(0j, radius, math.pi, math.pi))), tolerance)
    missing = math.pi * radius**2 - disc.area
    assert 0 < missing < math.tau * radius * tolerance


def test_a_polygon_keeps_its_corners() -> None:
    path = Path(polyline([0j, 3 + 0j, 3 + 2j, 0j]))
    assert region(path, 1.0).equals(shapely.Polygon([(0, 0), (3, 0), (3, 2)]))


def test_refuses_an_open_path_and_no_tolerance() -> None:
    with pytest.raises(ValueError, match="open path"):
        region(Path((Line(0j, 1 + 0j),)), 1e-6)
    with pytest.raises(ValueError, match="tolerance"):
        region(Path((Arc(0j, 1.0, 0.0, math.tau),)), 0.0)
