"""Combined states: windings of rings between those solved, beside full solutions of each."""

import numpy as np
import pytest
from magnet_cases import magnet_flux_density

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.combined import beside_cores, beside_target
from coilgen.physics.core.holding import holding
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnet_force import force_on_magnet, force_with_core
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.core.magnetisation_curve import straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.filaments import Filaments, together

PLATE = Body(form="plate", size=(12e-3, 12e-3), thickness=1e-3, bottom=-1.3e-3)
TARGET = Body(form="plate", size=(8e-3, 8e-3), thickness=1e-3, bottom=0.8e-3)
STEEL, CELL = straight_curve(500.0), 1e-3
RADII = np.linspace(2e-3, 5.5e-3, 10)
TIMES = np.array([0.0, 0.2, 1.0, 1.3, 0.0, 0.7, 1.0, 1.0, 0.4, 1.0])


def ring(radius, sides=48):
    angle = 2 * np.pi * np.arange(sides) / sides
    start = radius * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    size = np.full(sides, 2e-4), np.full(sides, 35e-6)
    return Filaments(start=start, end=np.roll(start, -1, axis=0), width=size[0], thickness=size[1])


RINGS = [ring(radius) for radius in RADII]
WINDING = together(RINGS, TIMES)


def test_linkage_is_that_of_the_whole_solution_within_a_thousandth_from_fewer_states() -> None:
    found = beside_cores(RINGS, (PLATE,), (STEEL,), CELL, TIMES)
    one = core(brick_grid((PLATE,), CELL), (STEEL,))
    load = winding_load(one.grid, WINDING)
    assert TIMES @ found.linkage @ TIMES == pytest.approx(coupled(magnetised(one, load), load), rel=1e-3)
    assert found.states < len(RINGS)


def test_pull_is_that_of_virtual_work_on_the_whole_solution() -> None:
    found = beside_target(RINGS, TARGET, (PLATE,), (STEEL, STEEL), CELL, TIMES)
    whole = holding(WINDING, TARGET, (PLATE,), (STEEL, STEEL), CELL)
    assert 4.0 * TIMES @ found.pull @ TIMES == pytest.approx(whole.pull(2.0), rel=3e-3)
    both = magnetised(whole.core, whole.load)
    assert TIMES @ found.linkage @ TIMES == pytest.approx(MU0 * whole.load @ both.m, rel=1e-3)


def test_push_is_what_turns_with_the_current_beside_cores() -> None:
    magnet = Magnet(form="disc", size=(5e-3, 5e-3), height=2e-3, remanence=1.2, centre=(0.0, 0.0, 2.5e-3))
    found = beside_cores(
        RINGS, (PLATE,), (STEEL,), CELL, TIMES, magnet, lambda points: magnet_flux_density(magnet, points)
    )
    one = core(brick_grid((PLATE,), CELL), (STEEL,))
    whole = force_with_core(WINDING, one, winding_load(one.grid, WINDING), magnet, 1.0)
    bare = force_on_magnet(WINDING, magnet).force[2]
    assert TIMES @ found.push + bare == pytest.approx(whole.odd[2], rel=2e-3)
