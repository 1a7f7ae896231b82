"""Solutions of a plate's linearised heat: sparse factors, and steps led by those of a slope near by."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.heat.plate.balance import Slope

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_INNER, _CLOSER, _FEW, _MANY = 1e-2, 0.05, 25, 100
"""Of a linear solution's right side, left over, and how much closer the search is to come, which sees it
through the factors: more would be lost on the slope's change to the next step. Steps with an old
factorization, and with a fresh one."""


class Solver:
    """Solves linear systems of slowly changing slopes: the last factorization leads the next solution."""

    def __init__(self) -> None:
        self._lead: Callable[[Floats], Floats] | None = None

    def solution(self, slope: Slope, right: Floats) -> Floats:
        """x with slope x = right, both (n,)."""
        if self._lead is not None:
            found, left = _led(self._lead, slope, right, _FEW)
            if left <= 10 * _INNER:
                return found
        self._lead = inverse(slope)
        found, left = _led(self._lead, slope, right, _MANY)
        if not left <= 10 * _INNER:
            raise np.linalg.LinAlgError("no solution of the linearised heat found")
        return found


def _led(lead: Callable[[Floats], Floats], slope: Slope, right: Floats, steps: int) -> tuple[Floats, float]:
    from scipy.sparse.linalg import LinearOperator, gmres

    shape = slope.near.shape
    found, _ = gmres(
        LinearOperator(shape, matvec=slope.times, dtype=np.float64),
        right,
        rtol=_CLOSER * _INNER,
        restart=steps,
        maxiter=1,
        M=LinearOperator(shape, matvec=lead, dtype=np.float64),
    )
    left = np.linalg.norm(slope.times(found) - right) / max(float(np.linalg.norm(right)), 1e-300)
    return found, float(left)


def inverse(slope: Slope) -> Callable[[Floats], Floats]:
    """What solves with a slope: its sparse part factored, its few columns by the matrix inversion lemma.

    (N - G L)^-1 = N^-1 + N^-1 G (1 - L N^-1 G)^-1 L N^-1 (M. A. Woodbury, 1950).
    """
    solve = factors(slope.near, slope.order)
    gained = solve(slope.gain.toarray())
    small = np.linalg.inv(np.eye(gained.shape[1]) - slope.look @ gained)

    def solution(right: Floats) -> Floats:
        found = solve(right)
        return np.asarray(found + gained @ (small @ (slope.look @ found)))

    return solution


def factors(matrix: Any, order: Indices) -> Callable[[Floats], Floats]:
    """What solves with a sparse matrix of symmetric pattern, for (n,) or (n, k); order: of its nodes (n,)."""
    from scipy.sparse.linalg import splu

    found = splu(
        matrix.tocsc()[order][:, order],
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    back = np.argsort(order)
    return lambda right: np.asarray(found.solve(right[order])[back])
