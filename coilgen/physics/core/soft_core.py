"""Soft-magnetic cores near a winding: magnetisation by a volume integral equation, straight or saturating.

Unknown is the magnetisation's normal component on every cell face (lowest Raviart-Thomas element), tested by
Galerkin's method; the answer is where the convex co-energy

    G = sum V w(|M|) + q P q / 2 - integral of M . H0

is least, with charges q = -div M and P the mean of 1 / 4 pi r between charges.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache, cached_property

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.brick_charges import Faces, sides
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.cells import Cells, cells_of_grid
from coilgen.physics.core.descent import NotConvergedError, Operator, conjugate_gradients, newton_step
from coilgen.physics.core.interaction import Interaction, interaction, self_energies
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.near_charges import NearCharges, near_charges
from coilgen.physics.core.packed import Packed, Packing, packed, packing
from coilgen.physics.field.filaments import Indices

NEWTON_TOLERANCE = 1e-5
_NEWTON_STEPS = 60
_NEWTON_STEPS_FROM_NEAR = 15
_SOFTER, _ROUGHLY = (1.0, 30.0), 0.1
"""dH / dM beyond the curves' tables in the stages before the last of a descent from afar, and how far those
are solved: at a table's end the slope rises a thousandfold, where each step finds other cells beyond it."""


@dataclass(frozen=True, kw_only=True)
class Core:
    """A grid with its cells and everything that does not depend on the drive.

    active: 1 on faces of cells, else 0. own: what each face's charges feel of each other, 1 where there are
    none, m3. near: what charges of one cell do to one another, packing: the faces that are solved for, each
    found when it is first asked for.
    """

    grid: BrickGrid
    cells: Cells
    between: Interaction
    outer: Faces
    active: Floats
    own: Floats
    near: Callable[[], NearCharges]
    packing: Callable[[], Packing]

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Of each body."""
        return self.cells.curves

    def of_curves(self, curves: tuple[Curve, ...]) -> "Core":
        """With other curves."""
        return replace(self, cells=self.cells.of_curves(curves))

    def made_of(self, permeability: float, saturation: float) -> "Core":
        """With all materials' permeability and saturation times factors."""
        return replace(self, cells=self.cells.made_of(permeability, saturation))

    @cached_property
    def packed(self) -> Packed:
        """On the faces of filled cells alone."""
        return packed(self.packing(), self.cells, self.own, self.between, self.near)

    def pack(self, told: Floats) -> Floats:
        """What is told of all faces (flat), of those of filled cells."""
        return np.asarray(told[self.packing().faces])

    def spread(self, told: Floats) -> Floats:
        """What is told of the faces of filled cells, of all (flat), 0 where there is no material."""
        out = np.zeros_like(self.active)
        out[self.packing().faces] = told
        return out

    def demagnetising(self, m: Floats) -> Floats:
        """Gradient of the charges' energy in the faces' magnetisation (flat)."""
        return self.spread(self.packed.demagnetising(self.pack(m)))


@dataclass(frozen=True, kw_only=True)
class Magnetised:
    """A core's state: normal magnetisation on all faces (flat, A/m) under the applied load (flat, A m2)."""

    core: Core
    m: Floats
    load: Floats

    @cached_property
    def solver(self) -> Operator | None:
        """Solves the tangent system on the faces of filled cells, to lead to states near by; None of many."""
        packed = self.core.packed
        return packed.whole(packed.cells.tangent(self.core.pack(self.m)))


def core(grid: BrickGrid, curves: tuple[Curve, ...], known: Core | None = None) -> Core:
    """The kernels of a grid; curves[k] is the material of body k. known: a core with some of its layers."""
    between = interaction(grid, known=None if known is None else known.between)
    lower, upper = sides(grid)
    outer = Faces(x=lower.x - upper.x, y=lower.y - upper.y, z=lower.z - upper.z)
    active = ((lower.flat + upper.flat) > 0.0).astype(np.float64)
    cells = cells_of_grid(grid, curves)
    return Core(
        grid=grid,
        cells=cells,
        between=between,
        outer=outer,
        active=active,
        own=np.where(active > 0.0, self_energies(grid, outer, between).flat, 1.0),
        near=cache(lambda: near_charges(grid, outer, between)),
        packing=cache(lambda: packing(grid, cells, outer)),
    )


def magnetised(
    core: Core,
    load: Floats,
    start: Floats | None = None,
    near: Magnetised | None = None,
    *,
    tolerance: float = NEWTON_TOLERANCE,
) -> Magnetised:
    """The magnetisation under a load b (flat, A m2), by damped Newton steps from `start` or from nothing.

    A start that saturates elsewhere may be worse than nothing: its co-energy or few steps show it, and curves
    are softened at first then. near: a state about which several are sought.
    Raises NotConvergedError if the gradient of the co-energy does not fall to `tolerance` of the load.
    """
    if start is None:
        return _descended(core, load, np.zeros_like(load), tolerance, _NEWTON_STEPS)
    try:
        known = _leading(core, near)
        return _descended(core, load, start, tolerance, _NEWTON_STEPS_FROM_NEAR, known, below=0.0)
    except NotConvergedError:
        for steepest in _SOFTER:
            softer = core.of_curves(tuple(curve.softer(steepest) for curve in core.curves))
            start = _descended(softer, load, start, _ROUGHLY, _NEWTON_STEPS).m
        return _descended(core, load, start, tolerance, _NEWTON_STEPS)


def _descended(
    core: Core,
    load: Floats,
    m: Floats,
    tolerance: float,
    steps: int,
    known: Operator | None = None,
    below: float = np.inf,
) -> Magnetised:
    """below: co-energy that m has at most; raises NotConvergedError where it has more."""
    one, given = core.packed, load
    load, m = core.pack(load), core.pack(m)
    field = one.demagnetising(m)
    if one.cells.energies(m) + m @ (0.5 * field - load) > below:
        raise NotConvergedError("the core's magnetisation is sought from one that is worse than nothing")
    whole = _size(load, one.own)
    goal = tolerance * whole
    for _ in range(steps):
        tangent = one.cells.tangent(m)
        force = field - load
        gradient = tangent.secant_of(m) + force
        left = _size(gradient, one.own)
        if left <= goal:
            return Magnetised(core=core, m=core.spread(m), load=given)
        accuracy = 0.5 * goal / left
        if not one.cells.straight:
            accuracy = max(min(0.1, left / whole), accuracy)
        step, along = newton_step(one, tangent, m, force, gradient, accuracy, known)
        m, field = m + step, field + along
    raise NotConvergedError(f"the core's magnetisation is still {left / whole:.1e} off")


def tangent_response(
    state: Magnetised,
    load: Floats,
    start: Floats | None = None,
    near: Magnetised | None = None,
    *,
    accuracy: float = 1e-5,
) -> Floats:
    """Change of m for a small change of the load, per unit of it; sought from `start` where one is known.

    near: as of `magnetised`.
    """
    core, known = state.core, _leading(state.core, near)
    begin = None if start is None else core.pack(start)
    tangent = core.packed.cells.tangent(core.pack(state.m))
    return core.spread(conjugate_gradients(core.packed, tangent, core.pack(load), accuracy, begin, known))


def _leading(core: Core, near: Magnetised | None) -> Operator | None:
    """What leads to states of a core from one near by, where this has the same faces."""
    return near.solver if near is not None and alike(near.core, core) else None


def alike(one: Core, other: Core) -> bool:
    """Whether both have the same faces, which may differ in size and material."""
    return one is other or np.array_equal(one.packing().faces, other.packing().faces)


def load_size(core: Core, vector: Floats) -> float:
    """Of a load or a gradient: norm in which the diagonal of the charges' energy weighs every face alike."""
    return _size(vector, core.own)


def _size(vector: Floats, own: Floats) -> float:
    return float(np.sqrt(np.sum(vector**2 / own)))


def strength(core: Core, m: Floats) -> Floats:
    """Root mean square magnetisation of every cell, (nz, nx, ny) A/m, 0 where there is no material."""
    return _on_grid(core, core.cells.strengths(m))


def _on_grid(core: Core, told: Floats) -> Floats:
    """What is told of the cells (..., k), in their places (..., nz, nx, ny)."""
    out = np.zeros((*told.shape[:-1], *core.grid.body.shape))
    out[..., core.grid.filled] = told
    return out


def flux_densities(state: Magnetised) -> Floats:
    """Magnitude of B in every cell, (nz, nx, ny) T, 0 where there is no material."""
    cells = state.core.cells
    size = cells.strengths(state.m)
    return _on_grid(state.core, MU0 * (size + cells.told(Curve.applied, size)))


def mean_flux_densities(state: Magnetised) -> Floats:
    """Mean B of every cell, (3, nz, nx, ny) T, 0 where there is no material."""
    cells = state.core.cells
    stretch = 1.0 + cells.told(Curve.reluctivity, cells.strengths(state.m))
    return _on_grid(state.core, MU0 * stretch * state.m[cells.ends].mean(axis=1))


def cells_of(grid: BrickGrid, points: Floats) -> tuple[Indices, Indices]:
    """Which points of (n, 3) m lie in the material, (k,), and their cells: layer, row and column, (3, k)."""
    i, j = (
        np.floor((points[:, axis] - grid.origin[axis]) / grid.cell[axis]).astype(np.int64) for axis in (0, 1)
    )
    nx, ny = grid.body.shape[1:]
    aside = (i < 0) | (i >= nx) | (j < 0) | (j >= ny)
    i, j = np.where(aside, 0, i), np.where(aside, 0, j)
    layer = np.full(len(points), -1)
    for k, (bottom, thickness) in enumerate(zip(grid.bottom, grid.thickness, strict=True)):
        here = ~aside & (points[:, 2] > bottom) & (points[:, 2] < bottom + thickness)
        layer[here & grid.filled[k, i, j]] = k
    inside = np.flatnonzero(layer >= 0)
    return inside, np.stack([layer, i, j])[:, inside]


def coupled(state: Magnetised, load: Floats) -> float:
    """mu0 b . m, J: for b of one ampere, the flux linkage (Wb) that the core adds."""
    return MU0 * float(load @ state.m)
