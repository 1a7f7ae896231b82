"""Loads of windings on grids of many tiles, against the field of every strip at many points of every cell."""

import numpy as np
import pytest
from magnet_cases import magnet_flux_density

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.load import field_load, path_loads
from coilgen.physics.core.magnet_force import field_aside
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.core.tiles import tiles
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments

GAP = 0.2e-3


def winding() -> Filaments:
    """Forty turns on two layers, of chords; turns go on to the next by steps."""
    angle = np.linspace(0.0, 2.0 * np.pi * 40, 40 * 24 + 1)
    radius = 2e-3 + 6e-3 * np.abs(1.0 - angle / (40.0 * np.pi))
    points = np.column_stack(
        [radius * np.cos(angle), radius * np.sin(angle), np.where(angle < 40 * np.pi, 0.0, -0.4e-3)]
    )
    ones = np.ones(len(points))
    return Filaments(start=points, end=np.roll(points, -1, 0), width=0.15e-3 * ones, thickness=0.03e-3 * ones)


def plate(thickness: float, layers_apart: float = 0.0) -> tuple[Body, ...]:
    size = (16e-3, 13e-3)
    return (Body(form="plate", size=size, thickness=thickness, bottom=GAP + layers_apart),)


@pytest.mark.parametrize(("thickness", "cell"), [(1.5e-3, 1.1e-3), (0.1e-3, 1e-3), (4e-3, 1.6e-3)])
def test_loads_are_those_of_all_strips_at_many_points(thickness, cell):
    grid, path = brick_grid(plate(thickness), cell), winding()
    found = path_loads(grid, path).flat
    expected = field_load(grid, lambda points: path_flux_density(path, points), 8)
    assert np.linalg.norm(found - expected) < 6e-4 * np.linalg.norm(expected)


def test_cells_that_stand_higher_take_the_same_points():
    """A small rise is told smoothly: twice of it changes the load by twice as much."""
    grid, path = brick_grid(plate(0.5e-3), 0.9e-3), winding()
    usual, once, twice = (path_loads(grid, path, higher=by).flat for by in (0.0, 1e-6, 2e-6))
    assert np.linalg.norm(twice - 2 * once + usual) < 0.02 * np.linalg.norm(once - usual)


def test_cells_that_stand_higher_are_as_in_a_grid_there():
    path = winding()
    low, high = (brick_grid(plate(0.5e-3, by), 0.9e-3) for by in (0.0, 20e-6))
    found, expected = path_loads(low, path, higher=20e-6).flat, path_loads(high, path).flat
    assert np.linalg.norm(found - expected) < 3e-4 * np.linalg.norm(expected)


def test_nodes_tell_polynomials_exactly():
    grid = brick_grid(plate(1.5e-3), 0.7e-3)
    moments = np.zeros((2, 3, *grid.body.shape))

    def field(points):
        x, y, z = 1e3 * points.T
        return np.stack([x * y**2, y + z**2, z * x - 2 * y], axis=-1)

    for tiled in tiles(grid, 4):
        counts, nodes = tiled.nodes(4, 3.0)
        at = tiled.middle[:, :, None] + nodes
        told = field(np.moveaxis(at, 1, -1).reshape(-1, 3)).reshape(len(at), -1, 3)
        tiled.add_moments(moments, np.moveaxis(told, -1, 1), counts)
    found = np.abs(moments).sum()
    exact = field_load(grid, lambda points: MU0 * field(points), 4)
    by_faces = type(path_loads(grid, winding()))(grid=grid, moments=moments).flat
    assert found > 0.0
    np.testing.assert_allclose(by_faces, exact, rtol=1e-9, atol=1e-12 * np.abs(exact).max())


def test_a_magnet_aside_is_told_by_nodes_where_it_is_far():
    grid = brick_grid(plate(1.2e-3), 0.5e-3)
    magnet = Magnet(form="disc", size=(5e-3, 5e-3), height=2e-3, remanence=1.2, centre=(1e-3, 0.0, 4e-3))
    found = field_load(grid, field_aside(magnet))
    expected = field_load(grid, lambda points: magnet_flux_density(magnet, points), 5)
    assert np.linalg.norm(found - expected) < 1e-4 * np.linalg.norm(expected)
