"""What soft cores add to the self and mutual inductances of several windings."""

from collections.abc import Sequence

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.on_grid import SetUp
from coilgen.physics.core.soft_core import magnetised, tangent_response
from coilgen.physics.core.two_grids import TwoGrids, grid_error
from coilgen.physics.field.filaments import Filaments

_ACCURACY = 1e-4


def added_inductances(
    grids: TwoGrids[SetUp], windings: Sequence[Filaments], currents: Sequence[float]
) -> tuple[Floats, Floats]:
    """H that bodies add for small changes about the currents, A: (n, n), symmetric, and the grids' errors.

    Change of one winding's flux by what another magnetises, dm/di from the tangent of the bodies' state.
    """
    fine, rough = (_added(grid, windings, currents) for grid in (grids.fine, grids.rough))
    return fine, grid_error(fine, rough)


def _added(one: SetUp, windings: Sequence[Filaments], currents: Sequence[float]) -> Floats:
    loads = np.array([winding_load(one.core.grid, path) for path in windings])
    return added_on(one, np.asarray(currents) @ loads, loads)


def added_on(one: SetUp, driven: Floats, loads: Floats) -> Floats:
    """H, (n, n), of windings with these loads at one ampere, (n, flat); driven: that of all currents."""
    rest = one.rest
    start = None if one.applied is None else rest.m
    state = magnetised(one.core, rest.load + driven, start, tolerance=_ACCURACY)
    responses = np.array([tangent_response(state, load, accuracy=_ACCURACY) for load in loads])
    found = MU0 * loads @ responses.T
    symmetric: Floats = (found + found.T) / 2
    return symmetric
