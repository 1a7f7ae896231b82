"""Laws of exact distances: against shapely on chords, under isometries, and textbook configurations."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.distance import distance, distances, nearest_on, pieces
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line

COORDINATE = st.floats(-10, 10).map(lambda x: round(x, 9))
POINT = st.builds(complex, COORDINATE, COORDINATE)
ROUND_POINT = st.builds(complex, st.integers(-4, 4), st.integers(-4, 4))
ANY_POINT = POINT | ROUND_POINT
SWEEP = (
    st.floats(0.01, 2 * math.pi) | st.floats(-2 * math.pi, -0.01) | st.sampled_from([math.pi / 2, -math.pi])
)
ARC = st.builds(Arc, ANY_POINT, st.floats(0.1, 8) | st.integers(1, 4).map(float), st.floats(-7, 7), SWEEP)
LINE = st.builds(Line, ANY_POINT, ANY_POINT).filter(lambda line: line.length > 1e-6)
SHAPE = LINE | ARC | ANY_POINT
ISOMETRY = st.builds(Isometry, st.booleans(), st.integers(0, 3))
CHORDS = 500


def chords(shape):
    if isinstance(shape, complex):
        return shapely.Point(shape.real, shape.imag)
    if isinstance(shape, Line):
        return shapely.LineString([(shape.start.real, shape.start.imag), (shape.end.real, shape.end.imag)])
    angles = shape.start_angle + shape.sweep * np.linspace(0, 1, CHORDS + 1)
    points = shape.centre + shape.radius * np.exp(1j * angles)
    return shapely.LineString(np.column_stack([points.real, points.imag]))


def sagitta(shape):
    return shape.radius * (1 - math.cos(shape.sweep / 2 / CHORDS)) if isinstance(shape, Arc) else 0.0


def moved(shape, isometry):
    return isometry.point(shape) if isinstance(shape, complex) else shape.moved(isometry)


@given(SHAPE, SHAPE)
def test_equals_the_distance_of_chords_within_their_sagitta(a, b):
    assert distance(a, b) == pytest.approx(chords(a).distance(chords(b)), abs=sagitta(a) + sagitta(b) + 1e-9)


@given(SHAPE, SHAPE)
def test_is_symmetric(a, b):
    assert distance(a, b) == pytest.approx(distance(b, a), abs=1e-12)


@given(SHAPE, SHAPE, ISOMETRY)
def test_is_kept_by_isometries(a, b, isometry):
    assert distance(moved(a, isometry), moved(b, isometry)) == pytest.approx(distance(a, b), abs=1e-9)


@given(LINE | ARC, SHAPE)
def test_is_kept_when_a_piece_is_travelled_backwards(a, b):
    assert distance(a.reversed(), b) == pytest.approx(distance(a, b), abs=1e-9)


@given(SHAPE, SHAPE)
def test_closest_points_lie_on_their_pieces(a, b):
    found = distances(pieces([a]), pieces([b]))
    assert distance(a, complex(found.on_first[0])) < 1e-9
    assert distance(b, complex(found.on_second[0])) < 1e-9
    assert abs(found.on_first[0] - found.on_second[0]) == pytest.approx(found.value[0])


@given(ARC, st.floats(0, 1), st.floats(0, 0.99))
def test_a_point_off_an_arc_along_its_spoke_is_the_offset_away(arc, fraction, offset):
    at = arc.at(fraction)
    outward = (at - arc.centre) / arc.radius
    assert distance(arc, at + outward * offset) == pytest.approx(offset, abs=1e-9)


@given(ARC, st.floats(0.1, 5), st.floats(0.05, 0.95))
def test_concentric_facing_arcs_are_the_difference_of_radii_apart(arc, more, fraction):
    other = Arc(arc.centre, arc.radius + more, arc.start_angle + arc.sweep * fraction, 1.0)
    assert distance(arc, other) == pytest.approx(more, abs=1e-9)


def test_many_pairs_are_the_single_pairs():
    shapes = [
        Line(0j, 1 + 1j),
        Arc(1j, 2.0, 0.3, -2.0),
        3 + 1j,
        Line(5j, 1 + 5j),
        Arc(-2 + 0j, 1.0, 1.0, 4.0),
    ]
    first, second = np.triu_indices(len(shapes))
    found = distances(pieces(shapes).take(first), pieces(shapes).take(second)).value
    assert found == pytest.approx(
        [distance(shapes[i], shapes[j]) for i, j in zip(first, second, strict=True)]
    )


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (Line(-1 + 0j, 1 + 0j), Line(-1j, 1j), 0.0),
        (Line(0j, 1 + 0j), Line(2 + 0j, 3 + 0j), 1.0),
        (Line(0j, 4 + 0j), Line(1 + 2j, 9 + 2j), 2.0),
        (Line(-9 + 5j, 9 + 5j), Arc(0j, 3.0, 0.0, math.pi), 2.0),
        (Line(-9 + 5j, 9 + 5j), Arc(0j, 3.0, 0.0, -math.pi), 5.0),
        (Line(-9 + 1j, 9 + 1j), Arc(0j, 3.0, 0.0, math.pi), 0.0),
        (Arc(0j, 3.0, 0.0, math.pi), Arc(4 + 0j, 3.0, 0.0, math.pi), 0.0),
        (Arc(0j, 3.0, 0.0, 2 * math.pi), Arc(8j, 3.0, 0.0, 2 * math.pi), 2.0),
        (Arc(0j, 3.0, 0.0, 2 * math.pi), Arc(1 + 0j, 1.0, 0.0, 2 * math.pi), 1.0),
        (Arc(0j, 3.0, 0.0, 2 * math.pi), 0j, 3.0),
        (1 + 1j, 4 + 5j, 5.0),
    ],
)
def test_plain_configurations(a, b, expected):
    assert distance(a, b) == pytest.approx(expected, abs=1e-12)


@given(LINE | ARC, POINT)
def test_nearest_point_is_nearer_than_any_sampled_point(shape, at):
    nearest = complex(nearest_on(pieces([shape]), np.array([at]))[0])
    assume(abs(nearest - at) > 0)
    assert all(abs(nearest - at) <= abs(shape.at(i / 50) - at) + 1e-9 for i in range(51))
