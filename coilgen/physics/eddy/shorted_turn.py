"""What a winding's terminals show when two turns of a layer touch: one turn is closed on itself."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.eddy.turns import Turns
from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance

Complexes = NDArray[np.complex128]

_AT_ONCE = 20_000
"""Pairs of rings, to keep the arrays in the cache."""


@dataclass(frozen=True, kw_only=True)
class TurnsCircuit:
    """n turns in one path, or in several side by side.

    inductance: (n, n) H, of each turn with each, in the sense of the current. resistance: (n,) ohm.
    path: (n,) which path each turn belongs to, 0 to P - 1. path_resistance: (P,) ohm, leads included.
    """

    inductance: Floats
    resistance: Floats
    path: NDArray[np.int64]
    path_resistance: Floats

    def hotter(self, factor: float) -> "TurnsCircuit":
        """The same turns with so many times the resistance, as of heat or of crowded current."""
        return replace(
            self, resistance=factor * self.resistance, path_resistance=factor * self.path_resistance
        )


def turn_inductances(winding: Turns) -> Floats:
    """Self and mutual inductances (n, n) H of turns, in the sense of the current in each.

    Rings of the turns' mean radii and sections; those of a polygon count by their length over that of the
    circle, as its sides do in the eddy currents.
    """
    count = len(winding.radius)
    matrix = np.empty((count, count))
    step = max(1, _AT_ONCE // count)
    for first in range(0, count, step):
        some = slice(first, first + step)
        matrix[some] = rings_mutual_inductance(
            winding.radius[some, None],
            winding.radius,
            winding.z[some, None] - winding.z,
            (winding.width[some, None], winding.thickness[some, None]),
            (winding.width, winding.thickness),
        )
    share = np.sqrt(winding.length / (2 * np.pi * winding.radius)) * np.sign(winding.fraction)
    return np.asarray(matrix * np.outer(share, share))


def impedance_change(circuit: TurnsCircuit, frequency: float) -> Complexes:
    """By how much the impedance between the terminals changes when one turn is shorted, (n,) ohm, complex.

    frequency: Hz. The short has no resistance of its own: the turn is left out of its path and carries what
    the others induce in it (Kirchhoff's laws). At direct current only its resistance is missing; where its
    reactance is over its resistance, its current holds the others' flux out.
    """
    omega = 2 * np.pi * frequency
    home = np.equal.outer(circuit.path, np.arange(len(circuit.path_resistance))).astype(np.float64)
    linked = circuit.inductance @ home  # (n, P) H, of each turn with each path
    sound = np.diag(circuit.path_resistance) + 1j * omega * (home.T @ linked)
    reactance = 1j * omega * np.diag(circuit.inductance)
    missing = 1j * omega * _outer(home, linked)
    left = sound - missing - missing.transpose(0, 2, 1)
    left = left + _outer(home, home) * (reactance - circuit.resistance)[:, None, None]
    rest = np.asarray(1j * omega * linked - home * reactance[:, None])
    induced = _outer(rest, rest) / (reactance + circuit.resistance)[:, None, None]
    return _between(left - induced) - _between(sound)


def _outer(one: Complexes | Floats, other: Complexes | Floats) -> Complexes:
    """Products (n, P, P) of rows (n, P) with rows."""
    return np.asarray(one[:, :, None] * other[:, None, :])


def _between(paths: Complexes) -> Complexes:
    """Impedance of paths side by side, ohm, from their matrices (..., P, P)."""
    return np.asarray(1 / np.linalg.inv(paths).sum(axis=(-2, -1)))
