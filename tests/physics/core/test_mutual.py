"""What cores add to inductances of several windings: images in a wide slab, sums, currents that saturate."""

import numpy as np
import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.effect import on_two_grids
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.mutual import added_inductances
from coilgen.physics.field.filaments import Filaments, together
from coilgen.physics.inductance.coaxial_circles import mutual_inductance

MM = 1e-3
RADII, HEIGHTS = (4 * MM, 5 * MM), (0.8 * MM, 1.5 * MM)


def ring(radius, height, sides=48):
    """A polygon of a circle's area."""
    angle = 2 * np.pi * np.arange(sides) / sides
    out = radius * np.sqrt(2 * np.pi / sides / np.sin(2 * np.pi / sides))
    start = np.column_stack([out * np.cos(angle), out * np.sin(angle), np.full(sides, height)])
    thin = np.full(sides, 1e-5)
    return Filaments(start=start, end=np.roll(start, -1, axis=0), width=thin, thickness=thin)


RINGS = [ring(radius, height) for radius, height in zip(RADII, HEIGHTS, strict=True)]


def added(windings, currents, curve, cell=1 * MM):
    slab = Body(form="plate", size=(30 * MM, 30 * MM), thickness=4 * MM, bottom=-4 * MM)
    grids = on_two_grids(together(windings, [1.0] * len(windings)), (slab,), (curve,), cell)
    return added_inductances(grids, windings, currents)


@pytest.fixture(scope="module")
def pair():
    """Two rings over a slab that never saturates."""
    return added(RINGS, [1.0, -0.5], straight_curve(1000.0))


def test_a_wide_slab_adds_what_images_would(pair):
    """Maxwell's image in a half space; a slab so wide and thick lacks some per cent."""
    found, error = pair
    for a in range(2):
        for b in range(2):
            image = mutual_inductance(RADII[a], RADII[b], HEIGHTS[a] + HEIGHTS[b]) * 999 / 1001
            assert found[a, b] == pytest.approx(float(image), rel=0.06)
            assert 0 <= error[a, b] < 0.1 * found[a, b]


def test_windings_in_series_add_all_four(pair):
    (alone,), _ = added([together(RINGS, [1.0, 1.0])], [1.0], straight_curve(1000.0))
    assert alone[0] == pytest.approx(pair[0].sum(), rel=1e-3)
    (against,), _ = added([together(RINGS, [1.0, -1.0])], [1.0], straight_curve(1000.0))
    (own, mutual), (_, other) = pair[0]
    assert against[0] == pytest.approx(own - 2 * mutual + other, rel=1e-2)


def test_currents_that_cancel_leave_what_saturation_takes():
    """The tangent is that of all currents: one takes the core far, two against each other nowhere."""
    curve = saturating_curve(1000.0, 0.3)
    (none, one, both) = (
        added([RINGS[0], RINGS[0]], currents, curve, 2 * MM)[0]
        for currents in ([0, 0], [4000, 0], [4000, -4000])
    )
    assert both == pytest.approx(none, rel=1e-3)
    assert one[0, 0] < 0.8 * none[0, 0]
    assert one == pytest.approx(np.full((2, 2), one[0, 0]), rel=1e-3)
