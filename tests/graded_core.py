"""Magnetisation of bodies on graded cells: the volume integral equation of `soft_core`, all charges on all.

The co-energy and its elements are the same; the energy of the charges is a dense matrix, summed over images.
The preconditioner of each Newton step is a sparse factor of all that meets in a cell: the material's tangent
and the carriers' own energies.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from graded_cells import GradedBody, GradedCells, Image, graded_cells
from graded_pairs import mean_inverse_distances_of_pairs

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.charge_field import boxes_flux_density
from coilgen.physics.core.descent import NotConvergedError
from coilgen.physics.core.magnetisation_curve import Curve, by_body

FluxDensity = Callable[[Floats], Floats]
_TOLERANCE = 1e-5
_NEWTON_STEPS, _CONJUGATE_STEPS, _HALVINGS = 60, 2000, 40
_ROUGHLY = 0.01
"""Of a Newton step: rougher ones take twice as many, as the knee lets through only what is right."""
_THIN, _HAIR = 1e-4, 1e-9
_ELEMENT = np.kron(np.eye(3), np.array([[1.0 / 3.0, 1.0 / 6.0], [1.0 / 6.0, 1.0 / 3.0]]))
"""Mass of the six faces of a cell of volume 1."""


@dataclass(frozen=True, kw_only=True)
class GradedCore:
    """Cells, the curve of each body, and the charges' energy: between (carriers, carriers) 1/m."""

    cells: GradedCells
    curves: tuple[Curve, ...]
    between: Floats


@dataclass(frozen=True, kw_only=True)
class GradedState:
    """Normal magnetisation of the free faces (n,) A/m under a load (n,) A m2."""

    core: GradedCore
    m: Floats
    load: Floats

    @property
    def charge(self) -> Floats:
        """(carriers,) A m."""
        return np.asarray(self.core.cells.charge @ self.m)


def graded_core(
    bodies: Sequence[GradedBody], curves: Sequence[Curve], symmetries: Sequence[Image] = ()
) -> GradedCore:
    """Everything that does not depend on the drive; curves: one for each body."""
    cells = graded_cells(bodies, symmetries)
    carriers = cells.carriers
    between = mean_inverse_distances_of_pairs(carriers.middle, carriers.extent, None, signs(cells.images))
    between /= 4.0 * np.pi
    return GradedCore(cells=cells, curves=tuple(curves), between=between)


def signs(images: Sequence[Image]) -> Floats:
    """Rows (n, 4) as the kernels take images."""
    return np.array([[*one.flip, one.charge] for one in images], dtype=np.float64)


def applied_load(core: GradedCore, flux_density: FluxDensity, order: int = 3) -> Floats:
    """Load (n,) A m2 of an applied B (k, 3) T at points (k, 3) m, by Gauss's rule of `order` points."""
    cells = core.cells
    node, weight = np.polynomial.legendre.leggauss(order)
    node, weight = 0.5 + 0.5 * node, 0.5 * weight
    local = np.stack(np.meshgrid(node, node, node, indexing="ij"), axis=-1).reshape(-1, 3)
    share = np.einsum("i,j,k->ijk", weight, weight, weight).ravel()
    points = (cells.middle - 0.5 * cells.extent)[:, None] + local * cells.extent[:, None]
    h = flux_density(points.reshape(-1, 3)).reshape(points.shape) / MU0
    high = cells.volume[:, None] * np.einsum("g,gk,cgk->ck", share, local, h)
    whole = cells.volume[:, None] * np.einsum("g,cgk->ck", share, h)
    return _onto_faces(cells, np.stack([whole - high, high], axis=-1).reshape(-1, 6))


def _onto_faces(cells: GradedCells, each: Floats) -> Floats:
    """What the cells say of their six faces (nc, 6), summed on the free values."""
    count = cells.tie.shape[0]
    return np.asarray(cells.tie.T @ np.bincount(cells.face.ravel(), each.ravel(), minlength=count))


def magnetised_cells(
    core: GradedCore, load: Floats, start: Floats | None = None, *, tolerance: float = _TOLERANCE
) -> GradedState:
    """The magnetisation under a load, by damped Newton steps from `start` or from nothing.

    Raises NotConvergedError if the gradient of the co-energy does not fall to `tolerance` of the load.
    """
    m = np.zeros_like(load) if start is None else start
    charge, scale = core.cells.charge, _own_energies(core).diagonal()
    goal = tolerance * _size(load, scale)
    field = charge.T @ (core.between @ (charge @ m))
    straight = all(curve.straight for curve in core.curves)
    for _ in range(_NEWTON_STEPS):
        tangent, secant = _tangent(core, m)
        gradient = secant + field - load
        left = _size(gradient, scale)
        if left <= goal:
            return GradedState(core=core, m=m, load=load)
        accuracy = 0.5 * goal / left
        if not straight:
            accuracy = max(min(_ROUGHLY, left / _size(load, scale)), accuracy)
        step, along = _conjugate_gradients(core, tangent, -gradient, accuracy)
        share = _share(core, m, step, field - load, along)
        m, field = m + share * step, field + share * along
    raise NotConvergedError(f"the bodies' magnetisation is still {left / goal * tolerance:.1e} off")


def _size(vector: Floats, scale: Floats) -> float:
    return float(np.sqrt(np.sum(vector**2 / scale)))


def _own_energies(core: GradedCore) -> Any:
    """Sparse (n, n): what each carrier's charge feels of itself."""
    from scipy.sparse import diags

    charge = core.cells.charge
    return (charge.T @ diags(np.diag(core.between)) @ charge).tocsc()


def _ends(core: GradedCore, m: Floats) -> Floats:
    """Normal magnetisation on the six faces of each cell, (nc, 6)."""
    return np.asarray((core.cells.tie @ m)[core.cells.face])


def strengths(core: GradedCore, m: Floats) -> Floats:
    """Root mean square magnetisation of every cell, (nc,) A/m."""
    ends = _ends(core, m)
    return np.asarray(np.sqrt(np.maximum(np.einsum("ci,ij,cj->c", ends, _ELEMENT, ends), 0.0)))


def _by_curve(core: GradedCore, quantity: Callable[[Curve, Floats], Floats], size: Floats) -> Floats:
    return by_body(core.curves, core.cells.body, quantity, size)


def _tangent(core: GradedCore, m: Floats) -> tuple[Any, Floats]:
    """Second derivative of the material's co-energy at m, sparse (n, n), and its gradient (n,)."""
    from scipy.sparse import csr_matrix

    cells, ends, size = core.cells, _ends(core, m), strengths(core, m)
    secant = _by_curve(core, Curve.reluctivity, size)
    square = np.maximum(size, 1e-9) ** 2
    rise = np.maximum(_by_curve(core, Curve.slope, size) - secant, -0.999 * secant) / square
    pull = ends @ _ELEMENT
    blocks = (cells.volume * secant)[:, None, None] * _ELEMENT
    blocks = blocks + (cells.volume * rise)[:, None, None] * pull[:, :, None] * pull[:, None, :]
    row, column = np.repeat(cells.face, 6, axis=1).ravel(), np.tile(cells.face, (1, 6)).ravel()
    count = cells.tie.shape[0]
    matrix = csr_matrix((blocks.ravel(), (row, column)), shape=(count, count))
    gradient = _onto_faces(cells, (cells.volume * secant)[:, None] * pull)
    return (cells.tie.T @ matrix @ cells.tie).tocsc(), gradient


def _conjugate_gradients(
    core: GradedCore, tangent: Any, right: Floats, accuracy: float
) -> tuple[Floats, Floats]:
    """Solution of the tangent system to a relative residual, and the charges' field of it."""
    charge = core.cells.charge
    solve = _factored(tangent + _own_energies(core))
    x, field, r = np.zeros_like(right), np.zeros_like(right), right.copy()
    z = solve(r)
    p, rz = z.copy(), float(r @ z)
    goal = accuracy**2 * rz
    for _ in range(_CONJUGATE_STEPS):
        if rz <= goal:
            return x, field
        along = charge.T @ (core.between @ (charge @ p))
        q = tangent @ p + along
        alpha = rz / float(p @ q)
        x += alpha * p
        field += alpha * along
        r -= alpha * q
        z = solve(r)
        before, rz = rz, float(r @ z)
        p = z + (rz / before) * p
    raise NotConvergedError(f"conjugate gradients stopped at {np.sqrt(rz / goal) * accuracy:.1e}")


def _factored(matrix: Any) -> Callable[[Floats], Floats]:
    """Solver of a symmetric positive sparse matrix."""
    from scipy.sparse.linalg import splu

    found = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return lambda right: np.asarray(found.solve(right))


def _share(core: GradedCore, m: Floats, step: Floats, force: Floats, along: Floats) -> float:
    """Share of the step at which the co-energy has fallen enough (Armijo's rule), halved from 1."""
    volume = core.cells.volume

    def local(share: float) -> float:
        return float(volume @ _by_curve(core, Curve.energy, strengths(core, m + share * step)))

    linear, square = float(force @ step), float(along @ step)
    slope = linear + float(_tangent(core, m)[1] @ step)
    begin, share = local(0.0), 1.0
    for _ in range(_HALVINGS):
        change = local(share) - begin + share * linear + 0.5 * share**2 * square
        if change <= 1e-4 * share * slope + 1e-12 * abs(begin):
            return share
        share *= 0.5
    raise NotConvergedError("the co-energy does not fall along the step")


def mean_flux_densities(state: GradedState) -> Floats:
    """Mean B of every cell, (nc, 3) T."""
    ends = _ends(state.core, state.m).reshape(-1, 3, 2)
    stretch = 1.0 + _by_curve(state.core, Curve.reluctivity, strengths(state.core, state.m))
    return np.asarray(MU0 * stretch[:, None] * ends.mean(axis=2))


def graded_linkage(state: GradedState, load: Floats) -> float:
    """mu0 b . m of the whole, images and all, J: for b of one ampere the flux linkage (Wb) that it adds."""
    return MU0 * len(state.core.cells.images) * float(load @ state.m)


def graded_flux_density(state: GradedState, points: Floats) -> Floats:
    """Flux density (k, 3) T of the bodies and their images alone, at points (k, 3) m outside them."""
    carriers = state.core.cells.carriers
    extent = np.maximum(carriers.extent, _THIN * carriers.extent.max(axis=1, keepdims=True))
    boxes = np.column_stack([carriers.middle, extent, state.charge])
    out = np.zeros((len(points), 3))
    for image in state.core.cells.images:
        there = boxes.copy()
        there[:, :3] *= image.flip
        there[:, 6] *= image.charge
        out += boxes_flux_density(np.ascontiguousarray(there), points)
    return out


def section_flux_density(state: GradedState, body: int, axis: int, place: float) -> float:
    """Mean B (T) along an axis through the body's section at a place (m) on it, signed.

    Raises ValueError where the body has no section.
    """
    cells, stretch = (
        state.core.cells,
        _by_curve(state.core, Curve.reluctivity, strengths(state.core, state.m)),
    )
    low, length = cells.middle[:, axis] - 0.5 * cells.extent[:, axis], cells.extent[:, axis]
    past = place + _HAIR
    cut = np.flatnonzero((cells.body == body) & (low <= past) & (past < low + length))
    if not len(cut):
        raise ValueError(f"body {body} has no section at {place} m")
    share = (place - low[cut]) / length[cut]
    ends = _ends(state.core, state.m)[cut, 2 * axis : 2 * axis + 2]
    m = (1.0 - share) * ends[:, 0] + share * ends[:, 1]
    area = cells.volume[cut] / length[cut]
    return MU0 * float(area @ (m * (1.0 + stretch[cut]))) / float(area.sum())
