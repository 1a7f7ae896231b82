"""Newton's steps to where a convex co-energy of cells and their charges is least, in many states at once."""

from collections.abc import Callable
from typing import NamedTuple, Protocol

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.cells import Cells, Tangent, like

Operator = Callable[[Floats], Floats]
_CONJUGATE_STEPS, _HALVINGS = 3000, 40
_ENOUGH, _ROUNDING = 1e-4, 1e-12
"""Of the slope along a step, that the co-energy must fall (Armijo's rule); of itself, that it may rise."""
_LEAST = 1e-300
_LED = 0.25
"""Of the residual's square, that each step leaves in the mean where a system much like it leads."""


class NotConvergedError(ArithmeticError):
    """The iteration for the magnetisation did not reach its tolerance."""


class Lead(NamedTuple):
    """A better preconditioner than the diagonal, made after so many steps of conjugate gradients."""

    after: int
    made: Callable[[], Operator]


class Charged(Protocol):
    """Cells and the energy of their charges."""

    @property
    def cells(self) -> Cells:
        """What resists the magnetisation."""

    @property
    def own(self) -> Floats:
        """Second derivative of the charges' energy in each face's own magnetisation, (n,) m3."""

    def demagnetising(self, m: Floats) -> Floats:
        """Gradient of the charges' energy at m, in its shape."""

    def lead(self, tangent: Tangent) -> Lead | None:
        """What leads conjugate gradients about a state, where more than the diagonal does."""


def newton_step(
    body: Charged,
    tangent: Tangent,
    m: Floats,
    force: Floats,
    gradient: Floats,
    accuracy: float,
    known: Operator | None = None,
) -> tuple[Floats, Floats]:
    """A step of m (n,) or (n, s), each state's shortened until its co-energy falls, and its own field.

    force: the gradient's part that is not the cells' own. accuracy, known: see `conjugate_gradients`. Raises
    NotConvergedError.
    """
    step = conjugate_gradients(body, tangent, -gradient, accuracy, known=known)
    along = body.demagnetising(step)
    share = _share(body.cells, m, step, force, gradient, along)
    return share * step, share * along


def conjugate_gradients(
    body: Charged,
    tangent: Tangent,
    right: Floats,
    accuracy: float,
    start: Floats | None = None,
    known: Operator | None = None,
) -> Floats:
    """Solves the tangent system, (n,) or (n, s), to a residual relative to the largest right side.

    From `start` or from nothing. The diagonal measures the residual. It is the preconditioner too, until what
    the body names leads. known: solves a system much like it, which leads first of all, as long as that takes
    few steps.
    """
    diagonal = tangent.diagonal(right) + like(body.own, right)
    x, r = np.zeros_like(right), right.copy()
    goal = accuracy**2 * np.max(_products(r, r / diagonal))
    if start is not None:
        x, r = start.copy(), r - tangent.of(start) - body.demagnetising(start)
    lead, precondition, most, led = body.lead(tangent), known, np.inf, 0
    p, rz = np.zeros_like(right), np.ones(right.shape[1:])
    for step in range(_CONJUGATE_STEPS):
        z = r / diagonal
        left = _products(r, z)
        if np.max(left) <= goal:
            return x
        if known is not None:
            most = _LED * most if step else np.max(left) / _LED
            if np.max(left) > most:
                known, precondition, led, p = None, None, step, np.zeros_like(right)
        if lead is not None and known is None and step == led + lead.after:
            precondition, p = lead.made(), np.zeros_like(right)
        if precondition is not None:
            z = precondition(r)
            left = _products(r, z)
        before, rz = rz, left
        p = z + rz / np.maximum(before, _LEAST) * p
        q = tangent.of(p) + body.demagnetising(p)
        alpha = rz / np.maximum(_products(p, q), _LEAST)
        x += alpha * p
        r -= alpha * q
    off = np.sqrt(np.max(_products(r, r / diagonal)) / goal) * accuracy
    raise NotConvergedError(f"conjugate gradients stopped at {off:.1e}")


def _products(one: Floats, other: Floats) -> Floats:
    """Of each state."""
    return np.asarray(np.einsum("n...,n...->...", one, other))


def _share(cells: Cells, m: Floats, step: Floats, force: Floats, gradient: Floats, along: Floats) -> Floats:
    """Of each state's step, halved from 1 until its co-energy has fallen enough, (s,) or ()."""
    linear, square, slope = (_products(each, step) for each in (force, along, gradient))
    begin = cells.energies(m)
    share = np.ones_like(begin)
    for _ in range(_HALVINGS):
        change = cells.energies(m + share * step) - begin + share * linear + 0.5 * share**2 * square
        stays = change > _ENOUGH * share * slope + _ROUNDING * np.abs(begin)
        if not np.any(stays):
            return share
        share = np.where(stays, 0.5 * share, share)
    raise NotConvergedError("the co-energy does not fall along the step")
