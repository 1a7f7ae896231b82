"""Bodies far apart on windows of a grid, against the whole grid as one window."""

import numpy as np
import pytest

from coilgen.physics.core import interaction as interactions
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.far_windows import windows
from coilgen.physics.core.magnetisation_curve import straight_curve
from coilgen.physics.core.soft_core import core, magnetised

CURVE = straight_curve(500.0)


def rods(*places: tuple[float, float], diameter: float = 3e-3) -> tuple[Body, ...]:
    return tuple(
        Body(form="rod", size=(diameter, diameter), thickness=1.6e-3, bottom=0.0, centre=(x * 1e-3, y * 1e-3))
        for x, y in places
    )


ON_RING = [(8 * np.cos(angle), 8 * np.sin(angle)) for angle in 2 * np.pi * np.arange(5) / 5]
TALL = Body(form="plate", size=(2e-3, 3e-3), thickness=4e-3, bottom=-1e-3, centre=(12e-3, 1e-3))


def both_ways(bodies, monkeypatch):
    grid = brick_grid(bodies, 0.5e-3)
    curves = (CURVE,) * len(bodies)
    apart = core(grid, curves)
    whole = np.zeros((1, 2), dtype=np.int64), grid.body.shape[1:]
    monkeypatch.setattr(interactions, "windows", lambda grid: whole)
    return apart, core(grid, curves)


@pytest.mark.parametrize("bodies", [rods(*ON_RING), (*rods((0.0, 0.0)), TALL)], ids=["ring", "unlike"])
def test_charges_feel_those_far_off(bodies, monkeypatch):
    apart, whole = both_ways(bodies, monkeypatch)
    assert len(apart.between.windows) == len(bodies)
    assert len(whole.between.windows) == 1
    m = (1.0 + np.random.default_rng(3).normal(size=whole.active.shape)) * whole.active
    # What one body's charges do in the others alone, beside which their own would hide an error.
    own = brick_grid(bodies, 0.5e-3).body
    only = np.zeros_like(whole.active)
    for axis in whole.cells.ends:
        for faces in axis:
            only[faces[own[own >= 0] == 0]] = 1.0
    found, expected = ((1.0 - only) * one.demagnetising(m * only) for one in (apart, whole))
    assert np.linalg.norm(found - expected) < 5e-4 * np.linalg.norm(expected)
    found, expected = (one.demagnetising(m) for one in (apart, whole))
    assert np.linalg.norm(found - expected) < 1e-5 * np.linalg.norm(expected)


def test_the_magnetisation_is_the_same(monkeypatch):
    apart, whole = both_ways(rods(*ON_RING), monkeypatch)
    load = whole.active * np.random.default_rng(5).normal(size=whole.active.shape)
    found, expected = (magnetised(one, load, tolerance=1e-8).m for one in (apart, whole))
    assert np.linalg.norm(found - expected) < 1e-5 * np.linalg.norm(expected)


def test_bodies_near_one_another_share_a_window():
    near = brick_grid(rods((0.0, 0.0), (4.0, 0.0)), 0.5e-3)
    first, size = windows(near)
    assert (len(first), size) == (1, near.body.shape[1:])


def test_windows_stay_within_the_grid_and_hold_all_cells():
    grid = brick_grid((*rods((0.0, 0.0)), TALL), 0.5e-3)
    first, (wide, deep) = windows(grid)
    held = np.zeros(grid.body.shape[1:], dtype=int)
    for i, j in first:
        assert i >= 0
        assert j >= 0
        held[i : i + wide, j : j + deep] += 1
    assert held[grid.filled.any(axis=0)].min() == 1
    assert held.max() == 1
    assert held.sum() == len(first) * wide * deep
