"""Pull of a winding, with or without soft cores, on a soft-magnetic target."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.descent import NotConvergedError
from coilgen.physics.core.effect import CoreEffect
from coilgen.physics.core.interaction import Interaction, interaction, rise
from coilgen.physics.core.load import CellLoads, path_loads, winding_load
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.on_grid import EXACTLY, SetUp, inside, set_up
from coilgen.physics.core.soft_core import Core, Magnetised, magnetised
from coilgen.physics.core.two_grids import TwoGrids, two_grids
from coilgen.physics.field.filaments import Filaments

_MOVE = 0.02
_PRECISION = 1e-3
_LARGEST_CURRENT = 1e6
_STEPS = 60
_LEAST_SLOPE = 0.2
_LONGEST_STEP = 2.0
_FIRST = 0
"""Number of the target among bodies that are told with the target first."""


@dataclass(frozen=True, kw_only=True)
class Pull:
    """force: N along z on the target (negative is down) at a current, A. state: magnetisation on the finer of
    two grids; the coarser one is solved when it is first asked for. known: what the bodies do at the current
    without a magnet, where that is solved.
    """

    on: "TwoGrids[Holding]"
    force: float
    current: float
    state: Magnetised
    known: CoreEffect | None

    def with_error(self) -> "Pull":
        """This, once the coarser grid is solved too."""
        _ = self.error
        return self

    @cached_property
    def peak(self) -> Floats:
        """T, 99th percentile in each body."""
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
        return self.rough.at(self.current) if self.known is None else self.known.rough.state

    @cached_property
    def error(self) -> float:
        """N, estimated from both grids, with what their outlines miss."""
        outlined = [laid for _, laid in self.on.outlined]
        if self.known is None:
            told = [laid.pull(self.current, self.rough_state) for laid in outlined]
        else:
            states = [each.state for each in self.known.outlined]
            told = [laid.force(one, self.current) for laid, one in zip(outlined, states, strict=True)]
        return self.on.error(self.force, self.rough_force, told)


def target_on_two_grids(
    path: Filaments, target: Body, cores: tuple[Body, ...], curves: tuple[Curve, ...], cell: float
) -> "TwoGrids[Holding]":
    """Target and cores at a winding before any current flows, on two grids; cell: the finer one's cells, m.

    curves: the target's, then one for each core. Raises ValueError where the target's heights overlap the
    winding's or a core's, or where it touches a core.
    """
    laid = two_grids(
        (target, *cores), cell, lambda shaped, width, like: set_up(path, shaped, curves, width, None, like)
    )
    return laid.further(lambda each: holding_among(each, path, _FIRST))


def pull_at(gridded: "TwoGrids[Holding]", current: float, known: CoreEffect | None = None) -> Pull:
    """Force on the target at a current (A), target and cores magnetised together.

    known: what they do at the current without a magnet, where that is solved.
    """
    state = gridded.fine.at(current) if known is None else known.fine.state
    return Pull(
        on=gridded,
        force=gridded.fine.force(state, current),
        current=current,
        state=state,
        known=known,
    )


def current_for(setup: "Holding", force: float, near: "Driven | None" = None) -> float:
    """Least current (A) whose pull on the target is at least `force` (N > 0); inf if none up to a million.

    To 0.2 % of the force, sought from a state near by: by secant steps in the logarithms, where the pull is
    nearly straight, kept between currents known to hold and known not to; the first as if the pull went with
    the square of the current.
    """
    wanted, most = math.log(force * (1.0 + _PRECISION)), math.log(_LARGEST_CURRENT)
    low, high, slope = -math.inf, math.inf, 2.0
    now = setup.driven(1.0) if near is None else near
    before = last = math.nan
    x, y = math.log(now.current), math.log(abs(now.force))
    for step in range(_STEPS):
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
        now = setup.driven(math.exp(x), now)
        y = math.log(abs(now.force))
    raise NotConvergedError(f"the pull is still {math.exp(y - wanted):.4f} of what should hold")


@dataclass(frozen=True, kw_only=True)
class Driven:
    """Bodies at a current, A: the force along z on the target, N, and the magnetisation."""

    current: float
    force: float
    state: Magnetised


@dataclass(frozen=True, kw_only=True)
class Holding:
    """Cores with a target on a grid, its loads `move` lower and higher, m, and how the interaction rises
    between both.
    """

    laid: SetUp
    move: float
    lower: CellLoads
    upper: CellLoads
    rise: Interaction

    @cached_property
    def higher(self) -> Floats:
        """The load higher less that lower (flat, A m2)."""
        return self.upper.flat - self.lower.flat

    @property
    def core(self) -> Core:
        """The grid with its curves and kernels."""
        return self.laid.core

    @property
    def load(self) -> Floats:
        """Of one ampere, flat, A m2."""
        return self.laid.load

    def made_of(self, permeability: float, saturation: float) -> "Holding":
        """With all materials' permeability and saturation times factors."""
        return replace(self, laid=self.laid.made_of(permeability, saturation))

    def at(self, current: float, start: Floats | None = None, near: Magnetised | None = None) -> Magnetised:
        """The magnetisation at a current, A; start, near: as of `magnetised`.

        Without a start from the response at rest, as any state without a magnet.
        """
        if start is None and self.laid.applied is None:
            start, near = current * self.laid.response_at_rest, self.laid.rest
        return magnetised(self.core, current * self.load, start, near, tolerance=EXACTLY)

    def pull(self, current: float, near: Magnetised | None = None) -> float:
        """Force along z on the target at a current (A), N; negative is down.

        near: a state at that current of bodies that differ a little, from which theirs is sought where the
        grid has as many faces.
        """
        start = near.m if near is not None and len(near.m) == len(self.load) else None
        return self.force(self.at(current, start, near), current)

    def driven(self, current: float, near: Driven | None = None) -> Driven:
        """At a current, A; sought from the state at another, made weaker or stronger with the current."""
        known = None if near is None else near.state
        start = None if near is None else current / near.current * near.state.m
        state = self.at(current, start, known)
        return Driven(current=current, force=self.force(state, current), state=state)

    def pulls(self, currents: Sequence[float], near: Driven | None = None) -> list[float]:
        """As `pull`, at several currents (A), each sought from the last: up from a known one, then down."""
        found, size = np.zeros(len(currents)), np.abs(currents)
        order = np.argsort(size, kind="stable")
        stronger = size[order] >= (0.0 if near is None else abs(near.current))
        for way in (order[stronger], order[~stronger][::-1]):
            last = near
            for k in way:
                last = self.driven(currents[k], last)
                found[k] = last.force
        return found.tolist()

    def force(self, state: Magnetised, current: float) -> float:
        """Minus the change of the co-energy with the target's height, the magnetisation held.

        At its least the energy does not feel a change of the magnetisation, so this is the whole derivative.
        """
        own = float(state.m @ replace(self.core, between=self.rise).demagnetising(state.m))
        return -MU0 * (0.5 * own - current * float(self.higher @ state.m)) / (2.0 * self.move)


def holding(
    path: Filaments, target: Body, cores: tuple[Body, ...], curves: tuple[Curve, ...], cell: float
) -> Holding:
    """Target and cores on one grid of cells `cell` (m) wide; otherwise as `target_on_two_grids`."""
    return holding_among(set_up(path, (target, *cores), curves, cell), path, _FIRST)


def holding_among(laid: SetUp, path: Filaments, target: int, near: Holding | None = None) -> Holding:
    """Bodies at a winding, of which one, by its number, is the target.

    near: of others that differ a little, from which what stands in the same places is taken. Raises
    ValueError as `target_on_two_grids`.
    """
    moving = _Moving(laid.core.grid, target)
    move = _MOVE * moving.gap(path)
    known = (None, None) if near is None else (near.lower, near.upper)
    lower, upper = (
        path_loads(moving.alone, path, loads, by) for by, loads in zip((-move, move), known, strict=True)
    )
    low, high = (moving.interaction(by, laid.core) for by in (-move, move))
    return Holding(laid=laid, move=move, lower=lower, upper=upper, rise=rise(low, high))


def holding_loads(
    grid: BrickGrid, path: Filaments, move: float, target: int = _FIRST
) -> tuple[Floats, Floats, Floats]:
    """Load (flat, A m2) of one ampere on target and cores, and the target's when it is `move` (m) lower and
    higher: what the rest bears does not change with the height.

    Both heights take the same points: what changes between them otherwise would be told as a force.
    """
    moving = _Moving(grid, target)
    lower, upper = (path_loads(moving.alone, path, higher=by).flat for by in (-move, move))
    return winding_load(grid, path), lower, upper


class _Moving:
    """A grid whose target is moved up and down."""

    def __init__(self, grid: BrickGrid, target: int) -> None:
        self.grid, self.target = grid, target
        self.layers = np.any(grid.body == target, axis=(1, 2))
        self.levels = np.zeros(len(grid.level), dtype=bool)
        self.levels[grid.low[self.layers]] = self.levels[grid.high[self.layers]] = True

    def gap(self, path: Filaments) -> float:
        """Smallest distance in height between the target and what it faces, m."""
        bottom, top = self.grid.bottom, self.grid.bottom + self.grid.thickness
        others = np.any((self.grid.body >= 0) & (self.grid.body != self.target), axis=(1, 2))
        low = np.append(bottom[others], path.start[:, 2].min())
        high = np.append(top[others], path.start[:, 2].max())
        gaps = np.maximum(bottom[self.layers].min() - high, low - top[self.layers].max())
        if gaps.min() <= 0.0:
            raise ValueError("the target must stand clear above or below the winding and every core")
        return float(gaps.min())

    def interaction(self, move: float, usual: Core) -> Interaction:
        """Of all charges, the target higher by `move`."""
        shift = np.concatenate([np.tile(move * self.layers, 3), move * self.levels])
        return interaction(self.grid, moved=shift, known=usual.between)

    @property
    def alone(self) -> BrickGrid:
        """The target without the rest."""
        body = np.where(self.grid.body == self.target, self.grid.body, -1)
        return replace(self.grid, body=body)
