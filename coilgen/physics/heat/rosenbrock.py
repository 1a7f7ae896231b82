"""A stiff integrator with its own step for heat that flows into bodies, and what lies between its steps.

Several alike may be integrated at once with steps in common: state and flow (e, n), slope (e, n, n).
"""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]

_BLOCK = 64
"""Equations that are inverted at once; larger systems are eliminated block by block."""


@dataclass(frozen=True, kw_only=True)
class Flowing:
    """Heat that flows by the state (n,): capacity (n,) times the state's rate is the flow (n,).

    flow: state -> flow and its slope (n, n); ahead: state -> flow alone; size: an error of the state -> K;
    passed: whether a state ends it.
    """

    capacity: Floats
    flow: Callable[[Floats], tuple[Floats, Floats]]
    ahead: Callable[[Floats], Floats]
    size: Callable[[Floats], float]
    passed: Callable[[Floats], bool]


@dataclass(frozen=True, kw_only=True)
class Course:
    """time (m,) s from 0 on; state and its rate (m, n)."""

    time: Floats
    state: Floats
    rate: Floats

    def at(self, time: Floats) -> Floats:
        """States at times (k,) s within it, (k, n): cubics through its values and rates."""
        after = np.clip(np.searchsorted(self.time, time), 1, len(self.time) - 1)
        begin, step = self.time[after - 1], np.diff(self.time)[after - 1][:, None]
        at = (time - begin)[:, None] / step
        low, high = self.state[after - 1], self.state[after]
        leave, arrive = step * self.rate[after - 1], step * self.rate[after]
        bend = (low - high + leave) * (1 - at) + (high - low - arrive) * at
        found: Floats = low + (high - low) * at + at * (1 - at) * bend
        return found


def integrated(heat: Flowing, start: Floats, until: float, tolerance: float) -> Course:
    """States from a start (n,) to a time, s, or to where one ends it; tolerance K of a step.

    Rosenbrock's method RODAS3 of third order (Sandu and others, Atmospheric Environment 31, 1997;
    coefficients from memory, their order under a test).
    """
    times, states, rates = [0.0], [start], []
    flow, slope = heat.flow(start)
    rates.append(flow / heat.capacity)
    step = min(until, _first_step(heat.size(rates[0]), until))
    while times[-1] < until and not heat.passed(states[-1]):
        step = min(step, until - times[-1])
        new, change = stepped(heat, states[-1], step, flow, slope)
        error = heat.size(change)
        if error <= tolerance:
            times.append(until if until - times[-1] <= step else times[-1] + step)
            states.append(new)
            flow, slope = heat.flow(new)
            rates.append(flow / heat.capacity)
        step *= float(np.clip(0.9 * (tolerance / max(error, 1e-300)) ** (1 / 3), 0.2, 6.0))
        if not times[-1] + step > times[-1]:
            raise ArithmeticError("the step of the transient vanishes")
    return Course(time=np.array(times), state=np.array(states), rate=np.array(rates))


def _first_step(fastest: float, until: float) -> float:
    """As long as the fastest node takes for a tenth of a kelvin, s."""
    return 0.1 / fastest if fastest > 0 else until


def stepped(heat: Flowing, state: Floats, step: float, flow: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """State (n,) after one step, s, and its error (n,); flow and slope at the state."""
    inertia = heat.capacity / step
    matrix = -slope
    np.einsum("...ii->...i", matrix)[...] += 2 * inertia
    solved = _solver(matrix)
    one = solved(flow)
    two = solved(flow + inertia * 4 * one)
    ahead = heat.ahead(state + 2 * one)
    three = solved(ahead + inertia * (one - two))
    low = state + 2 * one + three
    ahead = heat.ahead(low)
    four = solved(ahead + inertia * (one - two - 8 / 3 * three))
    return low + four, four


def _solver(matrix: Floats) -> Callable[[Floats], Floats]:
    """Solutions of the equations of a matrix, one right side after the other; the matrix is overwritten.

    By blocks, as numpy inverts but hands out no factors, and loading scipy's takes longer than all steps.
    Rows need no exchange between blocks: what a node stores and passes on outweighs what it is passed.
    """
    count = matrix.shape[-1]
    edges = np.linspace(0, count, 1 + -(-count // _BLOCK)).astype(np.int64).tolist()
    rows, inverses = [slice(*each) for each in pairwise(edges)], []
    for some in rows:
        rest, inverse = slice(some.stop, None), np.linalg.inv(matrix[..., some, some])
        matrix[..., rest, some] = matrix[..., rest, some] @ inverse
        matrix[..., rest, rest] -= matrix[..., rest, some] @ matrix[..., some, rest]
        inverses.append(np.asarray(inverse, dtype=np.float64))

    def solved(right: Floats) -> Floats:
        out = right[..., None].copy()
        for some in rows:
            out[..., some.stop :, :] -= matrix[..., some.stop :, some] @ out[..., some, :]
        for some, inverse in zip(reversed(rows), reversed(inverses), strict=True):
            rest = matrix[..., some, some.stop :] @ out[..., some.stop :, :]
            out[..., some, :] = inverse @ (out[..., some, :] - rest)
        return out[..., 0]

    return solved
