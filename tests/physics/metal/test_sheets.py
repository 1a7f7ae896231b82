"""Plates of any outline: against round bodies, an independent solution, measurement, and laws."""

import numpy as np
import pytest
from edge_elements import Block, added_inductances
from metal_cases import INNER, MM, circle_path, plate_grid, skin_depth
from team7 import COIL, FREQUENCIES, MEASURED, POINTS, plate_field
from team7 import plate_grid as team7_grid

from coilgen.physics.base.graded_lines import Fine, graded_lines
from coilgen.physics.field.kernel import flux_density_per_ampere
from coilgen.physics.metal.relaxation import added_inductance
from coilgen.physics.metal.ring_field import averaged_rings
from coilgen.physics.metal.round_bodies import round_metal
from coilgen.physics.metal.round_mesh import RoundBody
from coilgen.physics.metal.sheet_flux import path_flux, ring_flux
from coilgen.physics.metal.sheet_grid import OF_SKIN, layers, openings
from coilgen.physics.metal.sheets import sheet_currents

ALUMINIUM = 25e6
FREQUENCY = np.array([3e2, 1e3, 3e3, 1e4, 1e5])


def added(grid, frequency=FREQUENCY):
    currents = sheet_currents(grid, ring_flux(grid, INNER), 10.0, 1e5)
    return added_inductance(currents.relaxation, frequency)


def test_disc_on_a_square_grid():
    disc = RoundBody(inner=0.0, outer=12 * MM, bottom=-1.3 * MM, top=-0.3 * MM, conductivity=ALUMINIUM)
    exact = added_inductance(round_metal([disc], INNER, 10.0, 1e5, detail=0.3 * MM).relaxation, FREQUENCY)
    grid = plate_grid(24 * MM, 48, ALUMINIUM, 1e5, blocked=lambda x, y: np.hypot(x, y) >= 12 * MM)
    found = added(grid)
    assert found.real == pytest.approx(exact.real, rel=0.015)
    assert found.imag == pytest.approx(exact.imag, rel=0.015)


@pytest.mark.slow
def test_square_plate():
    """Within 3 % of edge elements in three dimensions, which let currents pass from layer to layer."""
    block = Block(half=(12 * MM, 12 * MM), bottom=-1.3 * MM, top=-0.3 * MM, conductivity=ALUMINIUM)
    across = [Fine(low=12 * MM, high=12 * MM, spacing=MM), Fine(low=0.0, high=10 * MM, spacing=1.2 * MM)]
    upward = [Fine(low=z, high=z, spacing=0.12 * MM) for z in (block.bottom, block.top)]
    lines = (graded_lines(across, 0.0, 80 * MM),) * 2 + (graded_lines(upward, -80 * MM, 80 * MM),)
    circles = [(a, 0.0) for a in INNER.radius]
    exact = added_inductances(block, circles, lines, FREQUENCY)
    found = added(plate_grid(24 * MM, 48, ALUMINIUM, 1e5))
    assert found.real == pytest.approx(exact.real, rel=0.03)
    assert found.imag == pytest.approx(exact.imag, rel=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("frequency", FREQUENCIES)
def test_measured_plate_with_a_hole(frequency):
    """TEAM problem 7, Fujiwara and Nakata 1990: mean square deviation over the peak, along both lines."""
    grid = team7_grid(49)
    currents = sheet_currents(grid, path_flux(grid, COIL), 1.0, 3000.0)
    field = 1e4 * (
        flux_density_per_ampere(COIL, POINTS)[:, 2] + plate_field(grid, currents, POINTS, frequency)
    )
    for line, measured in enumerate(MEASURED[frequency]):
        found = field[17 * line : 17 * (line + 1)]
        found = np.column_stack([found.real, -found.imag])
        deviation = np.sqrt(np.mean((found - measured) ** 2, axis=0)) / np.abs(measured).max()
        assert np.all(deviation < (0.03 if frequency == 50.0 else 0.05))


def test_a_slit_stops_the_current():
    """A washer that is cut through carries far less round the coil; a hole alone takes little."""
    hole = lambda x, y: np.hypot(x, y) < 3 * MM  # noqa: E731  # two outlines side by side
    slit = lambda x, y: hole(x, y) | ((np.abs(y) < 0.3 * MM) & (x > 0))  # noqa: E731
    whole, pierced, cut = (
        abs(added(plate_grid(24 * MM, 48, ALUMINIUM, 1e5, blocked=blocked), 1e4).real)
        for blocked in (None, hole, slit)
    )
    assert 0.8 * whole < pierced < whole
    assert cut < 0.75 * pierced


def test_a_plate_aside_of_the_coil_does_less():
    near, aside = (
        added(plate_grid(12 * MM, 24, ALUMINIUM, 1e5, centre=(x, 0.0)), 1e4).real for x in (0.0, 15 * MM)
    )
    assert near < aside < 0.0


def test_same_plate_turned():
    grid = plate_grid(24 * MM, 32, ALUMINIUM, 1e5, depth=12 * MM)
    turned = plate_grid(12 * MM, 16, ALUMINIUM, 1e5, depth=24 * MM)
    assert added(grid, 1e4) == pytest.approx(added(turned, 1e4), rel=1e-3)


def test_flux_of_rings_and_of_a_path():
    """The rings of a winding's mean over all directions make the field of circles."""
    grid = plate_grid(24 * MM, 24, ALUMINIUM, 1e4)
    path = circle_path(INNER)
    rings = averaged_rings(path, lambda _: 0.1 * MM)
    assert rings.share.sum() == pytest.approx(10.0)
    assert (rings.share * rings.radius**2).sum() == pytest.approx((INNER.radius**2).sum(), rel=1e-3)
    found, exact = ring_flux(grid, rings), ring_flux(grid, INNER)
    assert found == pytest.approx(exact, abs=2e-3 * np.abs(exact).max())
    assert path_flux(grid, path).sum() == pytest.approx(exact.sum(), rel=5e-3)


def test_skin_of_layers():
    thin = layers(3 * MM, skin_depth(ALUMINIUM, 1e6))
    assert thin.sum() == pytest.approx(3 * MM)
    assert thin[0] == thin[-1] == pytest.approx(OF_SKIN * skin_depth(ALUMINIUM, 1e6))


def test_openings_are_holes_unless_they_reach_the_outline():
    rows = ["........", ".##..#..", ".#....#.", "........", "...##..#", "..#....#"]
    blocked = np.array([[mark == "#" for mark in row] for row in rows])
    metal, holes = openings(blocked)
    assert np.array_equal(metal, ~blocked)
    assert [np.argwhere(hole).tolist() for hole in holes] == [[[1, 1], [1, 2], [2, 1]], [[1, 5], [2, 6]]]
