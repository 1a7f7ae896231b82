"""Two windings face to face: published mutual inductances, reciprocity, and the laws of their force."""

import numpy as np
import pytest

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.field.biot_savart import flux_linkage
from coilgen.physics.field.filaments import filaments, lifted
from coilgen.physics.inductance.coaxial_circles import mutual_inductance as maxwell
from coilgen.physics.inductance.facing import force_between, linkage_between, mutual_inductance


def circles(radii, *, layers=1, sense=1.0, width=1e-4):
    """Flat circles in series on layers 0.2 mm apart, from the top down; to and fro, so that ends meet."""
    turns = [(radius, layer) for layer in range(layers) for radius in radii[:: 1 - 2 * (layer % 2)]]
    radius = np.array([r for r, _ in turns])
    layer = np.array([k for _, k in turns])
    point = np.column_stack([radius, np.zeros_like(radius)])
    return Conductor(
        start=point,
        end=point,
        centre=np.zeros_like(point),
        sweep=np.full(len(turns), sense * 2 * np.pi),
        width=np.full(len(turns), width),
        thickness=np.full(len(turns), 10e-6),
        z=-2e-4 * layer,
        layer=layer + 1,
    )


@pytest.mark.parametrize(
    ("radius", "other", "distance", "published"),
    [(0.25, 0.20, 0.10, 248.7874e-9), (0.25, 0.25, 0.01, 1036.66e-9)],
)
def test_coaxial_circles(radius, other, distance, published):
    """E. B. Rosa, F. W. Grover, Bulletin of the Bureau of Standards 8(1), 1912; so the elliptic integrals."""
    found = mutual_inductance(circles([radius]), circles([other]), distance)
    assert found == pytest.approx(published, rel=2e-5)


ONE = circles([3e-3, 3.5e-3, 4e-3], layers=2)
OTHER = circles([2e-3, 4.5e-3, 2e-3])


@pytest.mark.parametrize("height", [1e-3, 5e-3])
def test_reciprocity(height):
    """What one induces in the other the other induces in it."""
    assert mutual_inductance(OTHER, ONE, -height) == pytest.approx(
        mutual_inductance(ONE, OTHER, height), rel=1e-9
    )


def test_a_coil_turned_over_couples_the_other_way():
    over = circles([2e-3, 4.5e-3, 2e-3], sense=-1.0)
    assert mutual_inductance(ONE, over, 2e-3) == pytest.approx(-mutual_inductance(ONE, OTHER, 2e-3))


def test_layers_count_by_their_share_of_the_current():
    whole = mutual_inductance(ONE, OTHER, 2e-3)
    layers = [mutual_inductance(ONE, OTHER, 2e-3, ({1: a, 2: b}, {1: 1.0})) for a, b in ((1, 0), (0, 1))]
    assert sum(layers) == pytest.approx(whole)
    assert layers[0] > layers[1]
    assert mutual_inductance(ONE, OTHER, 2e-3, ({1: 0.5, 2: 0.5}, {1: 0.5})) == pytest.approx(whole / 4)


def test_the_force_is_the_slope_of_the_mutual_inductance():
    """F = I1 I2 dM/dz, J. D. Jackson, Classical Electrodynamics, section 5.16."""
    h, step = 2e-3, 1e-5
    slope = (mutual_inductance(ONE, OTHER, h + step) - mutual_inductance(ONE, OTHER, h - step)) / (2 * step)
    found = force_between(filaments(ONE), filaments(OTHER), h)
    assert found < 0
    assert found == pytest.approx(slope, rel=2e-3)


def test_maxwells_circles_draw_each_other():
    """Against the slope of Maxwell's formula for two circles; NIST DLMF 19.34.5."""
    a, b, h, step = 4e-3, 3e-3, 2e-3, 1e-6
    slope = float(maxwell(a, b, h + step) - maxwell(a, b, h - step)) / (2 * step)
    found = force_between(filaments(circles([a])), filaments(circles([b])), h)
    assert found == pytest.approx(slope, rel=2e-3)


@pytest.mark.parametrize("height", [0.5e-3, 3e-3])
def test_third_law(height):
    """Force on one is minus the force on the other."""
    one, other = filaments(ONE), filaments(OTHER)
    assert force_between(other, one, -height) == pytest.approx(-force_between(one, other, height), rel=1e-3)


def test_far_apart_two_moments_draw_each_other():
    """3 mu0 m1 m2 / 2 pi z^4 for coaxial dipoles; textbook."""
    one, other, far = filaments(ONE), filaments(OTHER), 0.2
    moments = 2 * np.pi * (3.0**2 + 3.5**2 + 4.0**2) * 1e-6, np.pi * (2 * 2.0**2 + 4.5**2) * 1e-6
    dipoles = -3 * 4e-7 * np.pi * moments[0] * moments[1] / (2 * np.pi * far**4)
    assert force_between(one, other, far) == pytest.approx(dipoles, rel=0.02)


@pytest.mark.parametrize("height", [2e-3, 6e-3])
def test_flux_along_the_path_is_the_mutual_inductance(height):
    found = linkage_between(filaments(ONE), filaments(OTHER), height)
    assert found == pytest.approx(mutual_inductance(ONE, OTHER, height), rel=2e-3)


@pytest.mark.parametrize("far", [0.1, 0.5])
def test_far_apart_the_flux_is_that_of_two_moments(far):
    """mu0 m1 m2 / 2 pi z^3 for coaxial dipoles; textbook."""
    moments = 2 * np.pi * (3.0**2 + 3.5**2 + 4.0**2) * 1e-6, np.pi * (2 * 2.0**2 + 4.5**2) * 1e-6
    dipoles = 4e-7 * np.pi * moments[0] * moments[1] / (2 * np.pi * far**3)
    assert linkage_between(filaments(ONE), filaments(OTHER), far) == pytest.approx(dipoles, rel=0.01)


def test_an_open_winding_is_closed_straight():
    """Half a circle closed by its chord, against Neumann's integral along the same closed path."""
    whole = circles([4e-3])
    half = Conductor(
        start=whole.start,
        end=-whole.start,
        centre=whole.centre,
        sweep=np.array([np.pi]),
        width=whole.width,
        thickness=whole.thickness,
        z=whole.z,
        layer=whole.layer,
    )
    linked = flux_linkage(ONE, half, np.array([0.0, 0.0, 2e-3]))
    assert mutual_inductance(ONE, half, 2e-3) == pytest.approx(linked, rel=2e-3)


def test_an_open_path_is_refused():
    whole = lifted(filaments(OTHER), np.zeros(3))
    half = type(whole)(
        start=whole.start[:9], end=whole.end[:9], width=whole.width[:9], thickness=whole.thickness[:9]
    )
    with pytest.raises(ValueError, match="closed"):
        force_between(filaments(ONE), half, 1e-3)
