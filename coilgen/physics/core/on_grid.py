"""Soft cores solved on one grid: at a current and at rest, and anew from a state near by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.load import CellLoads, FluxDensity, field_load, path_loads
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.refined import refined
from coilgen.physics.core.soft_core import (
    Core,
    Magnetised,
    alike,
    core,
    coupled,
    flux_densities,
    magnetised,
    strength,
    tangent_response,
)
from coilgen.physics.field.filaments import Filaments

EXACTLY = 1e-4
"""Residual of the cores' state: inductances feel a hundredth of it, the field outside twice as much."""


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """Bodies on a grid before they are magnetised.

    loads: of one ampere in the winding; applied: that of what magnetises them besides (flat, A m2), or None.
    near: of which these differ a little. rougher: the same on larger cells, from whose rest theirs is sought.
    """

    core: Core
    loads: CellLoads
    applied: Floats | None
    near: SetUp | None = None
    rougher: Callable[[], SetUp] | None = None

    @cached_property
    def load(self) -> Floats:
        """Of one ampere in the winding (flat, A m2)."""
        return self.loads.flat

    @cached_property
    def rest(self) -> Magnetised:
        """Without current."""
        if self.rougher is None or self.applied is None or self.straight:
            return at_rest(self)
        start = refined(self.rougher().rest, self.core)
        return magnetised(self.core, self.applied, start, tolerance=EXACTLY)

    @cached_property
    def response_at_rest(self) -> Floats:
        """Change of the magnetisation for a small current about none, per ampere of it (flat, 1/m)."""
        near = self.near or self
        return tangent_response(self.rest, self.load, near=near.rest, accuracy=0.5 * EXACTLY)

    @property
    def slope_at_rest(self) -> float:
        """H, of the linkage about no current."""
        return MU0 * float(self.load @ self.response_at_rest)

    @property
    def straight(self) -> bool:
        """Whether no body saturates."""
        return self.core.cells.straight

    def made_of(self, permeability: float = 1.0, saturation: float = 1.0) -> SetUp:
        """With all materials' permeability and saturation times factors."""
        return replace(self, core=self.core.made_of(permeability, saturation), near=self)

    def applied_times(self, share: float) -> SetUp:
        """With what magnetises the bodies besides the winding times a factor."""
        return self if self.applied is None else replace(self, applied=share * self.applied, near=self)


def set_up(
    path: Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    cell: float,
    applied: FluxDensity | None = None,
    like: SetUp | None = None,
    near: SetUp | None = None,
) -> SetUp:
    """Bodies on cells `cell` (m) wide, or on those of others `like` them; curves: one for each.

    applied: flux density (n, 3) T at points (n, 3) m that magnetises them besides. near: others at the same
    winding, of which what stands in the same places is taken over.
    """
    known = like or near
    grid = brick_grid(bodies, cell, None if like is None else like.core.grid)
    return SetUp(
        core=core(grid, curves, None if known is None else known.core),
        loads=path_loads(grid, path, known=None if known is None else known.loads),
        applied=None if applied is None else field_load(grid, applied),
        near=near,
    )


@dataclass(frozen=True, kw_only=True)
class OnGrid:
    """What bodies do at a current (A) on one grid.

    linkage: Wb that the current makes them add. state, rest: the magnetisation at the current and without.
    near: a state that led to it.
    """

    setup: SetUp
    current: float
    linkage: float
    state: Magnetised
    rest: Magnetised
    near: Magnetised

    @cached_property
    def slope(self) -> float:
        """H, of the linkage at the current."""
        return MU0 * float(self.setup.load @ self.response)

    @cached_property
    def response(self) -> Floats:
        """Change of the magnetisation for a small change of the current, per ampere of it (flat, 1/m)."""
        return self._response(self.state)

    @cached_property
    def at_rest(self) -> float:
        """H, of the linkage about no current; found once for all currents where the setup's own rest is."""
        own = self.rest is vars(self.setup).get("rest")  # asked for, the setup's would be solved
        if own and not self.setup.straight:
            return self.setup.slope_at_rest
        return MU0 * float(self.setup.load @ self._response(self.rest))

    def _response(self, state: Magnetised) -> Floats:
        usual = self.change.m / self.current
        if self.setup.straight:
            return usual
        return tangent_response(state, self.setup.load, usual, self.near, accuracy=EXACTLY)

    @property
    def change(self) -> Magnetised:
        """What the current changes in the magnetisation."""
        return change(self.state, self.rest)

    @property
    def peaks(self) -> Floats:
        """99th percentile of |B| by volume in each body, T."""
        return inside(self.state)[0]


def on_grid(
    setup: SetUp, current: float, near: OnGrid | None = None, rest: Magnetised | None = None
) -> OnGrid:
    """Solved at a current (A, not 0), from a state near by where one of the same grid is known.

    rest: without current, where it is known.
    """
    if near is not None and len(near.state.m) != len(setup.load):
        near = None
    rest = rest or _rest(setup, near)
    leading = near.state if near is not None and alike(near.setup.core, setup.core) else rest
    start = rest.m + _foreseen(setup, current, near)
    state = magnetised(setup.core, rest.load + current * setup.load, start, leading, tolerance=EXACTLY)
    linkage = coupled(change(state, rest), setup.load)
    return OnGrid(setup=setup, current=current, linkage=linkage, state=state, rest=rest, near=leading)


def _foreseen(setup: SetUp, current: float, near: OnGrid | None) -> Floats:
    """What a current is to change in the magnetisation, A/m, by the responses of states that are known.

    Those at rest serve all currents, and far from saturation little is left to do.
    """
    if near is None:
        return current * setup.response_at_rest
    if near.setup is setup:
        return near.change.m + (current - near.current) * near.response
    if setup.applied is not None:
        return near.change.m
    return near.change.m + current * (setup.response_at_rest - near.setup.response_at_rest)


def _rest(setup: SetUp, near: OnGrid | None) -> Magnetised:
    """The setup's own; of another than the near one's under a magnet from there."""
    if near is None or setup.applied is None:
        return setup.rest
    return near.rest if near.setup is setup else at_rest(setup, near.rest)


def at_rest(setup: SetUp, near: Magnetised | None = None) -> Magnetised:
    """Without current: magnetised by what is applied besides, sought from a state near by, or not at all."""
    if setup.applied is None:
        nothing = np.zeros_like(setup.core.active)
        return Magnetised(core=setup.core, m=nothing, load=nothing)
    start = None if near is None else near.m
    return magnetised(setup.core, setup.applied, start, near, tolerance=EXACTLY)


def change(state: Magnetised, rest: Magnetised) -> Magnetised:
    """From one state of a grid to another."""
    return Magnetised(core=state.core, m=state.m - rest.m, load=state.load - rest.load)


def inside(state: Magnetised) -> tuple[Floats, Floats, Floats, Floats]:
    """For each body: 99th percentile and mean of |B| (T) by volume, saturated share, volume (m3)."""
    grid, curves = state.core.grid, state.core.curves
    field, size = flux_densities(state), strength(state.core, state.m)
    volume = np.broadcast_to(grid.volume, grid.body.shape)
    rows = []
    for number, curve in enumerate(curves):
        mine = grid.body == number
        weight = volume[mine] / volume[mine].sum()
        rows.append(
            (
                _percentile(field[mine], weight, 0.99),
                float(weight @ field[mine]),
                float(weight @ curve.saturated(size[mine])),
                float(volume[mine].sum()),
            )
        )
    peak, mean, saturated, total = np.array(rows).T
    return peak, mean, saturated, total


def _percentile(values: Floats, weight: Floats, share: float) -> float:
    order = np.argsort(values, kind="stable")
    return float(values[order][np.searchsorted(np.cumsum(weight[order]), share)])
