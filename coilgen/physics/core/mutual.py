"""What soft cores add to the self and mutual inductances of several windings."""

from collections.abc import Sequence

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.effect import on_two_grids
from coilgen.physics.core.load import FluxDensity, winding_load
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.on_grid import SetUp, at_rest
from coilgen.physics.core.soft_core import magnetised, tangent_response
from coilgen.physics.core.two_grids import grid_error
from coilgen.physics.field.filaments import Filaments

_ACCURACY = 1e-4


def added_inductances(
    windings: Sequence[Filaments],
    currents: Sequence[float],
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    cell: float,
    applied: FluxDensity | None = None,
) -> tuple[Floats, Floats]:
    """H that bodies add for small changes about the currents, A: (n, n), symmetric, and the grids' errors.

    Change of one winding's flux by what another magnetises, dm/di from the tangent of the bodies' state. On
    grids of cells `cell` and twice as large, m; curves: one for each body; applied: flux density (n, 3) T at
    points (n, 3) m that magnetises them besides, as of a magnet.
    """
    grids = on_two_grids(windings[0], bodies, curves, cell, applied)
    fine, rough = (_added(grid, windings, currents) for grid in (grids.fine, grids.rough))
    return fine, grid_error(fine, rough)


def _added(one: SetUp, windings: Sequence[Filaments], currents: Sequence[float]) -> Floats:
    loads = np.array([one.load, *(winding_load(one.core.grid, path) for path in windings[1:])])
    return added_on(one, np.asarray(currents) @ loads, loads)


def added_on(one: SetUp, driven: Floats, loads: Floats) -> Floats:
    """H, (n, n), of windings with these loads at one ampere, (n, flat); driven: that of all currents."""
    rest = at_rest(one)
    start = None if one.applied is None else rest.m
    state = magnetised(one.core, rest.load + driven, start, tolerance=_ACCURACY)
    responses = np.array([tangent_response(state, load, accuracy=_ACCURACY) for load in loads])
    found = MU0 * loads @ responses.T
    symmetric: Floats = (found + found.T) / 2
    return symmetric
