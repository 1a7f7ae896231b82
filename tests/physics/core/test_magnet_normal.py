"""Normal flux density of magnets: magpylib's closed forms, values on the axis, finite on edges."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from magnet_cases import MAGNETS, magpylib_source

from coilgen.physics.core.magnet_normal import magnet_normal_flux_density

ALL = {**MAGNETS, "ring across": replace(MAGNETS["ring"], pole=(1.0, 2.0, 0.5))}


@pytest.mark.parametrize("name", ALL)
def test_is_magpylibs_in_and_around_the_magnet(name):
    magnet = ALL[name]
    points = np.array(magnet.centre) + np.random.default_rng(5).uniform(-5e-3, 5e-3, (300, 3))
    ours, theirs = magnet_normal_flux_density(magnet, points), magpylib_source(magnet).getB(points)[:, 2]
    assert np.allclose(ours, theirs, atol=1e-8)


@given(st.floats(0.5e-3, 20e-3), st.floats(0.3e-3, 20e-3), st.floats(0.0, 30e-3))
def test_on_a_discs_axis_it_is_the_textbooks(diameter, height, above):
    """Br / 2 times the difference of both ends' cosines; textbook."""
    disc = replace(MAGNETS["disc"], size=(diameter, diameter), height=height, centre=(0.0, 0.0, 0.0))
    far, near, radius = above + height, above, diameter / 2
    expected = 0.5 * disc.remanence * (far / np.hypot(far, radius) - near / np.hypot(near, radius))
    found = magnet_normal_flux_density(disc, np.array([[0.0, 0.0, above + height / 2]]))
    assert found[0] == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", ALL)
@given(st.sampled_from([-0.5, 0.0, 0.5]), st.sampled_from([-0.5, 0.0, 0.5]), st.sampled_from([-0.5, 0.5]))
@settings(max_examples=12)
def test_is_finite_on_faces_edges_and_corners(name, x, y, z):
    magnet = ALL[name]
    at = np.array(magnet.centre) + np.array([[x * magnet.size[0], y * magnet.size[1], z * magnet.height]])
    found = magnet_normal_flux_density(magnet, at)
    assert np.all(np.abs(found) < 20.0 * magnet.remanence)
