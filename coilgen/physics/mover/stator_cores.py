"""Alike cores in all pockets of an array, magnetised by a mover at many places at once."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.magnetisation_curve import Curve, by_body
from coilgen.physics.core.soft_core import NotConvergedError
from coilgen.physics.mover.pocket import Mirror, Pocket
from coilgen.physics.mover.pockets import Columns

TOLERANCE = 1e-6
"""Of the load: the cogging torque is what is left of torques of single cores some thousand times as large."""
_STEEPEST, _ROUGHLY = (0.2, 2.0, 20.0), 1e-2
"""dH / dM up to which curves go in the stages before the last, and how far those are solved."""
_INEXACT = 1e-2
_NEWTON_STEPS, _CONJUGATE_STEPS, _HALVINGS = 60, 1000, 30


@dataclass(frozen=True, kw_only=True)
class Neighbour:
    """What another pocket does: potentials (c, c) 1/m of unit charges there over a pocket's own carriers.

    columns: its own states where a pocket is in each of the solved ones.
    """

    potentials: Floats
    columns: Columns


@dataclass(frozen=True, kw_only=True)
class Stator:
    """A pocket with potentials (c, c) 1/m of its own charges, images among them, and its neighbours.

    mirror: of its motion.
    """

    pocket: Pocket
    mirror: Mirror
    own: Floats
    neighbours: tuple[Neighbour, ...]

    def from_neighbours(self, charge: Floats) -> Floats:
        """Potentials (c, s) A of the neighbours' charges in all solved states; charge: ours, (c, s) A m."""
        total = np.zeros_like(charge)
        for each in self.neighbours:
            total += each.potentials @ each.columns.of(charge, self.mirror.carriers)
        return total


def magnetised(stator: Stator, applied: Floats) -> Floats:
    """Normal magnetisations (n, s) A/m under potentials (c, s) A of the mover over the carriers.

    The co-energy of `core.soft_core`. Curves that level are first bent less: each stage begins where the one
    before has ended. Raises NotConvergedError where the steps do not come to rest.
    """
    one = stator.pocket
    m = np.zeros((len(one.face), applied.shape[1]))
    if all(curve.straight for curve in one.curves):
        return _at_rest(stator, applied, m, _Straight(stator), TOLERANCE)
    for steepest in _STEEPEST:
        bent = tuple(_bent(curve, steepest) for curve in one.curves)
        softer = replace(stator, pocket=replace(one, curves=bent))
        m = _at_rest(softer, applied, m, _Tangent(softer), _ROUGHLY)
    return _at_rest(stator, applied, m, _Tangent(stator), TOLERANCE)


def _bent(curve: Curve, steepest: float) -> Curve:
    """The curve up to where it is so steep, dH / dM, then straight on."""
    if curve.straight:
        return curve
    slopes = np.diff(curve.field) / np.diff(curve.magnetisation)
    late = np.flatnonzero((slopes > steepest) & (np.arange(len(slopes)) > 0))
    if not len(late):
        return curve
    kept = int(late[0]) + 1
    return replace(curve, magnetisation=curve.magnetisation[:kept], field=curve.field[:kept], beyond=steepest)


def _at_rest(
    stator: Stator, applied: Floats, m: Floats, step: "_Straight | _Tangent", tolerance: float
) -> Floats:
    """By Newton's steps that leave out how neighbours answer, each state with a line search of its own."""
    one = stator.pocket
    diagonal = step.charges_diagonal[:, None]
    goal = tolerance * float(_sizes(one.charged.T @ applied, diagonal).max())
    for _ in range(_NEWTON_STEPS):
        charge = one.charged @ m
        outside = applied + stator.from_neighbours(charge)
        gradient = _mass(one, m, _secant(one, m)) + one.charged.T @ (stator.own @ charge + outside)
        left = _sizes(gradient, diagonal)
        if left.max() <= goal:
            return m
        still = np.flatnonzero(left > 0.3 * goal)
        accuracy = 0.3 * goal / float(left.max())
        m = m.copy()
        m[:, still] = step.taken(
            m[:, still], charge[:, still], gradient[:, still], outside[:, still], accuracy
        )
    raise NotConvergedError(f"the cores' magnetisation is still {left.max() / goal * tolerance:.1e} off")


def _sizes(vectors: Floats, diagonal: Floats) -> Floats:
    return np.asarray(np.sqrt(np.sum(vectors**2 / diagonal, axis=0)))


class _Straight:
    """Steps where nothing saturates: all states by one factorisation."""

    def __init__(self, stator: Stator) -> None:
        from scipy.linalg import cho_factor

        one = stator.pocket
        stiffness = _stiffness(stator)
        self.charges_diagonal = np.diag(stiffness).copy()
        weight = _secant(one, np.zeros((len(one.face), 1)))
        stiffness += _mass(one, np.eye(len(one.face)), weight)
        self._factor = cho_factor(stiffness, overwrite_a=True)

    def taken(self, m: Floats, charge: Floats, gradient: Floats, outside: Floats, accuracy: float) -> Floats:
        """States after a whole step."""
        from scipy.linalg import cho_solve

        return np.asarray(m - cho_solve(self._factor, gradient))


def _stiffness(stator: Stator) -> Floats:
    """Energy of the charges of a pocket's own magnetisation, (n, n)."""
    charged = stator.pocket.charged
    return np.asarray(charged.T @ (charged.T @ stator.own).T)


class _Tangent:
    """Steps along the tangent of curves, by conjugate gradients in all states at once."""

    def __init__(self, stator: Stator) -> None:
        self._stator = stator
        self._stiffness = _stiffness(stator)
        self.charges_diagonal = np.diag(self._stiffness).copy()

    def taken(self, m: Floats, charge: Floats, gradient: Floats, outside: Floats, accuracy: float) -> Floats:
        """States after steps, each shortened until its own co-energy falls."""
        one = self._stator.pocket
        size = cell_strengths(one, m)
        secant = of_cells(one, Curve.reluctivity, size)
        rise = of_cells(one, Curve.slope, size) - secant
        square = np.maximum(size**2, 1e-18)
        along = np.maximum(rise, -0.999 * secant) / square * (size > 1e-9)
        found = self._conjugate(m, secant, along, -gradient, max(accuracy, _INEXACT))
        return m + self._share(m, charge, outside, gradient, found) * found

    def _conjugate(self, m: Floats, secant: Floats, along: Floats, right: Floats, accuracy: float) -> Floats:
        one, volume = self._stator.pocket, self._stator.pocket.volume[:, None]
        weight, slope = volume * secant, volume * along
        unit = [(a / 3.0 + b / 6.0, a / 6.0 + b / 3.0) for a, b in _cell_ends(one, m)]

        def apply(d: Floats) -> Floats:
            ends = _cell_ends(one, d)
            share = slope * sum(u[0] * e[0] + u[1] * e[1] for u, e in zip(unit, ends, strict=True))
            out = self._stiffness @ d
            for axis, ((a, b), (low, high)) in enumerate(zip(ends, unit, strict=True)):
                out[one.ends[axis, 0]] += weight * (a / 3.0 + b / 6.0) + share * low
                out[one.ends[axis, 1]] += weight * (a / 6.0 + b / 3.0) + share * high
            return out

        diagonal = np.repeat(self.charges_diagonal[:, None], m.shape[1], axis=1)
        for axis, (low, high) in enumerate(unit):
            diagonal[one.ends[axis, 0]] += weight / 3.0 + slope * low**2
            diagonal[one.ends[axis, 1]] += weight / 3.0 + slope * high**2
        x, r = np.zeros_like(right), right.copy()
        z = r / diagonal
        p, rz = z.copy(), np.sum(r * z, axis=0)
        goal = accuracy**2 * rz.max()
        for _ in range(_CONJUGATE_STEPS):
            if rz.max() <= goal:
                return x
            q = apply(p)
            alpha = rz / np.maximum(np.sum(p * q, axis=0), 1e-300)
            x += alpha * p
            r -= alpha * q
            z = r / diagonal
            before, rz = rz, np.sum(r * z, axis=0)
            p = z + rz / np.maximum(before, 1e-300) * p
        raise NotConvergedError("conjugate gradients of the cores did not come to an end")

    def _share(self, m: Floats, charge: Floats, outside: Floats, gradient: Floats, step: Floats) -> Floats:
        """Of each state's step, halved until the co-energy falls enough (Armijo's rule), (s,)."""
        one = self._stator.pocket
        moved = one.charged @ step
        potential = self._stator.own @ moved
        linear = np.sum(charge * potential + outside * moved, axis=0)
        square = np.sum(moved * potential, axis=0)
        slope = np.sum(gradient * step, axis=0)
        begin = self._material(m)
        share = np.ones(m.shape[1])
        for _ in range(_HALVINGS):
            change = self._material(m + share * step) - begin + share * linear + 0.5 * share**2 * square
            stays = change > 1e-4 * share * slope + 1e-9 * np.abs(begin)
            if not stays.any():
                break
            share = np.where(stays, 0.5 * share, share)
        return share

    def _material(self, m: Floats) -> Floats:
        one = self._stator.pocket
        return np.asarray(one.volume @ of_cells(one, Curve.energy, cell_strengths(one, m)))


def _cell_ends(one: Pocket, m: Floats) -> list[tuple[Floats, Floats]]:
    return [(m[low], m[high]) for low, high in one.ends]


def cell_strengths(one: Pocket, m: Floats) -> Floats:
    """Root mean square magnetisation (k, s) A/m of each cell."""
    square = sum((a * a + a * b + b * b) / 3.0 for a, b in _cell_ends(one, m))
    return np.asarray(np.sqrt(np.asarray(square)))


def of_cells(one: Pocket, quantity: Callable[[Curve, Floats], Floats], size: Floats) -> Floats:
    """A quantity of each cell's curve at magnetisations (k, s)."""
    return by_body(one.curves, one.body, quantity, size)


def _secant(one: Pocket, m: Floats) -> Floats:
    return of_cells(one, Curve.reluctivity, cell_strengths(one, m))


def _mass(one: Pocket, m: Floats, secant: Floats) -> Floats:
    """Gradient of the material's co-energy: sum over cells of V nu [1/3 1/6; 1/6 1/3] on each axis."""
    weight = one.volume[:, None] * secant
    out = np.zeros_like(m)
    for axis, (a, b) in enumerate(_cell_ends(one, m)):
        out[one.ends[axis, 0]] += weight * (a / 3.0 + b / 6.0)
        out[one.ends[axis, 1]] += weight * (a / 6.0 + b / 3.0)
    return out
