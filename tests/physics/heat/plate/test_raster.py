"""Polygons on cells keep their areas, whichever way round and wherever they lie."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plate_cases import circle, rectangle, turned

from coilgen.physics.heat.plate.raster import (
    along_nearest_side,
    area_cover,
    edge_pieces,
    line_cover,
    perimeter,
    polygon_area,
)

LINES = np.linspace(-0.1, 0.1, 41)
stars = st.lists(st.floats(0.3, 1.0), min_size=3, max_size=12).map(
    lambda radii: (
        0.08
        * np.array(radii)[:, None]
        * np.stack(
            [f(2 * np.pi * np.arange(len(radii)) / len(radii) + 0.1) for f in (np.cos, np.sin)], axis=1
        )
    )
)


@given(stars)
def test_cells_hold_the_polygons_area(star):
    cover = area_cover(star, LINES, LINES)
    assert cover.sum() == pytest.approx(polygon_area(star), rel=5e-3)
    assert cover.min() >= -1e-18
    assert cover.max() <= (LINES[1] - LINES[0]) ** 2 * (1 + 1e-9)


@given(stars)
def test_the_way_round_does_not_count(star):
    assert np.allclose(area_cover(star, LINES, LINES), area_cover(star[::-1], LINES, LINES), atol=1e-15)


def test_rectangle_on_the_lines_is_exact():
    cover = area_cover(rectangle(0.1, 0.05), LINES, LINES)
    assert np.count_nonzero(cover > 1e-9 * cover.max()) == 20 * 10
    assert cover.sum() == pytest.approx(0.005, rel=1e-12)


def test_lines_through_a_circle_are_its_chords():
    at = np.array([-0.03, 0.0, 0.049])
    chords = line_cover(circle(0.05, sides=2000), np.array([-0.1, 0.1]), at)[:, 0]
    assert chords == pytest.approx(2 * np.sqrt(0.05**2 - at**2), rel=1e-3)


def test_pieces_of_the_edge_add_up():
    hexagon = circle(0.02, sides=6)
    middle, length = edge_pieces(hexagon, 1e-3)
    assert length.max() <= 1e-3
    assert length.sum() == pytest.approx(perimeter(hexagon))
    assert np.linalg.norm(middle.mean(axis=0)) < 1e-12


def test_direction_follows_the_nearest_side():
    box = turned(rectangle(0.04, 0.02), 0.3)
    along = along_nearest_side(box, turned(np.array([[0.0, 0.009], [0.019, 0.0]]), 0.3))
    ways = turned(np.eye(2), 0.3)
    assert np.abs((along * ways).sum(axis=1)) == pytest.approx(1.0)
