"""A coarser grid's state as a start on a finer one."""

import numpy as np
import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.load import field_load
from coilgen.physics.core.magnetisation_curve import saturating_curve
from coilgen.physics.core.refined import refined
from coilgen.physics.core.soft_core import Magnetised, core, magnetised

PLATE = Body(form="plate", size=(8e-3, 6e-3), thickness=1e-3, bottom=-1e-3)
ROD = Body(form="rod", size=(3e-3, 3e-3), thickness=2e-3, bottom=0.2e-3)
CURVES = (saturating_curve(500.0, 0.4), saturating_curve(200.0, 1.0))


def laid(cell):
    return core(brick_grid((PLATE, ROD), cell), CURVES)


def test_an_even_magnetisation_stays_as_it_is_in_each_body():
    rough, fine = laid(0.8e-3), laid(0.4e-3)
    state = Magnetised(core=rough, m=rough.active * 7.0, load=rough.active)
    assert refined(state, fine) == pytest.approx(7.0 * fine.active)


def test_a_state_is_a_start_nearer_than_nothing():
    """Where a field saturates parts of both bodies."""
    rough, fine = laid(0.8e-3), laid(0.4e-3)

    def field(points):
        return np.column_stack(
            [0.3 + 60.0 * points[:, 0], 0.1 + 0.0 * points[:, 0], 0.2 - 40.0 * points[:, 2]]
        )

    told, sought = (magnetised(one, field_load(one.grid, field)) for one in (rough, fine))
    off = refined(told, fine) - sought.m
    weight = fine.own * fine.active
    assert off**2 @ weight < 0.05 * sought.m**2 @ weight
