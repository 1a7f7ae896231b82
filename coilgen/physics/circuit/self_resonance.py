"""Self-resonance of a winding from its turns' inductances and the capacitances between them."""

import math
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_ROUNDING = 1e-12
"""Of a voltage, before it is made orthogonal: less is rounding."""
_STILL = 1e-13
"""Of the largest eigenvalue: a step that changes it by less is the last."""
_NONE = 1e-14
"""Of the energy of charged turns: less is rounding."""


def ladder_resonance(
    turn_inductances: ArrayLike, branches: ArrayLike, strings: ArrayLike | None = None
) -> float:
    """First resonance, Hz, of turns in series, from their inductances and partial capacitances.

    turn_inductances (n, n), H: self and mutual, positive definite, in the order the current meets the turns.
    branches (n, n), F: partial capacitance between each two turns, symmetric; half of each joins the turns'
    starts, half their ends. strings (n,) int: turns of one number are in series, the strings of different
    numbers side by side; without it one string. Driven at one end, the other grounded. Finer than one L and
    one C: the current may differ from turn to turn. Eigenvalue of the ladder's nodal equations, no losses,
    by Lanczos' method in the energy of the capacitances. Infinite for turns without capacitance. Raises
    ValueError for matrices that do not fit.

    Two like turns without mutual inductance, each with half the partial capacitance across it:

    >>> round(ladder_resonance(np.diag([25.33e-6, 25.33e-6]), [[0, 20e-12], [20e-12, 0]]) / 1e6, 3)
    10.0
    """
    inductances = np.asarray(turn_inductances, dtype=np.float64)
    capacitances = np.asarray(branches, dtype=np.float64)
    if inductances.ndim != 2 or len({*inductances.shape, *capacitances.shape}) != 1:
        raise ValueError("turn_inductances and branches must be square and alike in size")
    count = len(inductances)
    spans = _spans(np.zeros(count) if strings is None else np.asarray(strings))
    largest = _largest_product(_between_starts(inductances, spans), _at_starts(capacitances, spans))
    return math.inf if largest <= 0 else 1 / (2 * math.pi * math.sqrt(largest))


def _spans(strings: Floats) -> list[slice]:
    """The turns of each string, one after the other."""
    edges = [0, *(np.flatnonzero(strings[1:] != strings[:-1]) + 1).tolist(), len(strings)]
    return [slice(first, after) for first, after in pairwise(edges)]


def _between_starts(inductances: Floats, spans: list[slice]) -> Floats:
    """Inductances (n, n) H that currents into the turns' starts meet on their way to earth.

    The strings' first starts are held at one voltage: the currents that flow round through them follow.
    """
    on = inductances
    for _ in range(2):
        on = np.vstack([np.cumsum(on[span][::-1], axis=0)[::-1] for span in spans]).T
    firsts = [span.start for span in spans]
    if len(firsts) == 1:
        return on
    around = on[:, firsts[1:]] - on[:, :1]
    return np.asarray(on - around @ np.linalg.solve(around[firsts[1:]] - around[0], around.T))


def _at_starts(branches: Floats, spans: list[slice]) -> Floats:
    """Capacitances (n, n) F of the turns' starts: half of each branch is at these, half at the turns' ends.

    An end is the start of the next turn, or earth.
    """
    laplacian = 0.5 * (np.diag(np.sum(branches, axis=1)) - branches)
    at_ends = np.zeros_like(laplacian)
    for one in spans:
        for other in spans:
            at_ends[one, other][1:, 1:] = laplacian[one, other][:-1, :-1]
    return laplacian + at_ends


def _largest_product(inductances: Floats, capacitances: Floats) -> float:
    """Largest eigenvalue, s2, of the product of two symmetric matrices (n, n) without negative eigenvalues.

    Each new voltage is made orthogonal, in the capacitances' energy, to all before it.
    """
    basis, seen = np.zeros((2, 0, len(inductances)))
    projected, largest = np.zeros((0, 0)), 0.0
    voltage = inductances.sum(axis=1)
    while len(basis) < len(voltage):
        charge = capacitances @ voltage
        energy = float(voltage @ charge)
        if not energy > _NONE * float(np.square(voltage).sum()) * float(np.trace(capacitances)):
            break
        basis = np.vstack([basis, voltage / math.sqrt(energy)])
        seen = np.vstack([seen, charge / math.sqrt(energy)])
        voltage = inductances @ seen[-1]
        along = seen @ voltage
        projected = np.pad(projected, (0, 1))
        projected[-1] = projected[:, -1] = along
        before, largest = largest, float(np.linalg.eigvalsh(projected)[-1])
        if abs(largest - before) <= _STILL * largest:
            break
        whole = np.linalg.norm(voltage)
        voltage = voltage - along @ basis
        voltage -= (seen @ voltage) @ basis
        if np.linalg.norm(voltage) <= _ROUNDING * whole:
            break  # what is left is rounding: as a voltage of its own it would add a resonance there is not
    return largest
