"""Voltages that a mover induces in phases, and the torque or thrust of currents in them."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

Complexes = NDArray[np.complex128]


@dataclass(frozen=True, kw_only=True)
class Voltages:
    """Of m phases at n places, evenly over one period: two poles.

    places: (n,) rad of a ring, m of a row. slopes: (m, n), what the flux of a phase changes by along them,
    V s/rad or V s/m: the voltage over the speed, and the torque or thrust on the mover by an ampere.
    """

    places: Floats
    slopes: Floats

    @property
    def fundamentals(self) -> Complexes:
        """Phasors (m,): a slope is the real part of one times exp(1j x), x going through 2 pi in a period."""
        return self.harmonics[:, 1]

    @property
    def harmonics(self) -> Complexes:
        """Phasors (m, k) of the orders 0, 1, 2 ..."""
        return np.asarray(np.fft.rfft(self.slopes, axis=1) * (2.0 / self.slopes.shape[1]))

    @property
    def constant(self) -> float:
        """Amplitude of a phase's fundamental, V s/rad or V s/m: the mean of all phases."""
        return float(np.abs(self.fundamentals).mean())

    @property
    def line_constant(self) -> float:
        """Amplitude of the fundamental between the first two phases joined in a star."""
        first, second = self.fundamentals[:2]
        return float(abs(first - second))


def sinusoidal(voltages: Voltages) -> Floats:
    """Currents (m, n) of amplitude 1, each in phase with the fundamental of its phase's voltage."""
    return np.cos(_electrical(voltages))


def six_step(voltages: Voltages, *, delta: bool = False) -> Floats:
    """Currents (m, n) of amplitude 1: for a third of a period one way, for a third back, nothing between.

    Each is greatest about the crest of its phase's voltage. In a delta the phase between two lines takes all
    of it for a sixth of the period, and the other two, in series beside it, half.
    """
    turned = np.cos(_electrical(voltages))
    sign = np.sign(turned)
    if not delta:
        return np.asarray(sign * (np.abs(turned) > 0.5))
    return np.asarray(sign * np.where(np.abs(turned) > np.sqrt(0.75), 1.0, 0.5))


def _electrical(voltages: Voltages) -> Floats:
    """Angle (m, n) from the crest of each phase's fundamental, rad; steps fall between samples."""
    count = len(voltages.places)
    turn = 2.0 * np.pi * (np.arange(count) + 1e-6) / count
    return np.asarray(turn + np.angle(voltages.fundamentals)[:, None])


def torque(voltages: Voltages, currents: Floats) -> Floats:
    """Torque, N m, or thrust, N, (n,) on the mover: the sum over phases of current times slope of flux."""
    return np.asarray(np.sum(currents * voltages.slopes, axis=0))


def ripple(values: Floats) -> float:
    """Of values (n,): from the least to the greatest, over the mean's size."""
    return float(np.ptp(values) / abs(values.mean()))
