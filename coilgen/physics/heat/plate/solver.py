"""Solutions of a plate's linearised heat: sparse factors, and steps led by those of a slope near by."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.heat.plate.balance import Slope

Floats = NDArray[np.float64]

_INNER, _FEW, _MANY = 1e-4, 25, 100
"""Of a linear solution's right side, left over; steps with an old factorization, and with a fresh one."""


class Solver:
    """Solves linear systems of slowly changing slopes: the last factorization leads the next solution."""

    def __init__(self) -> None:
        self._factors: Any = None

    def solution(self, slope: Slope, right: Floats) -> Floats:
        """x with slope x = right, both (n,)."""
        if self._factors is not None:
            found, left = self._led(slope, right, _FEW)
            if left <= _INNER:
                return found
        self._factors = factors(slope.near)
        found, left = self._led(slope, right, _MANY)
        if not left <= 10 * _INNER:
            raise np.linalg.LinAlgError("no solution of the linearised heat found")
        return found

    def _led(self, slope: Slope, right: Floats, steps: int) -> tuple[Floats, float]:
        from scipy.sparse.linalg import LinearOperator, gmres

        shape = slope.near.shape
        found, _ = gmres(
            LinearOperator(shape, matvec=slope.times, dtype=np.float64),
            right,
            rtol=_INNER / 2,
            restart=steps,
            maxiter=1,
            M=LinearOperator(shape, matvec=self._factors.solve, dtype=np.float64),
        )
        left = np.linalg.norm(slope.times(found) - right) / max(float(np.linalg.norm(right)), 1e-300)
        return found, float(left)


def factors(matrix: Any) -> Any:
    """Factors of a sparse matrix of symmetric pattern, with solve()."""
    from scipy.sparse.linalg import splu

    return splu(
        matrix.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
