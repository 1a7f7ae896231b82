"""The scalar potential of a mover over the carriers of a pocket, as waves that pass with it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.mover.along_row import at_even_places
from coilgen.physics.mover.magnets import Magnets, Part, by_distance
from coilgen.physics.mover.path import Across, across
from coilgen.physics.mover.pocket import Carriers
from coilgen.physics.mover.potential import scalar_potential
from coilgen.physics.mover.ring import odd, odd_harmonics

Complexes = NDArray[np.complex128]
_DIGITS = 10.0
"""Natural logarithm of one over what is left out of the potential."""
_LEAST, _MOST = 8, 256
_BEYOND = 4.0
"""Pitches by which a row's waves reach farther than its magnets ever are from a pocket."""
_OF_CELL = 1.0
"""Of a cell's width, below which the distance to magnets no longer counts: half of it changes 5e-5 of the
potential and 0.2 % of its slope, a quarter of a cell off the magnets."""


@dataclass(frozen=True, kw_only=True)
class Waves:
    """Mean potentials (c, k) A over carriers: the real part of the sum of them times exp(-1j order x).

    orders: (k,) 1/rad of a ring, 1/m of a row; x: the mover's place.
    """

    orders: Floats
    potentials: Complexes

    def at(self, places: Floats, slope: int = 0) -> Floats:
        """A, or A/rad or A/m for their slope, over the carriers with the mover at places (s,), (c, s)."""
        turned = (-1j * self.orders[:, None]) ** slope * np.exp(-1j * np.outer(self.orders, places))
        return np.asarray((self.potentials @ turned).real)


@dataclass(frozen=True, kw_only=True)
class _Dots:
    """Gauss's points (p, 3) m of all carriers, the carrier of each (p,) and its share (p,)."""

    at: Floats
    of: NDArray[np.int64]
    share: Floats


def _dots(carriers: Carriers) -> _Dots:
    """Two along each axis on which a carrier extends."""
    node = 0.5 / np.sqrt(3.0)
    steps = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)]) * node
    at = carriers.at[:, None, :] + carriers.size[:, None, :] * steps
    count = len(carriers.at)
    of = np.repeat(np.arange(count), len(steps))
    return _Dots(at=at.reshape(-1, 3), of=of, share=np.full(count * len(steps), 1.0 / len(steps)))


def _parts(carriers: Carriers, magnets: Magnets) -> list[Part]:
    """End faces by their distance from the carriers, no less than a part of a cell: finer details are lost in
    the means over carriers."""
    half = 0.5 * carriers.size[:, 2]
    low, high = (carriers.at[:, 2] - half).min(), (carriers.at[:, 2] + half).max()
    return by_distance(magnets.sheets, float(low), float(high), _OF_CELL * float(carriers.size[:, 0].max()))


def ring_waves(carriers: Carriers, magnets: Magnets, poles: int) -> Waves:
    """Of a ring whose first magnet stands in the east at angle 0, as `ring.ring_harmonics`."""
    parts = _parts(carriers, magnets)
    return _together([_of_ring(_dots(carriers), part, magnets, poles // 2) for part in parts])


def _of_ring(dots: _Dots, part: Part, magnets: Magnets, pairs: int) -> Waves:
    radius, angle = np.hypot(dots.at[:, 0], dots.at[:, 1]), np.arctan2(dots.at[:, 1], dots.at[:, 0])
    beside, upright = across(radius, part.fine), _upright(dots.at[:, 2], part.fine)
    quarter = int(np.clip(np.ceil(0.5 * _DIGITS * beside.nodes.max() / (part.fine * pairs)), _LEAST, _MOST))
    turn = np.exp(0.5j * np.pi / pairs * np.arange(quarter + 1) / quarter)
    points = (beside.nodes[:, None] * turn).ravel()
    sampled = _on_levels(points, upright, magnets, part).reshape(len(upright.nodes), -1, quarter + 1)
    half = np.concatenate([sampled, -sampled[..., quarter - 1 : 0 : -1]], axis=-1)
    harmonics = odd_harmonics(half)
    orders = odd(pairs, harmonics.shape[-1])
    weights = beside.weights(radius), upright.weights(dots.at[:, 2])
    return Waves(orders=orders, potentials=_means(dots, angle, weights, harmonics, orders))


def row_waves(carriers: Carriers, magnet: Magnets, poles: int, pitch: float, farthest: float) -> Waves:
    """Of a row of magnets like one at the origin, at even distances about the row's middle; x runs along it.

    carriers: of a pocket about the origin. farthest: m, that the row's middle goes to either side. The waves
    repeat after a length that no magnet reaches.
    """
    dots, parts = _dots(carriers), _parts(carriers, magnet)
    reach = farthest + 0.5 * poles * pitch + float(np.abs(dots.at[:, 0]).max())
    found = _together([_of_row(dots, part, magnet, reach, reach + _BEYOND * pitch) for part in parts])
    offsets = pitch * (np.arange(poles) - 0.5 * (poles - 1))
    signs = 1.0 - 2.0 * (np.arange(poles) % 2)
    all_poles = np.exp(-1j * np.outer(found.orders, offsets)) @ signs
    return replace(found, potentials=found.potentials * all_poles)


def _of_row(dots: _Dots, part: Part, magnet: Magnets, reach: float, half: float) -> Waves:
    """Of one magnet at the origin; its potential goes to nothing from `reach` to `half` the repetition, m."""
    beside, upright = across(dots.at[:, 1], part.fine), _upright(dots.at[:, 2], part.fine)
    count = int(np.ceil(_DIGITS * half / (np.pi * part.fine)))
    places = half * np.arange(count + 1) / count

    def on_levels(some: Floats) -> Floats:
        x, y = np.meshgrid(some, beside.nodes)
        found = _on_levels((x + 1j * y).ravel(), upright, magnet, part)
        return found.reshape(len(upright.nodes), *x.shape)

    sampled = at_even_places(on_levels, places, magnet, part.fine)
    tapered = sampled * _taper((places - reach) / (half - reach))
    whole = np.concatenate([tapered, tapered[..., -2:0:-1]], axis=-1)
    harmonics = np.fft.rfft(whole, axis=-1)[..., :count] / count
    harmonics[..., 0] *= 0.5
    orders = np.asarray(np.pi / half * np.arange(count), dtype=np.float64)
    weights = beside.weights(dots.at[:, 1]), upright.weights(dots.at[:, 2])
    return Waves(orders=orders, potentials=_means(dots, dots.at[:, 0], weights, harmonics, orders))


def _together(parts: Sequence[Waves]) -> Waves:
    """The sum of waves, those of finer ones going on to higher orders."""
    longest = max(parts, key=lambda part: len(part.orders))
    total = np.zeros_like(longest.potentials)
    for part in parts:
        total[:, : len(part.orders)] += part.potentials
    return Waves(orders=longest.orders, potentials=total)


def _taper(share: Floats) -> Floats:
    """From 1 at shares up to 0 to 0 at 1, with all its slopes."""
    inner = np.clip(share, 1e-12, 1.0 - 1e-12)
    rising, falling = np.exp(-1.0 / inner), np.exp(-1.0 / (1.0 - inner))
    return np.asarray(np.where(share <= 0.0, 1.0, falling / (rising + falling)))


def _upright(z: Floats, distance: float) -> Across:
    """Chebyshev's nodes of height; sources stand beyond the ends."""
    low, high = float(z.min()), float(z.max())
    half = max(0.5 * (high - low), 1e-9)
    count = 4 + int(np.ceil(_DIGITS / np.arccosh(1.0 + distance / half)))
    unit = np.cos(np.pi * (np.arange(count) + 0.5) / count)
    return Across(nodes=0.5 * (low + high) + half * unit, low=low, high=high)


def _on_levels(points: Complexes, upright: Across, magnets: Magnets, part: Part) -> Floats:
    """Potential (levels, n) A at points of each of the nodes' levels."""
    flat = np.column_stack([points.real, points.imag])
    return np.array([scalar_potential(flat, float(z), magnets, part.ends, part.fine) for z in upright.nodes])


def _means(
    dots: _Dots,
    along: Floats,
    weights: tuple[Floats, Floats],
    harmonics: Complexes,
    orders: Floats,
) -> Complexes:
    """Of harmonics (levels, m, k) at nodes: means over the carriers, (count, k); along: the motion, (p,)."""
    count = int(dots.of[-1]) + 1
    found = np.zeros((count, len(orders)), dtype=np.complex128)
    beside, upright = weights
    for number, order in enumerate(orders):
        values = np.einsum("pz,pz->p", upright @ harmonics[..., number], beside)
        values = values * np.exp(1j * order * along) * dots.share
        found[:, number] = np.bincount(dots.of, values.real, count) + 1j * np.bincount(
            dots.of, values.imag, count
        )
    return found
