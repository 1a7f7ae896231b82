"""Distances at which the field has fallen to a level, against a dipole's; points over a disc."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.plane_field import disc_points, distance_to_level, largest_at, summit
from coilgen.physics.field.strip_field import strips_flux_density

ACROSS = disc_points(5e-3, rings=8)


def dipole(moment, depth):
    """Field of a dipole along z, `depth` under the origin."""

    def field(points):
        r = points + np.array([0.0, 0.0, depth])
        distance = np.linalg.norm(r, axis=1)[:, None]
        along = 3.0 * r * r[:, 2:] / distance**2
        return 1e-7 * moment * (along - [0.0, 0.0, 1.0]) / distance**3

    return field


@given(st.floats(1e-4, 10.0), st.floats(1e-3, 2e-2))
def test_a_dipole_falls_with_the_cube_of_the_distance(moment, depth):
    level = 5e-4
    found = distance_to_level(dipole(moment, depth), ACROSS, face=0.0, outward=1.0, level=level)
    expected = max(0.0, (2e-7 * moment / level) ** (1 / 3) - depth)
    assert found == pytest.approx(expected, rel=1e-3, abs=1e-3 * depth)


def test_both_sides_of_a_mirror_are_alike():
    field = dipole(1.0, 4e-3)
    up = distance_to_level(field, ACROSS, face=0.0, outward=1.0, level=5e-4)
    down = distance_to_level(
        lambda points: field(points * [1, 1, -1]), ACROSS, face=0.0, outward=-1.0, level=5e-4
    )
    assert up == down > 0.0


def test_the_nearer_side_is_not_sought():
    def distance(least):
        return distance_to_level(dipole(1.0, 4e-3), ACROSS, face=0.0, outward=1.0, level=5e-4, least=least)

    alone = distance(0.0)
    assert distance(1.5 * alone) == 1.5 * alone
    assert distance(0.5 * alone) == pytest.approx(alone, rel=1e-3)


def test_the_largest_of_a_plane_is_on_the_axis_of_a_dipole():
    field = dipole(1.0, 4e-3)
    assert largest_at(field, ACROSS, 1e-3) == pytest.approx(2e-7 / 5e-3**3, rel=1e-12)


def test_a_loop_on_its_axis():
    """mu0 I a^2 / 2 (a^2 + z^2)^(3/2); e.g. J. D. Jackson, Classical Electrodynamics, section 5.5.

    Where the loop is near, the field is larger off the axis; far from it the axis has the largest.
    """
    angle = np.linspace(0, 2 * np.pi, 241)
    ring = 5e-3 * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    bare = np.zeros(240)
    path = Filaments(start=ring[:-1], end=ring[1:], width=bare, thickness=bare)

    def field(points):
        return 50.0 * strips_flux_density(path, points)

    found = distance_to_level(field, ACROSS, face=1e-3, outward=1.0, level=2e-4)
    expected = ((2e-7 * np.pi * 50.0 * 25e-6 / 2e-4) ** (2 / 3) - 25e-6) ** 0.5 - 1e-3
    assert found == pytest.approx(expected, rel=2e-3)


def test_points_reach_over_the_disc():
    radius = np.hypot(*disc_points(3.0, rings=3, spokes=4).T)
    assert sorted(set(np.round(radius, 12))) == [0.0, 1.0, 2.0, 3.0]
    assert len(radius) == 13


def test_a_field_that_stays_just_over_the_level_is_followed_to_where_it_falls():
    """As over a wide magnetised sheet: it falls by a thousandth in a hundred radii, then as a dipole's."""

    def field(points):
        height = points[:, 2] / ACROSS.max()
        size = 5e-4 * (1.002 - 1e-5 * height) / (1.0 + (height / 120.0) ** 12) ** 0.25
        return size[:, None] * [0.0, 0.0, 1.0]

    found = distance_to_level(field, ACROSS, face=0.0, outward=1.0, level=5e-4)
    assert largest_at(field, ACROSS, found) == pytest.approx(5e-4, rel=3e-3)
    assert largest_at(field, ACROSS, 1.2 * found + 0.05) < 5e-4


def test_the_summit_is_found_between_the_lines_and_the_higher_of_two_taken():
    """Two hills off the lines: a broad one, and a narrow one that is a little higher."""

    def size(points):
        broad = np.exp(-((points[:, 0] - 2.3) ** 2 + (points[:, 1] - 1.1) ** 2))
        narrow = 1.2 * np.exp(-4.0 * ((points[:, 0] + 1.7) ** 2 + (points[:, 1] + 0.6) ** 2))
        return broad + narrow

    x, y = np.meshgrid(np.linspace(-4.0, 4.0, 17), np.linspace(-3.0, 3.0, 9))
    lines = np.stack([x, y, np.full_like(x, 0.5)], axis=-1)
    place, most = summit(size, lines, size(lines.reshape(-1, 3)).reshape(x.shape), 0.4)
    assert place == pytest.approx([-1.7, -0.6, 0.5], abs=0.03)
    assert most == pytest.approx(1.2, rel=1e-3)
