"""Alike cores in all pockets of an array, magnetised by a mover at many places at once."""

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.cells import Cells, Tangent
from coilgen.physics.core.descent import NotConvergedError, newton_step
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.mover.pocket import Mirror, Pocket
from coilgen.physics.mover.pockets import Columns

if TYPE_CHECKING:
    from scipy.sparse import csc_array, csr_array

TOLERANCE = 1e-6
"""Of the load: the cogging torque is what is left of torques of single cores some thousand times as large."""
_STEEPEST, _ROUGHLY = (0.2, 2.0, 20.0), 1e-2
"""dH / dM up to which curves go in the stages before the last, and how far those are solved."""
_INEXACT = 1e-2
_NEWTON_STEPS = 60


@dataclass(frozen=True, kw_only=True)
class Neighbour:
    """What another pocket does: potentials 1/m of unit charges there over a pocket's own carriers, between
    these, (c, c), or between the nodes (q, q) of both, where `nodes` (c, q) tell what carriers are to them.

    columns: its own states where a pocket is in each of the solved ones.
    """

    potentials: Floats
    nodes: Floats | None
    columns: Columns

    def of(self, charge: Floats) -> Floats:
        """Potentials (c, s) A of its charges, (c, s) A m."""
        if self.nodes is None:
            return np.asarray(self.potentials @ charge)
        return np.asarray(self.nodes @ (self.potentials @ (self.nodes.T @ charge)))


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
            total += each.of(each.columns.of(charge, self.mirror.carriers))
        return total


def magnetised(stator: Stator, applied: Floats) -> Floats:
    """Normal magnetisations (n, s) A/m under potentials (c, s) A of the mover over the carriers.

    The co-energy of `core.soft_core`. Curves that level are first bent less: each stage begins where the one
    before has ended. Raises NotConvergedError where the steps do not come to rest.
    """
    one = stator.pocket
    m = np.zeros((len(one.face), applied.shape[1]))
    if one.cells.straight:
        return _at_rest(stator, applied, m, _factored_steps(one.cells, _stiffness(stator)), TOLERANCE)
    charged = _OwnCharges(cells=one.cells, charged=one.charged, potentials=stator.own)
    for steepest in _STEEPEST:
        softer = one.cells.of_curves(tuple(_bent(curve, steepest) for curve in one.cells.curves))
        m = _at_rest(stator, applied, m, _newton_steps(replace(charged, cells=softer)), _ROUGHLY)
    return _at_rest(stator, applied, m, _newton_steps(charged), TOLERANCE)


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


def _at_rest(stator: Stator, applied: Floats, m: Floats, steps: "_Steps", tolerance: float) -> Floats:
    """By Newton's steps that leave out how neighbours answer, each state with a line search of its own."""
    one = stator.pocket
    goal = tolerance * float(_sizes(one.charged.T @ applied, steps.own).max())
    for _ in range(_NEWTON_STEPS):
        charge = one.charged @ m
        outside = applied + stator.from_neighbours(charge)
        force = one.charged.T @ (stator.own @ charge + outside)
        gradient = steps.cells.tangent(m).secant_of(m) + force
        left = _sizes(gradient, steps.own)
        if left.max() <= goal:
            return m
        still = np.flatnonzero(left > 0.3 * goal)
        accuracy = 0.3 * goal / float(left.max())
        m = m.copy()
        m[:, still] += steps.taken(m[:, still], force[:, still], gradient[:, still], accuracy)
    raise NotConvergedError(f"the cores' magnetisation is still {left.max() / goal * tolerance:.1e} off")


def _sizes(vectors: Floats, own: Floats) -> Floats:
    return np.asarray(np.sqrt(np.sum(vectors**2 / own[:, None], axis=0)))


@dataclass(frozen=True, kw_only=True)
class _Steps:
    """own: (n,) as of `descent.Charged`; taken: steps of m (n, s), from it, force, gradient and accuracy."""

    cells: Cells
    own: Floats
    taken: Callable[[Floats, Floats, Floats, float], Floats]


def _factored_steps(cells: Cells, stiffness: Floats) -> _Steps:
    """Whole steps where nothing saturates: all states by one factorisation."""
    from scipy.linalg import cho_factor, cho_solve

    own = np.diag(stiffness)
    tangent = cells.tangent(np.zeros((len(own), 1)))
    factor = cho_factor(stiffness + tangent.secant_of(np.eye(len(own))))

    def taken(m: Floats, force: Floats, gradient: Floats, accuracy: float) -> Floats:
        return -np.asarray(cho_solve(factor, gradient))

    return _Steps(cells=cells, own=own, taken=taken)


def _newton_steps(charged: "_OwnCharges") -> _Steps:
    """Along the tangent of curves, by conjugate gradients in all states at once."""

    def taken(m: Floats, force: Floats, gradient: Floats, accuracy: float) -> Floats:
        return newton_step(charged, charged.cells.tangent(m), m, force, gradient, max(accuracy, _INEXACT))[0]

    return _Steps(cells=charged.cells, own=charged.own, taken=taken)


def _stiffness(stator: Stator) -> Floats:
    """Energy of the charges of a pocket's own magnetisation, (n, n)."""
    charged = stator.pocket.charged
    return np.asarray(charged.T @ (charged.T @ stator.own).T)


@dataclass(frozen=True, kw_only=True)
class _OwnCharges:
    """A pocket's cells with the energy of their own charges: what `descent` needs of them.

    charged: (c, n) m2, charges of unit magnetisations; potentials: (c, c) 1/m of unit charges.
    """

    cells: Cells
    charged: "csr_array"
    potentials: Floats

    @cached_property
    def own(self) -> Floats:
        return np.asarray((self.charged * (self.potentials @ self.charged)).sum(axis=0))

    @cached_property
    def _gathered(self) -> "csc_array":
        """To build the transpose takes as long as to use it, and steps are thousands."""
        return self.charged.T

    def demagnetising(self, m: Floats) -> Floats:
        return np.asarray(self._gathered @ (self.potentials @ (self.charged @ m)))

    def lead(self, tangent: Tangent) -> None:
        """The diagonal alone: cells are few."""
