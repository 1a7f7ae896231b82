"""Eddy currents at all frequencies at once: a few time constants from one Lanczos run."""

from collections.abc import Callable

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

_STILL = 3e-4
"""Of the change of impedance: what the last two steps may add to it. The next two add a thirtieth of that."""
_CHECK_EVERY = 2
_WEAKEST = 1e-15


@dataclass(frozen=True, kw_only=True)
class EddySpectrum:
    """Time constants and weights of a winding's eddy currents.

    time_constant: (m,) s, weight: (m,) H s. The winding's impedance changes by the sum of
    w^2 weight / (1 + j w time_constant), w = 2 pi f: each term is an inductance weight / time_constant with a
    resistance weight / time_constant^2 in parallel, less the same inductance in series.
    """

    time_constant: Floats
    weight: Floats

    def resistance(self, frequency: Floats) -> Floats:
        """Rise of the resistance over direct current, ohm, at frequencies in Hz."""
        omega, roll_off = self._roll_off(frequency)
        return np.asarray(omega[..., 0] ** 2 * (self.weight * roll_off).sum(axis=-1))

    def inductance(self, frequency: Floats) -> Floats:
        """Change of the inductance from direct current, H (never positive), at frequencies in Hz."""
        omega, roll_off = self._roll_off(frequency)
        return np.asarray(-(omega[..., 0] ** 2) * (self.weight * self.time_constant * roll_off).sum(axis=-1))

    def _roll_off(self, frequency: Floats) -> tuple[Floats, Floats]:
        omega = 2 * np.pi * np.asarray(frequency, dtype=np.float64)[..., None]
        return omega, 1.0 / (1.0 + (omega * self.time_constant) ** 2)


_NO_CURRENTS = EddySpectrum(time_constant=np.zeros(0), weight=np.zeros(0))


def eddy_spectrum(
    flux: Callable[[Floats], Floats], resistance: Floats, drive: Floats, highest_frequency: float
) -> EddySpectrum:
    """Spectrum of currents whose sum over each turn's filaments is zero, driven by the winding's own flux.

    flux: maps currents (turns, filaments, c) A to flux linkages Wb, a symmetric positive operator.
    resistance: (turns, filaments) ohm. drive: (turns, filaments, c) Wb/A; the c cases add up.
    highest_frequency: Hz, up to which the impedance converges to 1e-5 of its change.

    With y = sqrt(R) i and P the projection on zero net current, the change of impedance is
    w^2 b' (1 + j w A)^-1 b, A = P R^-1/2 L R^-1/2 P, b = P R^-1/2 drive. Lanczos' tridiagonal matrix gives
    the Gauss quadrature of that form (G. H. Golub and G. Meurant, Matrices, Moments and Quadrature, 2010):
    weights are positive, so resistance rises and inductance falls with frequency however few the steps.
    """
    if not drive.shape[2]:
        return _NO_CURRENTS
    root = 1.0 / np.sqrt(resistance)[..., None]
    uniform = root / np.linalg.norm(root, axis=1, keepdims=True)

    def project(y: Floats) -> Floats:
        return np.asarray(y - uniform * (uniform.transpose(0, 2, 1) @ y))

    start = project(root * drive)
    norm = np.sqrt(_products(start, start))
    start, norm = start[..., norm > 0.0], norm[norm > 0.0]
    if not len(norm):
        return _NO_CURRENTS
    return _lanczos(lambda y: project(root * flux(root * y)), start / norm, norm**2, highest_frequency)


def _lanczos(operator: Callable[[Floats], Floats], v: Floats, weight: Floats, highest: float) -> EddySpectrum:
    """Runs all columns side by side until the impedance at the highest frequency stands still."""
    unknowns = v.shape[0] * v.shape[1]
    before, off = np.zeros_like(v), np.zeros(v.shape[2])
    diagonals: list[Floats] = []
    off_diagonals: list[Floats] = []
    last: complex = 0.0
    while True:
        w = operator(v) - off * before
        diagonals.append(_products(v, w))
        w -= diagonals[-1] * v
        off = np.sqrt(_products(w, w))
        off = np.where(off > _WEAKEST * np.abs(diagonals[0]), off, 0.0)
        steps = len(diagonals)
        if steps % _CHECK_EVERY == 0 or steps >= unknowns or not off.any():
            spectrum = _quadrature(np.array(diagonals), np.array(off_diagonals), weight)
            now = complex(
                spectrum.resistance(np.array(highest)), spectrum.inductance(np.array(highest)) * highest
            )
            if abs(now - last) <= _STILL * abs(now) or steps >= unknowns or not off.any():
                return spectrum
            last = now
        off_diagonals.append(off)
        before, v = v, np.divide(w, off, out=np.zeros_like(w), where=off > 0.0)


def _products(v: Floats, w: Floats) -> Floats:
    """Inner products (c,) of the columns of v and w (n, m, c) (a product of matrices is fast)."""
    return np.asarray(np.ones(v.shape[0] * v.shape[1]) @ (v * w).reshape(-1, v.shape[2]))


def _quadrature(diagonals: Floats, off_diagonals: Floats, weight: Floats) -> EddySpectrum:
    """Nodes and weights of the tridiagonal matrices, one for each column."""
    steps, cases = diagonals.shape
    matrix = np.zeros((cases, steps, steps))
    k = np.arange(steps)
    matrix[:, k, k] = diagonals.T
    matrix[:, k[1:], k[:-1]] = off_diagonals.reshape(-1, cases).T
    values, vectors = np.linalg.eigh(matrix)
    weights = weight[:, None] * vectors[:, 0, :] ** 2
    return EddySpectrum(time_constant=values.ravel(), weight=weights.ravel())
