"""Large systems K + s M over all frequencies from a few real solutions: rational Krylov subspaces.

K and M are symmetric, K positive, M not negative. The added inductance is the stationary value of the energy

    L(s) = (g0 + s g1) (K + s M)^-1 (g0 + s g1) - p0 - s p1

and is found again with all vectors drawn from the solutions at real s > 0 and, for s without end, from that
which M alone holds at rest. Galerkin's choice keeps symmetry and signs, so the small system is one of decays
that lose energy, and its error is the square of what the subspace lacks (E. J. Grimme, thesis, University of
Illinois, 1997; A. Ruhe, Linear Algebra and its Applications 58, 1984).
"""

from collections.abc import Sequence

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.metal.relaxation import Relaxation

_DEPENDENT = 1e-12
"""Of the largest: directions of a basis shorter than this are rounding."""
_FASTEST = 1e-15
"""s: decays faster than this are rounding too."""


@dataclass(frozen=True, kw_only=True)
class Modes:
    """Decays of a system: time (k,) s; vector (n, k) in the basis, with vector K vector = 1."""

    time: Floats
    vector: Floats

    @property
    def lasting(self) -> "Modes":
        """Those that are no rounding."""
        kept = self.time > _FASTEST
        return Modes(time=self.time[kept], vector=self.vector[:, kept])


def decays(stiffness: Floats, damping: Floats) -> Modes:
    """The modes of K and M (n, n), where both are diagonal; directions of no length are left out."""
    scale = 1.0 / np.sqrt(np.diag(stiffness))
    length, axes = np.linalg.eigh(_symmetric(stiffness) * scale[:, None] * scale)
    kept = length > _DEPENDENT * length[-1]
    basis = scale[:, None] * axes[:, kept] / np.sqrt(length[kept])
    time, turned = np.linalg.eigh(basis.T @ _symmetric(damping) @ basis)
    return Modes(time=np.maximum(time, 0.0), vector=basis @ turned)


def _symmetric(matrix: Floats) -> Floats:
    return np.asarray(0.5 * (matrix + matrix.T))


def relaxation(
    modes: Modes, dampings: Sequence[Floats], at_rest: Floats, moving: Floats, energy: float
) -> Relaxation:
    """The stationary energy as decays.

    dampings: M of each body; at_rest, moving: g0 and g1 (n,), all in the basis; energy: p0. A part p1 in
    proportion to s is none where the basis holds what drives the bodies.
    """
    steady = modes.vector.T @ at_rest
    lasting = modes.lasting
    vector, time = lasting.vector, lasting.time
    return Relaxation(
        static=float(steady @ steady) - energy,
        amplitude=(vector.T @ moving) / time - vector.T @ at_rest,
        time=time,
        damping=np.array([vector.T @ one @ vector for one in dampings]),
    )
