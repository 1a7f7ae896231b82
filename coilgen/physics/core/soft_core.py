"""Soft-magnetic cores near a winding: magnetisation by a volume integral equation, straight or saturating.

Unknown is the magnetisation's normal component on every cell face (lowest Raviart-Thomas element), tested by
Galerkin's method; the answer is where the convex co-energy

    G = sum V w(|M|) + q P q / 2 - integral of M . H0

is least, with charges q = -div M and P the mean of 1 / 4 pi r between charges.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.brick_charges import (
    Faces,
    Interaction,
    cell_ends,
    charges,
    from_cell_ends,
    from_potentials,
    interaction,
    potentials,
    self_energies,
    sides,
    split,
)
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.magnetisation_curve import Curve, by_body
from coilgen.physics.core.near_charges import NearCharges, near_charges
from coilgen.physics.field.filaments import Indices

NEWTON_TOLERANCE = 1e-5
_NEWTON_STEPS = 60
_NEWTON_STEPS_FROM_NEAR = 15
_CONJUGATE_STEPS = 3000
_BY_DIAGONAL = 25
"""Steps of conjugate gradients after which a factored system, worth some ten of them, leads."""
_WHERE_STRAIGHT = 150
"""Likewise of bodies whose curves are straight."""
_STIFF = 1.0
"""dH / dM along the magnetisation from which on it leads at once: more than charges resist."""
_LINEAR = np.kron(np.eye(3), [[1 / 3, 1 / 6], [1 / 6, 1 / 3]])
"""Mean product of what two of a cell's faces contribute, linear between lower and upper ones."""
Operator = Callable[[Floats], Floats]


class NotConvergedError(ArithmeticError):
    """The iteration for the magnetisation did not reach its tolerance."""


@dataclass(frozen=True, kw_only=True)
class Core:
    """A grid with its curves and everything that does not depend on the drive.

    near: what charges of one cell do to one another, found when it is first asked for.
    """

    grid: BrickGrid
    curves: tuple[Curve, ...]
    between: Interaction
    outer: Faces
    active: Floats
    own: Floats
    near: Callable[[], NearCharges]


@dataclass(frozen=True, kw_only=True)
class Magnetised:
    """A core's state: normal magnetisation on all faces (flat, A/m) under the applied load (flat, A m2)."""

    core: Core
    m: Floats
    load: Floats


def core(grid: BrickGrid, curves: tuple[Curve, ...]) -> Core:
    """The kernels of a grid; curves[k] is the material of body k."""
    between = interaction(grid)
    lower, upper = sides(grid)
    outer = Faces(x=lower.x - upper.x, y=lower.y - upper.y, z=lower.z - upper.z)
    return Core(
        grid=grid,
        curves=curves,
        between=between,
        outer=outer,
        active=((lower.flat + upper.flat) > 0.0).astype(np.float64),
        own=self_energies(grid, outer, between).flat,
        near=cache(lambda: near_charges(grid, outer, between)),
    )


def magnetised(
    core: Core, load: Floats, start: Floats | None = None, *, tolerance: float = NEWTON_TOLERANCE
) -> Magnetised:
    """The magnetisation under a load b (flat, A m2), by damped Newton steps from `start` or from nothing.

    A start that saturates elsewhere may be worse than nothing: few steps show it, then it is left.
    Raises NotConvergedError if the gradient of the co-energy does not fall to `tolerance` of the load.
    """
    if start is not None:
        try:
            return _descended(core, load, start, tolerance, _NEWTON_STEPS_FROM_NEAR)
        except NotConvergedError:
            pass
    return _descended(core, load, np.zeros_like(load), tolerance, _NEWTON_STEPS)


def _descended(core: Core, load: Floats, m: Floats, tolerance: float, steps: int) -> Magnetised:
    field = demagnetising(core, m)
    goal = tolerance * load_size(core, load)
    straight = all(curve.straight for curve in core.curves)
    for _ in range(steps):
        stiffness = reluctivities(core, m)
        gradient = mass(core, m, stiffness) + field - load
        left = load_size(core, gradient)
        if left <= goal:
            return Magnetised(core=core, m=m, load=load)
        accuracy = 0.5 * goal / left
        if not straight:
            accuracy = max(min(0.1, left / load_size(core, load)), accuracy)
        step = conjugate_gradients(core, m, stiffness, -gradient, accuracy)
        along = demagnetising(core, step)
        share = _line_search(core, m, step, field - load, along)
        m, field = m + share * step, field + share * along
    raise NotConvergedError(f"the core's magnetisation is still {left / goal * tolerance:.1e} off")


def tangent_response(
    state: Magnetised, load: Floats, near: Floats | None = None, *, accuracy: float = 1e-5
) -> Floats:
    """Change of m for a small change of the load, per unit of it; sought from `near` where one is known."""
    stiffness = reluctivities(state.core, state.m)
    return conjugate_gradients(state.core, state.m, stiffness, load, accuracy, near)


def demagnetising(core: Core, m: Floats) -> Floats:
    """Gradient of the charges' energy in the faces' magnetisation."""
    charge = charges(core.grid, core.outer, split(core.grid, m))
    return (
        core.active * from_potentials(core.grid, core.outer, potentials(core.grid, core.between, charge)).flat
    )


def strength(core: Core, m: Floats) -> Floats:
    """Root mean square magnetisation of every cell, (nz, nx, ny) A/m."""
    ends = cell_ends(core.grid, split(core.grid, m))
    square = sum((a * a + a * b + b * b) / 3.0 for a, b in ends)
    return np.asarray(np.sqrt(np.asarray(square)) * core.grid.filled)


def by_curve(core: Core, quantity: Callable[[Curve, Floats], Floats], m: Floats) -> Floats:
    """A quantity of each cell's own curve at magnetisation m (nz, nx, ny); 0 in empty cells."""
    return by_body(core.curves, core.grid.body, quantity, m)


def reluctivities(core: Core, m: Floats) -> tuple[Floats, Floats]:
    """Per cell: V H/M, and V (dH/dM - H/M) / M^2 for the part of the tangent along M."""
    size = strength(core, m)
    secant = by_curve(core, Curve.reluctivity, size)
    rise = by_curve(core, Curve.slope, size) - secant
    volume = core.grid.volume
    along = np.divide(rise, size**2, out=np.zeros_like(size), where=size > 1e-9)
    return volume * secant, volume * np.maximum(along, -0.999 * _over(secant, size**2))


def _over(a: Floats, b: Floats) -> Floats:
    return np.divide(a, b, out=np.zeros_like(a), where=b > 1e-18)


def mass(core: Core, m: Floats, stiffness: tuple[Floats, Floats]) -> Floats:
    """Secant part of the gradient: sum over cells of V nu [1/3 1/6; 1/6 1/3] on each axis."""
    return from_cell_ends(core.grid, _weighted(core, m, stiffness[0])).flat


def _weighted(core: Core, m: Floats, weight: Floats) -> tuple[tuple[Floats, Floats], ...]:
    ends = cell_ends(core.grid, split(core.grid, m))
    return tuple((weight * (a / 3.0 + b / 6.0), weight * (a / 6.0 + b / 3.0)) for a, b in ends)


def _tangent(core: Core, m: Floats, stiffness: tuple[Floats, Floats]) -> Operator:
    """Second derivative of the co-energy at m as a linear map."""
    unit = np.ones_like(stiffness[0])
    gradient = _weighted(core, m, unit)
    straight = not np.any(stiffness[1])

    def apply(d: Floats) -> Floats:
        local = _weighted(core, d, stiffness[0])
        if not straight:
            step = cell_ends(core.grid, split(core.grid, d))
            along = stiffness[1] * sum(g[0] * s[0] + g[1] * s[1] for g, s in zip(gradient, step, strict=True))
            local = tuple(
                (a + along * g[0], b + along * g[1]) for (a, b), g in zip(local, gradient, strict=True)
            )
        return core.active * from_cell_ends(core.grid, local).flat + demagnetising(core, d)

    return apply


def _diagonal(core: Core, m: Floats, stiffness: tuple[Floats, Floats]) -> Floats:
    gradient = _weighted(core, m, np.ones_like(stiffness[0]))
    local = tuple(
        (stiffness[0] / 3.0 + stiffness[1] * g[0] ** 2, stiffness[0] / 3.0 + stiffness[1] * g[1] ** 2)
        for g in gradient
    )
    diagonal = from_cell_ends(core.grid, local).flat + core.own
    return np.where(core.active > 0.0, diagonal, 1.0)


def conjugate_gradients(
    core: Core,
    m: Floats,
    stiffness: tuple[Floats, Floats],
    right: Floats,
    accuracy: float,
    start: Floats | None = None,
) -> Floats:
    """Solves the tangent system to a residual relative to the right side, from `start` or from nothing.

    The diagonal measures the residual. It is the preconditioner too, but where it does not get far, or cells
    are saturated: there the system of near charges is.
    """
    apply, diagonal = _tangent(core, m, stiffness), _diagonal(core, m, stiffness)
    x, r = np.zeros_like(right), core.active * right
    goal = accuracy**2 * float(r @ (r / diagonal))
    if start is not None:
        x, r = start.copy(), r - apply(start)
    precondition: Operator = lambda residual: residual / diagonal  # noqa: E731
    p, rz, by_diagonal = np.zeros_like(right), 1.0, _by_diagonal(core, m, stiffness)
    for step in range(_CONJUGATE_STEPS):
        left = float(r @ (r / diagonal))
        if left <= goal:
            return x
        if step == by_diagonal:
            precondition, p = core.near().solver(_within_cells(core, m, stiffness)), np.zeros_like(right)
        z = precondition(r)
        before, rz = rz, float(r @ z)
        p = z + (rz / before) * p
        q = apply(p)
        alpha = rz / float(p @ q)
        x += alpha * p
        r -= alpha * q
    raise NotConvergedError(f"conjugate gradients stopped at {np.sqrt(left / goal) * accuracy:.1e}")


def _by_diagonal(core: Core, m: Floats, stiffness: tuple[Floats, Floats]) -> int:
    """Steps that the diagonal leads; where no cell's curve bends a factor saves few, and is large."""
    if not np.any(stiffness[1]):
        return _WHERE_STRAIGHT
    return 0 if np.any(stiffness[1] * strength(core, m) ** 2 > _STIFF * core.grid.volume) else _BY_DIAGONAL


def _within_cells(core: Core, m: Floats, stiffness: tuple[Floats, Floats]) -> Floats:
    """The cells' part of the tangent: second derivatives in each filled cell's six faces, (n, 6, 6) m3."""
    filled = core.grid.filled
    secant, along = (each[filled] for each in stiffness)
    gradient = np.stack([g[filled] for pair in _weighted(core, m, np.ones_like(stiffness[0])) for g in pair])
    found = np.einsum("n,in,jn->nij", along, gradient, gradient)
    return np.asarray(found + secant[:, None, None] * _LINEAR)


def load_size(core: Core, vector: Floats) -> float:
    """Of a load or a gradient: norm in which the diagonal of the charges' energy weighs every face alike."""
    return float(np.sqrt(np.sum(vector**2 / np.where(core.active > 0.0, core.own, 1.0))))


def _line_search(core: Core, m: Floats, step: Floats, force: Floats, along: Floats) -> float:
    """Share of the step at which the co-energy has fallen enough (Armijo's rule), halved from 1."""
    volume = core.grid.volume

    def local(share: float) -> float:
        size = strength(core, m + share * step)
        return float(np.sum(volume * by_curve(core, Curve.energy, size)))

    linear, square = float(force @ step), float(along @ step)
    slope = linear + float(mass(core, m, reluctivities(core, m)) @ step)
    begin, share = local(0.0), 1.0
    for _ in range(40):
        change = local(share) - begin + share * linear + 0.5 * share**2 * square
        if change <= 1e-4 * share * slope + 1e-12 * abs(begin):
            return share
        share *= 0.5
    raise NotConvergedError("the co-energy does not fall along the step")


def flux_densities(state: Magnetised) -> Floats:
    """Magnitude of B in every cell, (nz, nx, ny) T, 0 where there is no material."""
    size = strength(state.core, state.m)
    return MU0 * (size + by_curve(state.core, Curve.applied, size))


def mean_flux_densities(state: Magnetised) -> Floats:
    """Mean B of every cell, (3, nz, nx, ny) T, 0 where there is no material."""
    core = state.core
    m = np.stack([0.5 * (a + b) for a, b in cell_ends(core.grid, split(core.grid, state.m))])
    stretch = 1.0 + by_curve(core, Curve.reluctivity, strength(core, state.m))
    return np.asarray(MU0 * stretch * m * core.grid.filled)


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
