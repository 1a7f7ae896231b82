"""Flux of a ring of alternating magnets through a coil, by harmonics of the ring's angle."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.mover.magnets import Magnets, Part, by_distance
from coilgen.physics.mover.path import Across, Level, across, details, levels
from coilgen.physics.mover.potential import ends_potential

Complexes = NDArray[np.complex128]
_DIGITS = 11.0
"""Natural logarithm of one over what harmonics that are left out may be of the field."""
_LEAST, _MOST = 8, 256
_AT_ONCE = 4096


@dataclass(frozen=True, kw_only=True)
class Harmonics:
    """Flux linkage of a coil, Wb: the real part of the sum of linkage exp(-1j order x), x the mover's place.

    orders: (n,) 1/rad of a ring, 1/m of a row; the first is the fundamental's. linkage: (n,) Wb.
    pitch_factor: of the fundamental, the sum of what all pieces of the coil give over that of their sizes.
    loss: of eddy currents in the coil's own tracks over the square of the speed, W s2.
    """

    orders: Floats
    linkage: Complexes
    pitch_factor: float
    loss: float


def ring_harmonics(path: Filaments, magnets: Magnets, poles: int, resistivity: float) -> Harmonics:
    """Of a coil, a closed path with every layer, and a ring whose first magnet stands in the east at angle 0.

    The field repeats itself with the other sign from pole to pole: odd multiples of the pairs of poles. On
    each level the potential is sampled over one pole, at Chebyshev's nodes of the radius; the path is put
    into the nodes' harmonics, which is exact for arcs and straight pieces anywhere.
    """
    pairs, faces = poles // 2, tuple(face for sheet in magnets.sheets for face in sheet)
    found = [_of_level(level, magnets, pairs, resistivity) for level in levels(path, faces)]
    linkage = np.zeros(max(len(each) for each, _ in found), dtype=np.complex128)
    for each, _ in found:
        linkage[: len(each)] += each
    factor, loss = of_all([pieces for _, pieces in found])
    orders = odd(pairs, len(linkage))
    return Harmonics(orders=orders, linkage=linkage, pitch_factor=factor, loss=loss)


@dataclass(frozen=True, kw_only=True)
class Pieces:
    """Of a level: the sum of its strips' fundamental voltages, that of their sizes, and the loss."""

    voltage: complex
    size: float
    loss: float


def of_all(levels_of: Sequence[Pieces]) -> tuple[float, float]:
    """Pitch factor and loss of all levels together; a factor of 0 where no strip lies across the motion."""
    size = sum(each.size for each in levels_of)
    voltage = abs(sum(each.voltage for each in levels_of))
    return (voltage / size if size else 0.0), sum(each.loss for each in levels_of)


def _of_level(level: Level, magnets: Magnets, pairs: int, resistivity: float) -> tuple[Complexes, Pieces]:
    """Linkage (n,) Wb and what the strips give."""
    radius, angle = np.hypot(*level.at.T), np.arctan2(level.at[:, 1], level.at[:, 0])
    fine = details(level, float(radius.max() - radius.min()))
    nodes = across(radius, fine)
    potential = _potential(nodes, level.height, fine, magnets, pairs)
    orders = odd(pairs, potential.shape[2])
    outward = np.exp(-1j * angle) * (level.along[:, 0] + 1j * level.along[:, 1])
    along = np.stack([outward.real, outward.imag])
    field = _upward(nodes, potential, orders)
    linkage = summed(along, nodes, radius, angle, orders, lambda k: potential[k])
    lever = level.at[:, 0] * level.along[:, 0] + level.at[:, 1] * level.along[:, 1]
    return linkage, of_pieces(level, nodes, radius, angle * pairs, lever, field, orders, resistivity)


def _potential(nodes: Across, height: float, fine: float, magnets: Magnets, pairs: int) -> Complexes:
    """Harmonics (2, m, n) of A outward and around, T m, at the nodes: of far end faces from fewer nodes."""
    ends, found = np.array([nodes.low, nodes.high]), list[Complexes]()
    for part in by_distance(magnets.sheets, height, height, fine):
        own = across(ends, part.fine)
        found.append(own.weights(nodes.nodes) @ _of_part(own.nodes, height, magnets, part, pairs))
    total = np.zeros((2, len(nodes.nodes), max(each.shape[2] for each in found)), dtype=np.complex128)
    for each in found:
        total[..., : each.shape[2]] += each
    return total


def _of_part(radii: Floats, height: float, magnets: Magnets, part: Part, pairs: int) -> Complexes:
    """Harmonics (2, m, n) of what some end faces give at radii (m,) m.

    Sampled from a pole's middle to half way to the next: all forms look alike from both sides, so that A
    outward is odd and A around even about a pole's middle, the other way about the middle between two.
    """
    outermost = float(radii.max())
    quarter = int(np.clip(np.ceil(0.5 * _DIGITS * outermost / (part.fine * pairs)), _LEAST, _MOST))
    angles = 0.5 * np.pi / pairs * np.arange(quarter + 1) / quarter
    turn = np.exp(1j * angles)
    points = (radii[:, None] * turn).ravel()
    flat = np.column_stack([points.real, points.imag])
    found = ends_potential(flat, height, magnets, part.ends, part.fine)
    local = (found[:, 0] + 1j * found[:, 1]).reshape(-1, quarter + 1) * turn.conj()
    mirrored = local[:, quarter - 1 : 0 : -1]
    outward = np.concatenate([local.real, mirrored.real], axis=1)
    around = np.concatenate([local.imag, -mirrored.imag], axis=1)
    return odd_harmonics(np.stack([outward, around]))


def odd(first: float, count: int) -> Floats:
    """Odd multiples of the fundamental's order, (n,)."""
    return np.asarray(first * (2.0 * np.arange(count) + 1.0), dtype=np.float64)


def odd_harmonics(half: Floats) -> Complexes:
    """Of functions sampled over half a period, (..., n), that go on with the other sign: orders 1, 3, ...

    The function is the real part of the sum of harmonics times exp(1j order x).
    """
    whole = np.concatenate([half, -half], axis=-1)
    count = half.shape[-1]
    return np.asarray(np.fft.rfft(whole, axis=-1)[..., 1:count:2] / count)


def _upward(nodes: Across, potential: Complexes, orders: Floats) -> Complexes:
    """Harmonics (m, n) of the flux density along z, T: the curl of A in polar coordinates."""
    radius = nodes.nodes[:, None]
    return np.asarray((nodes.slope() @ (radius * potential[1]) - 1j * orders * potential[0]) / radius)


def summed(
    along: Floats,
    nodes: Across,
    place: Floats,
    angle: Floats,
    orders: Floats,
    harmonics: Callable[[int], Complexes],
) -> Complexes:
    """The path's steps (2, n) m times harmonics of A (2, m, k) at place and angle (n,), by harmonic (k,)."""
    total = np.zeros(len(orders), dtype=np.complex128)
    for first in range(0, len(place), _AT_ONCE):
        some = slice(first, first + _AT_ONCE)
        weights = nodes.weights(place[some])
        step = np.exp(1j * angle[some] * (orders[1] - orders[0]))
        turns = np.empty((len(step), len(orders)), dtype=np.complex128)
        turns[:, 0] = np.exp(1j * angle[some] * orders[0])
        for k in range(1, len(orders)):
            turns[:, k] = turns[:, k - 1] * step
        for axis in (0, 1):
            spread = (weights * along[axis, some, None]).T @ turns
            total += np.einsum("mk,mk->k", spread, harmonics(axis))
    return total


def of_pieces(
    level: Level,
    nodes: Across,
    place: Floats,
    phase: Floats,
    lever: Floats,
    field: Complexes,
    orders: Floats,
    resistivity: float,
) -> Pieces:
    """What a level's pieces give: the fundamental's voltages, their sizes, and the tracks' loss.

    phase: of the fundamental at each point, rad. lever: (n,), of the step across the motion: its voltage over
    the speed is the field times the lever. field: harmonics (m, k) of the field along z at the nodes, T.
    A thin strip across a field that alternates loses (w dB/dt)^2 / 12 rho of its volume: the mean of
    (x dB/dt)^2 / rho, as the field drives x dB/dt at x from its middle line.
    """
    weights = nodes.weights(place)
    fundamental = weights @ field[:, 0]
    voltage = lever * fundamental * np.exp(1j * phase)
    strength = np.sum(0.5 * np.abs(field * orders) ** 2, axis=1)
    loss = level.volume * level.width**2 / (12.0 * resistivity) * (weights @ strength)
    pieces = np.bincount(level.piece, voltage.real) + 1j * np.bincount(level.piece, voltage.imag)
    return Pieces(voltage=complex(pieces.sum()), size=float(np.abs(pieces).sum()), loss=float(loss.sum()))
