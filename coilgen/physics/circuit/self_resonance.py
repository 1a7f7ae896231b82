"""Self-resonance of a winding from its inductance and its winding capacitance."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def self_resonance(inductance: float, capacitance: float) -> float:
    """Frequency 1 / (2 pi sqrt(L C)), Hz, of L in H with C in F (W. Thomson, 1853); no losses.

    Infinite for a winding without capacitance. Raises ValueError unless L > 0 and C >= 0.

    >>> round(self_resonance(25.33e-6, 10e-12) / 1e6, 3)
    10.0
    """
    if not inductance > 0 or not capacitance >= 0:
        raise ValueError("inductance must be positive and capacitance not negative")
    root = math.sqrt(inductance * capacitance)
    return math.inf if root == 0 else 1 / (2 * math.pi * root)


def ladder_resonance(
    turn_inductances: ArrayLike, branches: ArrayLike, strings: ArrayLike | None = None
) -> float:
    """First resonance, Hz, of turns in series, from their inductances and partial capacitances.

    turn_inductances (n, n), H: self and mutual, positive definite, in the order the current meets the turns.
    branches (n, n), F: partial capacitance between each two turns, symmetric; half of each joins the turns'
    starts, half their ends. strings (n,) int: turns of one number are in series, the strings of different
    numbers side by side; without it one string. Driven at one end, the other grounded. Finer than one L and
    one C: the current may differ from turn to turn. Eigenvalue of the ladder's nodal equations, no losses.
    Infinite for turns without capacitance. Raises ValueError for matrices that do not fit.

    Two like turns without mutual inductance, each with half the partial capacitance across it:

    >>> round(ladder_resonance(np.diag([25.33e-6, 25.33e-6]), [[0, 20e-12], [20e-12, 0]]) / 1e6, 3)
    10.0
    """
    inductances = np.asarray(turn_inductances, dtype=np.float64)
    capacitances = np.asarray(branches, dtype=np.float64)
    if inductances.ndim != 2 or len({*inductances.shape, *capacitances.shape}) != 1:
        raise ValueError("turn_inductances and branches must be square and alike in size")
    count = len(inductances)
    starts, ends = _at_nodes(np.zeros(count) if strings is None else np.asarray(strings))
    across = starts - ends
    laplacian = 0.5 * (np.diag(np.sum(capacitances, axis=1)) - capacitances)
    nodes = starts.T @ laplacian @ starts + ends.T @ laplacian @ ends
    root = np.linalg.cholesky(across.T @ np.linalg.solve(inductances, across))
    loaded = np.linalg.solve(root, np.linalg.solve(root, nodes).T)
    largest = float(np.linalg.eigvalsh(0.5 * (loaded + loaded.T))[-1])
    return math.inf if largest <= 0 else 1 / (2 * math.pi * math.sqrt(largest))


def _at_nodes(strings: Floats) -> tuple[Floats, Floats]:
    """Which node each turn starts and ends at, (n, nodes) each: all strings start at node 0 and end at earth,
    which is no column."""
    count = len(strings)
    first = np.append(True, strings[1:] != strings[:-1])
    node = np.where(first, 0, np.cumsum(~first))
    last = np.append(first[1:], True)
    starts, ends = np.zeros((2, count, int(node.max()) + 1))
    starts[np.arange(count), node] = 1.0
    inner = np.flatnonzero(~last)
    ends[inner, node[inner + 1]] = 1.0
    return starts, ends
