"""Eddy currents of a flat conductor that is not magnetic, of any outline, at all frequencies at once.

(R + s L) psi = -s m for the stream functions of `sheet_grid`: R is local, L a convolution that Fourier
transforms do, m the flux of the coil through the corners' cells. Conjugate gradients with the sine modes of a
whole rectangle as preconditioner; a few real s span the currents of all frequencies (see `reduction`).
"""

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.metal.reduction import decays
from coilgen.physics.metal.relaxation import Relaxation, of_single_body
from coilgen.physics.metal.sheet_grid import SheetGrid
from coilgen.physics.metal.sheet_system import SheetSystem, sheet_system

_TOLERANCE = 1e-3
"""Of the residual; the inductance feels its square."""
_STEPS = 300
_WITHOUT_END = 1e3


@dataclass(frozen=True, kw_only=True)
class SheetCurrents:
    """The relaxation of a flat conductor, and the stream functions of its decays, (k, nz, nx - 1, ny - 1) A
    per sqrt(H) and ampere of the coil: at s = j omega they flow by -s amplitude / (1 + s time)."""

    relaxation: Relaxation
    streams: Floats


def sheet_currents(grid: SheetGrid, flux: Floats, lowest: float, highest: float) -> SheetCurrents:
    """What the conductor adds from a lowest to a highest frequency, Hz.

    flux: of one ampere in the coil through the cell about each corner, (nz, nx - 1, ny - 1) Wb.
    """
    system, driving = sheet_system(grid), grid.gathered(flux)
    found = _Span(system=system, driving=driving)
    for shift in _shifts(lowest, highest):
        found.widen(shift)
    modes = decays(found.products(found.resisted), found.products(found.linked)).lasting
    driven = modes.vector.T @ (np.array(found.currents) @ driving)
    streams = np.array([grid.spread(one) for one in modes.vector.T @ np.array(found.currents)])
    return SheetCurrents(
        relaxation=of_single_body(0.0, driven**2 / modes.time, modes.time, signs=np.sign(driven)),
        streams=np.sqrt(modes.time)[:, None, None, None] * streams,
    )


def _shifts(lowest: float, highest: float) -> Floats:
    """Real s, 1/s, with one far over the frequencies for what perfect conductors do."""
    low, high = 2.0 * np.pi * lowest, 4.0 * np.pi * highest
    count = max(2, int(np.ceil(1.4 * np.log10(high / low))))
    return np.append(np.geomspace(low, high, count), _WITHOUT_END * high)


class _Span:
    """Currents at some s, with what resists them and what links them: rows of the same length."""

    def __init__(self, *, system: SheetSystem, driving: Floats) -> None:
        self.system, self.driving = system, driving
        self.currents: list[Floats] = []
        self.resisted: list[Floats] = []
        self.linked: list[Floats] = []

    def products(self, rows: list[Floats]) -> Floats:
        """Inner products of the currents with rows, (k, k)."""
        return np.array(self.currents) @ np.array(rows).T

    def widen(self, shift: float) -> None:
        """Adds the currents at s = shift, sought from the best that the others make."""
        found = self._solved(shift)
        found /= np.linalg.norm(found)
        self.currents.append(found)
        self.resisted.append(self.system.resisted(found))
        self.linked.append(self.system.linked(found))

    def _nearest(self, shift: float) -> tuple[Floats, Floats]:
        """The best combination of the currents at s = shift, and the residual it leaves."""
        if not self.currents:
            return np.zeros_like(self.driving), self.driving.copy()
        rows = np.array(self.resisted) + shift * np.array(self.linked)
        currents = np.array(self.currents)
        share = np.linalg.lstsq(currents @ rows.T, currents @ self.driving, rcond=1e-12)[0]
        return share @ currents, self.driving - share @ rows

    def _solved(self, shift: float) -> Floats:
        """(R + s L)^-1 m by conjugate gradients."""
        x, r = self._nearest(shift)
        precondition = self.system.preconditioner(shift)
        goal = _TOLERANCE**2 * float(self.driving @ precondition(self.driving))
        z = precondition(r)
        p, rz = z, float(r @ z)
        for _ in range(_STEPS):
            if rz <= goal:
                return x
            q = self.system.resisted(p) + shift * self.system.linked(p)
            alpha = rz / float(p @ q)
            x, r = x + alpha * p, r - alpha * q
            z = precondition(r)
            before, rz = rz, float(r @ z)
            p = z + (rz / before) * p
        raise ArithmeticError(f"the plate's currents are still {np.sqrt(rz / goal) * _TOLERANCE:.1e} off")
