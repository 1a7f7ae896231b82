"""Windings taken as rings, very many of them at once: sums over turns from one table of two circles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.inductance.coaxial_circles import mutual_inductance

_STEPS = 4000
_LEAST = 1e-6
"""Of the nearest over the farthest distance of two circles: nothing comes nearer."""
_OF_SECTION = 0.2235
"""Geometric mean distance of a thin section from itself over width and thickness together (Grover)."""
_AT_ONCE = 2_000_000
"""Pairs of rings."""


@dataclass(frozen=True, kw_only=True)
class RingWindings:
    """n windings of equal layers: mean radius of the outermost turn, pitch, width, thickness, m, turns, (n,).

    turns: of one layer, also parts of one; turns run inward from the outermost.
    """

    first: Floats
    pitch: Floats
    width: Floats
    thickness: Floats
    turns: Floats

    def __len__(self) -> int:
        return len(self.first)

    def where(self, rows: np.ndarray) -> RingWindings:
        """Some of them."""
        return RingWindings(
            first=self.first[rows],
            pitch=self.pitch[rows],
            width=self.width[rows],
            thickness=self.thickness[rows],
            turns=self.turns[rows],
        )

    def moved(self, pitches: float) -> RingWindings:
        """The same so many pitches further out."""
        return replace(self, first=self.first + pitches * self.pitch)

    def radii(self, count: int) -> Floats:
        """Of `count` turns each, (n, count) m, those beyond the winding's too; none under a micrometre."""
        return np.maximum(self.first[:, None] - self.pitch[:, None] * np.arange(count), 1e-6)


def circles(radius_a: Floats, radius_b: Floats, rise_squared: Floats | float) -> Floats:
    """Mutual inductance of coaxial circles, H, broadcast, to 1e-5 of itself: from a table of their distances.

    radii in m, squared distance of their planes in m2. M = mu0 times a length, the farthest distance of the
    two, times a function of the nearest over the farthest (J. C. Maxwell, Treatise, art. 701); that falls
    with the square of 1 - (nearest/farthest)^2, which is kept apart.
    """
    far = np.square(radius_a + radius_b) + rise_squared
    near = np.square(radius_a - radius_b) + rise_squared
    places, values = _table()
    square = np.maximum(near / far, _LEAST**2)
    modulus = np.maximum(1.0 - square, 0.0)
    return np.asarray(MU0 * np.sqrt(far) * modulus**2 * np.interp(0.5 * np.log(square), places, values))


@cache
def _table() -> tuple[Floats, Floats]:
    """Logarithm of nearest over farthest distance; M over mu0, farthest, that square: of equal circles."""
    ratio = np.exp(np.linspace(np.log(_LEAST), np.log(1 - 1e-4), _STEPS))
    modulus = 1.0 - ratio**2
    rise = 2.0 * ratio / np.sqrt(modulus)
    told = mutual_inductance(1.0, 1.0, rise) / (MU0 * np.hypot(2.0, rise) * modulus**2)
    return np.log(ratio), told


def rings_inductance(windings: RingWindings, heights: Sequence[float]) -> Floats:
    """Inductance of windings of concentric rings, layers in series at heights (l,) m, (n,) H.

    Windings that differ only in turns are one table of pairs of turns, summed from the outermost on.
    """
    apart = np.subtract.outer(heights, heights).ravel()
    rises, times = np.unique(np.round(np.abs(apart), 12), return_counts=True)
    keys = np.column_stack([windings.first, windings.pitch, windings.width, windings.thickness])
    _, one, same = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    same = same.ravel()
    most = int(np.ceil(windings.turns.max()))
    step = max(1, _AT_ONCE // most**2)
    sums = np.empty((len(one), most + 1))
    for k in range(0, len(one), step):
        sums[k : k + step] = _pair_sums(windings.where(one[k : k + step]), most, rises, times)
    return _between(sums[same], windings.turns)


def _pair_sums(windings: RingWindings, most: int, rises: Floats, times: np.ndarray) -> Floats:
    """Of the first 0, 1 … `most` turns of each, every one with every other, (n, most + 1) H."""
    radii = windings.radii(most)
    spread = np.square(_OF_SECTION * (windings.width + windings.thickness))[:, None]
    rows, columns = np.triu_indices(most)
    pairs = sum(
        count * circles(radii[:, rows], radii[:, columns], rise**2 + spread)
        for rise, count in zip(rises, times, strict=True)
    )
    told = np.where(rows == columns, 1.0, 2.0) * pairs
    by_last = np.zeros((len(radii), most + 1))
    for turn in range(most):
        by_last[:, turn + 1] = told[:, columns == turn].sum(axis=1)
    return np.cumsum(by_last, axis=1)


def _between(sums: Floats, turns: Floats) -> Floats:
    """What stands after so many turns, whole or not, (n,)."""
    whole = np.minimum(turns.astype(int), sums.shape[1] - 2)
    rows = np.arange(len(sums))
    low, high = sums[rows, whole], sums[rows, whole + 1]
    return np.asarray(low + (turns - whole) * (high - low))


def rings_length(windings: RingWindings) -> Floats:
    """Of all turns of a layer, (n,) m."""
    most = int(np.ceil(windings.turns.max()))
    return _between(_from_none(2 * np.pi * windings.radii(most)), windings.turns)


def _from_none(each: Floats) -> Floats:
    return np.concatenate([np.zeros((len(each), 1)), np.cumsum(each, axis=1)], axis=1)


@dataclass(frozen=True, kw_only=True)
class RoundMagnets:
    """n magnets on the axis, magnetised along it: radii, of holes too, ends, m; remanence, T, (n,)."""

    radius: Floats
    hole: Floats
    bottom: Floats
    top: Floats
    remanence: Floats


def rings_force(windings: RingWindings, heights: Sequence[float], magnets: RoundMagnets) -> Floats:
    """Axial force per ampere of rings of layers at heights (l,) m on magnets that point up, (n,) N/A.

    A magnet is a sheet of current on its sides; of a circle and a sheet the force is the sheet's current for
    each metre times the difference of the circle's mutual inductance with the sheet's two ends.
    """
    most = int(np.ceil(windings.turns.max()))
    radii = windings.radii(most)
    each = np.zeros_like(radii)
    for height in heights:
        for radius, sense in ((magnets.radius, 1.0), (magnets.hole, -1.0)):
            if np.any(radius > 0):
                rim = np.maximum(radius, 1e-9)[:, None]
                ends = [
                    circles(radii, rim, np.square(end - height)[:, None])
                    for end in (magnets.bottom, magnets.top)
                ]
                each += sense * (radius > 0)[:, None] * (ends[1] - ends[0])
    return _between(_from_none(each), windings.turns) * magnets.remanence / MU0
