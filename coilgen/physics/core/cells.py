"""What cells of soft material resist: energy, gradient and tangent in their faces' normal magnetisation.

Along each axis the magnetisation is straight from a cell's lower to its upper face. All functions work on
many states at once: m is (n,) A/m for n faces, or (n, s) for s states, and what is told of k cells (k,) or
(k, s).
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_charges import cell_ends, sides, split
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.magnetisation_curve import Curve, by_body
from coilgen.physics.field.filaments import Indices

_LINEAR = np.kron(np.eye(3), [[1 / 3, 1 / 6], [1 / 6, 1 / 3]])
"""Mean product of what two of a cell's faces contribute, linear between lower and upper ones."""


@dataclass(frozen=True, kw_only=True)
class Cells:
    """k cells of soft material between n faces.

    ends: (3, 2, k) each cell's lower and upper face along x, y, z. volume: (k,) m3. body: (k,) whose curve a
    cell follows.
    """

    ends: Indices
    volume: Floats
    body: Indices
    curves: tuple[Curve, ...]

    @property
    def straight(self) -> bool:
        """Whether nothing saturates."""
        return all(curve.straight for curve in self.curves)

    def of_curves(self, curves: tuple[Curve, ...]) -> "Cells":
        """With other curves."""
        return replace(self, curves=curves)

    def made_of(self, permeability: float, saturation: float) -> "Cells":
        """With all materials' permeability and saturation times factors."""
        return self.of_curves(tuple(curve.scaled(permeability, saturation) for curve in self.curves))

    def strengths(self, m: Floats) -> Floats:
        """Root mean square magnetisation of every cell, A/m."""
        low, high = np.moveaxis(m[self.ends], 1, 0)
        return np.asarray(np.sqrt(np.sum(low * low + low * high + high * high, axis=0) / 3.0))

    def told(self, quantity: Callable[[Curve, Floats], Floats], strengths: Floats) -> Floats:
        """A quantity of each cell's own curve."""
        return by_body(self.curves, self.body, quantity, strengths)

    def energies(self, m: Floats) -> Floats:
        """Sum of V w(|M|), A2 m, of each state."""
        return np.asarray(self.volume @ self.told(Curve.energy, self.strengths(m)))

    def tangent(self, m: Floats) -> "Tangent":
        """What the cells resist at a state and about it."""
        size = self.strengths(m)
        secant = self.told(Curve.reluctivity, size)
        rise = np.maximum(self.told(Curve.slope, size) - secant, -0.999 * secant)
        volume = like(self.volume, size)
        return Tangent(
            cells=self,
            secant=volume * secant,
            rise=volume * np.divide(rise, size**2, out=np.zeros_like(size), where=size > 1e-9),
            half=_means(m[self.ends]),
            steepest=float((rise * (size > 1e-9)).max()),
        )

    def onto_faces(self, told: Floats, like_m: Floats) -> Floats:
        """Sum on the faces, in the shape of m, of what each cell says of its own, (3, 2, k) or more."""
        out = np.zeros_like(like_m)
        for faces, values in zip(self.ends, told, strict=True):
            for face, value in zip(faces, values, strict=True):
                out[face] += value
        return out


@dataclass(frozen=True, kw_only=True)
class Tangent:
    """The cells' part of the co-energy's first and second derivative at a state.

    secant: V H/M of each cell, m3. rise: V (dH/dM - H/M) / M^2 for the part of the tangent along M. half:
    that part's direction, (3, 2, k) or (3, 2, k, s) A/m. steepest: the largest dH/dM - H/M of any cell.
    """

    cells: Cells
    secant: Floats
    rise: Floats
    half: Floats
    steepest: float

    def as_if_straight(self) -> "Tangent":
        """As if each cell's H/M were the same at all fields."""
        return replace(self, rise=np.zeros_like(self.rise), steepest=0.0)

    @property
    def bent(self) -> bool:
        """Whether any cell's H/M changes about the state."""
        return bool(np.any(self.rise))

    def secant_of(self, m: Floats) -> Floats:
        """The cells' part of the gradient: sum of V nu [1/3 1/6; 1/6 1/3] on each axis, A m2."""
        return self.cells.onto_faces(self.secant * _means(m[self.cells.ends]), m)

    def of(self, step: Floats) -> Floats:
        """Change of the gradient for a small step of m, A m2."""
        ends = step[self.cells.ends]
        told = self.secant * _means(ends)
        if self.bent:
            told += self.rise * np.sum(self.half * ends, axis=(0, 1)) * self.half
        return self.cells.onto_faces(told, step)

    def diagonal(self, like_m: Floats) -> Floats:
        """Of the tangent, m3, in the shape of m."""
        return self.cells.onto_faces(self.secant / 3.0 + self.rise * self.half**2, like_m)

    def of_each(self) -> Floats:
        """Each cell's own second derivatives in its six faces, (k, 6, 6) m3; of one state."""
        half = self.half.reshape(6, -1)
        found = np.einsum("n,in,jn->nij", self.rise, half, half)
        return np.asarray(found + self.secant[:, None, None] * _LINEAR)


def cells_of_grid(grid: BrickGrid, curves: tuple[Curve, ...], numbers: Indices | None = None) -> Cells:
    """The filled cells of a grid; numbers: what each face is called, all in a row where none are told."""
    lower, _ = sides(grid)
    called = np.arange(lower.flat.size) if numbers is None else numbers
    faces = split(grid, called.astype(np.float64))
    ends = [[end[grid.filled] for end in pair] for pair in cell_ends(grid, faces)]
    return Cells(
        ends=np.array(ends, dtype=np.int64),
        volume=np.broadcast_to(grid.volume, grid.body.shape)[grid.filled],
        body=grid.body[grid.filled],
        curves=curves,
    )


def like(each: Floats, states: Floats) -> Floats:
    """Numbers (n,) that all states share, so that they go with (n,) or (n, s)."""
    return each.reshape(-1, *[1] * (states.ndim - 1))


def _means(ends: Floats) -> Floats:
    """Of a cell's magnetisation, weighed by what each face contributes to it; ends: (3, 2, k) or more."""
    return ends / 3.0 + ends[:, ::-1] / 6.0
