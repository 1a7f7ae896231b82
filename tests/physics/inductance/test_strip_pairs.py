"""Partial inductances of strips: division, wires of published polygons, many fine filaments."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from neumann import polygon_of_wire
from spirals import MM, Section, polygon_spiral, polyline
from straight_conductors import bars_inductance, parallel_filaments

from coilgen.physics.inductance import strip_pairs
from coilgen.physics.inductance.mean_distance import geometric_mean_distance
from coilgen.physics.inductance.mitred_strips import filament, mitred_strips
from coilgen.physics.inductance.straight_filaments import skew_filaments
from coilgen.physics.inductance.strip_pairs import pair_inductances


def inductance(conductor):
    strips = mitred_strips(conductor)
    i, j = np.indices((len(strips), len(strips))).reshape(2, -1)
    return float(pair_inductances(strips, i, j).sum())


@given(st.lists(st.floats(0.05, 0.95), max_size=4, unique=True), st.floats(0.05, 1.0))
def test_a_bar_in_pieces_is_the_bar(cuts, width):
    places = np.unique(np.round([0.0, *cuts, 1.0], 2)) * 10.0
    whole = bars_inductance(0, 0, 0, (width * MM, 35e-6), (10 * MM, 10 * MM))
    accuracy = 2e-5 + 3e-3 * (width / np.diff(places).min()) ** 2
    assert inductance(polyline(places + 0j, Section(width=width))) == pytest.approx(whole, rel=accuracy)


@pytest.mark.parametrize("sides", [4, 5, 6, 180])
def test_polygons_of_thin_wire(sides):
    perimeter, radius = 4.0, 1e-3
    # A square section of the same mean distance from itself as the round wire, r exp(-1/4).
    size = radius * np.exp(-0.25) / float(geometric_mean_distance(0, 0, 1, 1, 1, 1))
    circumradius = perimeter / (2 * sides * np.sin(np.pi / sides))
    corners = circumradius * np.exp(2j * np.pi * np.arange(sides + 1) / sides) / MM
    value = inductance(polyline(corners, Section(width=size / MM, thickness=size / MM)))
    assert value == pytest.approx(polygon_of_wire(sides, perimeter, radius), rel=5e-4)


# By Neumann's integral (`neumann`); E. B. Rosa and F. W. Grover, Bulletin of the Bureau of Standards 8 (1),
# 1912, have the same.
@pytest.mark.parametrize(("long", "microhenry"), [(1.0, 5.107), (2.0, 8.0171)])
def test_rectangles_of_round_wire(long, microhenry):
    size = 1e-3 * np.exp(-0.25) / float(geometric_mean_distance(0, 0, 1, 1, 1, 1)) / MM
    corners = np.array([0, long, long + 1j, 1j, 0]) / MM
    value = inductance(polyline(corners, Section(width=size, thickness=size)))
    assert value == pytest.approx(microhenry * 1e-6, rel=2e-4)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sides", "turns", "apothem", "pitch", "width", "heights"),
    [
        (4, 2, 1.5, 1.2, 1.0, (0.0,)),
        (6, 2, 1.5, 1.2, 1.0, (0.0,)),
        (6, 2, 5.0, 0.5, 0.3, (0.0,)),
        (8, 2, 3.0, 0.8, 0.6, (0.0, 0.05)),
    ],
)
def test_against_many_filaments(sides, turns, apothem, pitch, width, heights):
    coil = polygon_spiral(sides, turns, apothem, pitch, Section(width=width, heights=heights))
    finest = [by_filaments(coil, count) for count in (6, 12, 24)]
    # Filaments come up from below, between the first and the second power of their number.
    assert 2.0 < (finest[1] - finest[0]) / (finest[2] - finest[1]) < 4.2
    assert inductance(coil) == pytest.approx(finest[2] + (finest[2] - finest[1]) / 2, rel=4e-4)


def by_filaments(conductor, count):
    """The mean over all pairs of mitred filaments across the width, with no further correction."""
    strips = mitred_strips(conductor)
    fine = [filament(strips, (k + 0.5) / count - 0.5) for k in range(count)]
    start, end, axis = (np.concatenate([one[n] for one in fine]) for n in range(3))
    z = np.tile(strips.z, count)
    section = (strips.width[0] / count, strips.thickness[0])
    rows = range(len(start))
    return sum(row_of_filaments(start, end, axis, z, section, k) for k in rows) / count**2


def row_of_filaments(start, end, axis, z, section, k):
    turn = axis[k].conjugate() * axis
    first, last = ((point - start[k]) * axis[k].conjugate() for point in (start, end))
    length = ((end[k] - start[k]) * axis[k].conjugate()).real
    level, tilted = np.abs(turn.imag) < 1e-7, (np.abs(turn.imag) >= 1e-7) & (np.abs(turn.real) > 1e-7)
    apart = geometric_mean_distance(first.imag[level], (z - z[k])[level], *section, *section)
    total = parallel_filaments(length, first.real[level], last.real[level], apart).sum()
    one = tuple(np.full(tilted.sum(), values[k]) for values in (start, end, axis))
    if tilted.any():
        total += skew_filaments(one, (start[tilted], end[tilted], axis[tilted]), (z - z[k])[tilted])[0].sum()
    return float(total)


@settings(max_examples=30)
@given(
    st.lists(st.builds(complex, st.floats(-5, 5), st.floats(-5, 5)), min_size=4, max_size=7),
    st.floats(0.05, 0.4),
)
def test_reciprocity(vertices, width):
    vertices = np.array(vertices)
    vertices = vertices[np.concatenate([[True], np.abs(np.diff(vertices)) > 0.5])]
    strips = mitred_strips(polyline(vertices, Section(width=width)))
    if len(strips) > 1:
        i, j = np.triu_indices(len(strips), 1)
        there, back = pair_inductances(strips, i, j), pair_inductances(strips, j, i)
        assert there == pytest.approx(back, rel=1e-6, abs=1e-15)


@pytest.mark.parametrize("sides", [3, 5, 8])
def test_a_mirror_image_has_the_same_inductance(sides):
    coil = polygon_spiral(sides, 6, 3.0, 0.5, Section(width=0.3))
    across = np.array([-1.0, 1.0])
    image = replace(coil, start=across * coil.start, end=across * coil.end)
    assert inductance(image) == pytest.approx(inductance(coil), rel=1e-9, abs=0)


@pytest.mark.parametrize("sides", [3, 8])
def test_strips_some_widths_apart_agree_with_many_filaments(sides, monkeypatch):
    coil = polygon_spiral(sides, 6, 3.0, 0.5, Section(width=0.3, heights=(0.0, -0.2)))
    found = inductance(coil)
    monkeypatch.setattr(strip_pairs, "_FOUR", strip_pairs._placing(*many_points(8)))
    assert found == pytest.approx(inductance(coil), rel=5e-7, abs=0)


def many_points(count):
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes / 2, weights / 2
