"""The field from above: the axis, mirrored coils, no net flux, magnets and cores as mounted, the film."""

from itertools import pairwise

import magpylib
import numpy as np
import pytest
from core_cases import FLEX, SMALL, case, core

from coilgen.exports.page._contours import contours
from coilgen.figures.core._flux_density import flux_density
from coilgen.figures.core._magnetics import core_effect
from coilgen.figures.field.over_board import ACROSS, normal_flux_density
from coilgen.physics.core.charge_field import core_flux_density
from coilgen.result.viewing_film import viewing_film

MAGNET = """
[magnet]
remanence = "1.2 T"
diameter = 4
thickness = 2
gap = 1.5
offset = [1, -0.5]
"""


def as_grid(coil):
    """x, y, and Bz (rows along y)."""
    rows = coil.value("flux_density_over_board")
    x, y = (np.array(sorted({row[axis] for row in rows})) for axis in "xy")
    return x, y, np.array([row["flux_density"] for row in rows]).reshape(ACROSS, ACROSS)


@pytest.fixture(scope="module")
def small():
    return case(SMALL)


def test_covers_the_winding_and_meets_the_field_on_the_axis(small):
    x, y, field = as_grid(small)
    assert len(x) == len(y) == ACROSS
    assert max(x) == -min(x) > small.design.winding.outer_size / 2
    axis = small.value("flux_density")[0]
    assert (axis["side"], axis["height"]) == ("top", 1e-3)
    assert field[ACROSS // 2, ACROSS // 2] == pytest.approx(axis["flux_density"], rel=1e-4)


def test_a_clockwise_coil_is_the_mirror_image(small):
    *_, field = as_grid(small)
    *_, other = as_grid(case(SMALL.replace("layers = 2", 'layers = 2\ndirection = "clockwise"')))
    assert other == pytest.approx(-field[:, ::-1], abs=1e-4 * np.abs(field).max())


def test_what_a_magnet_adds_is_magpylibs_field(small):
    x, y, field = as_grid(case(SMALL, MAGNET))
    height = 1e-3
    source = magpylib.magnet.Cylinder(
        polarization=(0, 0, 1.2), dimension=(4e-3, 2e-3), position=(1e-3, -0.5e-3, 2.5e-3)
    )
    own = source.getB(np.stack(np.broadcast_arrays(x[None, :], y[:, None], height), axis=-1))[..., 2]
    points = np.column_stack([*(each.ravel() for each in np.meshgrid(x, y)), np.full(ACROSS**2, height)])
    bare = normal_flux_density(small, lambda _: points)
    assert field == pytest.approx(own + bare.reshape(ACROSS, ACROSS), abs=2e-4 * np.abs(field).max())


def test_no_flux_goes_through_a_wide_plane_but_a_dipoles():
    """Through a disc of radius R at a height z goes mu0 m R^2 / 2 (R^2 + z^2)^1.5; textbook."""
    coil = case(SMALL.replace("0.5", "20"), MAGNET.replace("[1, -0.5]", "[0, 0]"))
    node, weight = np.polynomial.legendre.leggauss(12)
    ends = [0.0, 2e-3, 3e-3, 4e-3, 5e-3, 6e-3, 8e-3, 16e-3, 40e-3, 100e-3]
    radius = np.concatenate([(a + b) / 2 + (b - a) / 2 * node for a, b in pairwise(ends)])
    share = np.concatenate([(b - a) / 2 * weight for a, b in pairwise(ends)])
    angle = 2 * np.pi * np.arange(64) / 64
    points = np.stack(
        [np.outer(radius, np.cos(angle)), np.outer(radius, np.sin(angle)), np.full((108, 64), 1e-3)], axis=-1
    )
    field = normal_flux_density(coil, lambda _: points.reshape(-1, 3)).reshape(108, 64).mean(axis=1)
    ring = 2 * np.pi * radius * share
    moment = coil.value("moment") + 1.2 / (4e-7 * np.pi) * np.pi * 4e-6 * 2e-3
    assert ring @ field == pytest.approx(4e-7 * np.pi * moment / 2 / 0.1, rel=5e-3)
    assert abs(ring @ field) < 0.05 * ring @ np.abs(field)


def test_cores_count_as_winding_and_magnet_magnetise_them():
    coil = case(SMALL, MAGNET, core("soft iron", form="disc", diameter=8, thickness=1.0))
    effect, at = core_effect(coil), np.array([[0.0, 0.0, 1e-3], [1e-3, -0.5e-3, 1e-3], [4e-3, 1e-3, 1e-3]])
    whole = normal_flux_density(coil, lambda _: at)
    own = normal_flux_density(case(SMALL, MAGNET), lambda _: at) - flux_density(case(SMALL), at)[:, 2]
    rest = core_flux_density(effect.rest, at)[:, 2]
    assert whole == pytest.approx(own + flux_density(coil, at)[:, 2] + rest, rel=1e-6)
    assert rest[1] > 0.02 * own[1]


def test_a_film_turns_dark_inside_its_contours():
    coil = case(SMALL.replace("0.5", "10"))
    x, y, field = as_grid(coil)
    values = {(a, b): float(field[j, i]) for i, a in enumerate(x) for j, b in enumerate(y)}
    level = viewing_film().threshold
    (line,) = contours(x.tolist(), y.tolist(), values, level)
    assert contours(x.tolist(), y.tolist(), values, -level) == ()
    a, b = np.array(line).T
    inside = 0.5 * abs(np.sum(a[:-1] * b[1:] - a[1:] * b[:-1]))
    film = coil.figure("viewing_film_area")
    assert film.value == pytest.approx(inside, rel=0.03)
    assert 0.0 < film.band[0] < film.value < film.band[1]


def test_a_film_shows_nothing_of_a_weak_coil_and_does_not_follow_a_sine(small):
    assert small.value("viewing_film_area") == 0.0
    assert small.figure("viewing_film_area").band is None
    assert "largest there 603 µT" in small.figure("viewing_film_area").model
    sine = 'current = 10\nwaveform = "sine"\nfrequency = 50'
    assert case(SMALL.replace("current = 0.5", sine)).figure("viewing_film_area") is None


def test_a_plane_through_the_magnet_says_so():
    coil = case(FLEX, MAGNET.replace("1.5", "0.2"))
    assert "through the magnet" in coil.figure("flux_density_over_board").model
    assert coil.figure("viewing_film_area") is None
