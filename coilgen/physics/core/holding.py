"""Pull of a winding, with or without soft cores, on a soft-magnetic target."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_charges import charges, interaction, potentials, split
from coilgen.physics.core.brick_grid import BrickGrid, brick_grid
from coilgen.physics.core.descent import NotConvergedError
from coilgen.physics.core.effect import CHORDS
from coilgen.physics.core.load import gauss_orders, winding_load
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.on_grid import inside
from coilgen.physics.core.soft_core import Core, Magnetised, core, magnetised
from coilgen.physics.core.two_grids import TwoGrids
from coilgen.physics.field.filaments import Filaments, filaments

_MOVE = 0.02
_PRECISION = 1e-3
_LARGEST_CURRENT = 1e6
_STEPS = 60
_LEAST_SLOPE = 0.2
_LONGEST_STEP = 2.0
_TARGET = 0


@dataclass(frozen=True, kw_only=True)
class Pull:
    """force: N along z on the target (negative is down) at a current, A. state: magnetisation on the finer of
    two grids, the target as body 0; the coarser one is solved when it is first asked for.
    """

    on: "TwoGrids[Holding]"
    force: float
    current: float
    state: Magnetised

    def with_error(self) -> "Pull":
        """This, once the coarser grid is solved too."""
        assert self.error >= 0.0
        return self

    @cached_property
    def peak(self) -> Floats:
        """T, 99th percentile in the target and in each core."""
        return inside(self.state)[0]

    @property
    def rough(self) -> "Holding":
        """The coarser grid, for further solves."""
        return self.on.rough

    @cached_property
    def rough_force(self) -> float:
        """N, on the coarser grid."""
        return self.rough.force(self.rough_state, self.current)

    @cached_property
    def rough_state(self) -> Magnetised:
        """The magnetisation on the coarser grid."""
        return magnetised(self.rough.core, self.current * self.rough.load)

    @cached_property
    def error(self) -> float:
        """N, estimated from both grids, with what their outlines miss."""
        return self.on.error(self.force, self.rough_force, lambda laid: laid.pull(self.current))


def pull_on_target(
    winding: Conductor | Filaments,
    target: Body,
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    current: float,
    cell: float,
) -> Pull:
    """Force on the target at a current (A), target and cores magnetised together on one grid.

    curves: the target's, then one for each core. Raises ValueError where the target's heights overlap the
    winding's or a core's, or where it touches a core.
    """
    path = filaments(winding, tolerance=CHORDS) if isinstance(winding, Conductor) else winding
    return pull_at(target_on_two_grids(path, target, cores, curves, cell), current)


def target_on_two_grids(
    path: Filaments, target: Body, cores: tuple[Body, ...], curves: tuple[Curve, ...], cell: float
) -> "TwoGrids[Holding]":
    """Target and cores at a winding before any current flows; otherwise as `pull_on_target`."""
    return TwoGrids(
        bodies=(target, *cores),
        cell=cell,
        lay=lambda shaped, width, like: holding(path, shaped[0], shaped[1:], curves, width, like),
    )


def pull_at(gridded: "TwoGrids[Holding]", current: float) -> Pull:
    """As `pull_on_target`, of bodies on their grids."""
    state = magnetised(gridded.fine.core, current * gridded.fine.load)
    return Pull(on=gridded, force=gridded.fine.force(state, current), current=current, state=state)


def holding_current(
    winding: Conductor | Filaments,
    target: Body,
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    force: float,
    cell: float,
) -> float:
    """Least current (A) whose pull on the target is at least `force` (N > 0); inf if none up to a million."""
    path = filaments(winding, tolerance=CHORDS) if isinstance(winding, Conductor) else winding
    return current_for(holding(path, target, cores, curves, cell), force)


def current_for(setup: "Holding", force: float) -> float:
    """As `holding_current`, to 0.2 % of the force, on a grid at hand.

    Secant steps in the logarithms, where the pull is nearly straight, kept between currents known to hold
    and known not to; the first as if the pull went with the square of the current.
    """
    wanted, most = math.log(force * (1.0 + _PRECISION)), math.log(_LARGEST_CURRENT)
    low, high, slope = -math.inf, math.inf, 2.0
    before = last = x = y = 0.0
    for step in range(_STEPS):
        y = math.log(abs(setup.pull(math.exp(x))))
        if abs(y - wanted) <= 0.9 * _PRECISION:
            return math.exp(x)
        if y < wanted and x >= most:
            return math.inf
        low, high = (max(low, x), high) if y < wanted else (low, min(high, x))
        if step:
            slope = (y - before) / (x - last)
        before, last = y, x
        x += min(max((wanted - y) / max(slope, _LEAST_SLOPE), -_LONGEST_STEP), _LONGEST_STEP)
        x = min(x, most)
        if not low < x < high:
            x = 0.5 * (low + high)
    raise NotConvergedError(f"the pull is still {math.exp(y - wanted):.4f} of what should hold")


@dataclass(frozen=True, kw_only=True)
class Holding:
    """A core with its target, the load of one ampere, and the target's of both a little lower and higher."""

    core: Core
    load: Floats
    move: float
    lower: tuple[Core, Floats]
    upper: tuple[Core, Floats]

    def made_of(self, permeability: float, saturation: float) -> "Holding":
        """With all materials' permeability and saturation times factors."""
        return replace(self, core=self.core.made_of(permeability, saturation))

    def pull(self, current: float, near: Magnetised | None = None) -> float:
        """Force along z on the target at a current (A), N; negative is down.

        near: a state at that current of bodies that differ a little, from which theirs is sought where the
        grid has as many faces.
        """
        start = near.m if near is not None and len(near.m) == len(self.load) else None
        return self.force(magnetised(self.core, current * self.load, start), current)

    def pulls(self, currents: Sequence[float]) -> list[float]:
        """As `pull`, at several currents (A).

        From the largest down, each state sought from the last one made weaker with the current.
        """
        found, start, last = np.zeros(len(currents)), None, 1.0
        for k in np.argsort(-np.abs(currents), kind="stable"):
            current = currents[k]
            state = magnetised(
                self.core, current * self.load, None if start is None else current / last * start
            )
            found[k], start, last = self.force(state, current), state.m, current
        return found.tolist()

    def force(self, state: Magnetised, current: float) -> float:
        """Minus the change of the co-energy with the target's height, the magnetisation held.

        At its least the energy does not feel a change of the magnetisation, so this is the whole derivative.
        """
        low, high = (_energy(one, current * load, state.m) for one, load in (self.lower, self.upper))
        return -MU0 * (high - low) / (2.0 * self.move)


def _energy(one: Core, load: Floats, m: Floats) -> float:
    """The part of the co-energy over mu0 that depends on where the bodies stand."""
    charge = charges(one.grid, one.outer, split(one.grid, m))
    potential = potentials(one.grid, one.between, charge)
    own = sum(float(np.sum(q * p)) for q, p in zip(charge, potential, strict=True))
    return 0.5 * own - float(load @ m)


def holding(
    path: Filaments,
    target: Body,
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    cell: float,
    like: BrickGrid | None = None,
) -> Holding:
    """Target and cores on a grid of cells `cell` (m) wide, or on those of a grid `like`.

    Arguments and errors as for `pull_on_target`.
    """
    gap = _gap(path, target, cores)
    grid = brick_grid((target, *cores), cell, like)
    one = core(grid, curves)
    move = _MOVE * gap
    load, lower, upper = holding_loads(grid, path, move)
    return Holding(
        core=one, load=load, move=move, lower=(_moved(one, -move), lower), upper=(_moved(one, move), upper)
    )


def holding_loads(grid: BrickGrid, path: Filaments, move: float) -> tuple[Floats, Floats, Floats]:
    """Load (flat, A m2) of one ampere on target and cores, and the target's when it is `move` (m) lower and
    higher: what the rest bears does not change with the height.

    Both heights take the same points: a rule that changes between them would be told as a force.
    """
    orders = gauss_orders(_lifted(grid, 0.0), path)
    lower, upper = (winding_load(_lifted(grid, by), path, orders) for by in (-move, move))
    # Between so near heights the field is straight to some ten-thousandths.
    load = 0.5 * (lower + upper)
    rest = replace(grid, body=np.where(grid.body == _TARGET, -1, grid.body))
    if rest.filled.any():
        load += winding_load(rest, path)
    return load, lower, upper


def _gap(path: Filaments, target: Body, cores: tuple[Body, ...]) -> float:
    """Smallest distance in height between the target and what it faces, m."""
    low = [float(path.start[:, 2].min()), *(b.bottom for b in cores)]
    high = [float(path.start[:, 2].max()), *(b.bottom + b.thickness for b in cores)]
    top = target.bottom + target.thickness
    gaps = [max(target.bottom - h, bottom - top) for bottom, h in zip(low, high, strict=True)]
    if min(gaps) <= 0.0:
        raise ValueError("the target must stand clear above or below the winding and every core")
    return min(gaps)


def _moved(one: Core, move: float) -> Core:
    """The core with the target, body 0, higher by `move`."""
    layers, levels = _of_target(one.grid)
    shift = np.concatenate([np.tile(move * layers, 3), move * levels])
    return replace(one, between=interaction(one.grid, moved=shift, unmoved=one.between))


def _lifted(grid: BrickGrid, move: float) -> BrickGrid:
    """The target alone, higher by `move`."""
    layers, levels = _of_target(grid)
    return replace(
        grid,
        bottom=grid.bottom + move * layers,
        level=grid.level + move * levels,
        body=np.where(grid.body == _TARGET, grid.body, -1),
    )


def _of_target(grid: BrickGrid) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which layers of cells and which levels between them are the target's."""
    layers = np.any(grid.body == _TARGET, axis=(1, 2))
    levels = np.zeros(len(grid.level), dtype=bool)
    levels[grid.low[layers]] = levels[grid.high[layers]] = True
    return layers, levels
