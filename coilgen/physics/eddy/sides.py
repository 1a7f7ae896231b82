"""Perpendicular field of a winding's straight sides and of rings, as eddy currents in flat strips see it."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import complete_integrals
from coilgen.physics.eddy.turns import Sides, Turns
from coilgen.physics.field.strip_field import Room

_SPREAD = (1.0 / 10.0 + 1.0 / 12.0 + 1.0 / 12.0) ** 0.5
"""Widths by which a strip blurs the field of filaments. The currents of both strips spread over their widths
(mean square 1/12 each); a field that varies along the strip as a wave of number k loses, while resistance
limits the currents, 1 / (1 + (k w)^2 / 10) of what a uniform one does (the sheet equation's first term)."""
_POINTS_AT_ONCE, _PAIRS_AT_ONCE = 128, 32_768
"""To keep the arrays in the cache."""


def sides_field(sides: Sides, points: Floats, z: Floats, width: Floats, carried: Floats) -> Floats:
    """Perpendicular field (ports, n, stations) T/A of straight sides at points (stations, n, 2) m.

    z, width: (n,) m, of the strip that sees it; nan where a point is nan. carried: (ports, pieces), current
    in each piece for an ampere of each port. By Biot and Savart as in `Room`, with heights that are larger by
    what the strip blurs.
    """
    corner, level, piece = sides.vertices, sides.z, sides.piece
    current = np.where(piece >= 0, carried[:, piece], 0.0)[:, None] * np.diff(corner, axis=0).T
    turned = current[:, 0] * corner[1:, 1] - current[:, 1] * corner[1:, 0]
    sources = np.concatenate([current, turned[:, None]], axis=1).reshape(3 * len(carried), len(piece))
    squared = np.column_stack([np.ones(len(corner)), -2.0 * corner, (corner**2).sum(axis=1)])
    length = np.square(np.diff(corner, axis=0)).sum(axis=1, keepdims=True)
    field = np.empty((len(carried), points.shape[1], points.shape[0]))
    for height, wide in np.unique(np.stack([z, width], axis=1), axis=0):
        alike = np.flatnonzero((z == height) & (width == wide))
        rise = np.outer((level - height) ** 2 + (_SPREAD * wide) ** 2, (0.0, 0.0, 0.0, 1.0))
        place = points[:, alike].reshape(-1, 2).T
        sums = _summed(squared + rise, length, sources, place).reshape(len(carried), 3, -1)
        seen = sums[:, 0] * place[1] - sums[:, 1] * place[0] - sums[:, 2]
        field[:, alike] = seen.reshape(len(carried), len(points), -1).transpose(0, 2, 1)
    return np.asarray(MU0 / (4 * np.pi) * field)


def _summed(squared: Floats, length: Floats, sources: Floats, place: Floats) -> Floats:
    """Sources (k, sides) times the sides' factors at places (2, n) m, (k, n); length: (sides, 1) m2."""
    seen = np.vstack([np.square(place).sum(axis=0), place, np.ones(place.shape[1])])
    sums = np.zeros((len(sources), place.shape[1]))
    columns = min(place.shape[1], _POINTS_AT_ONCE)
    step = max(1, min(_PAIRS_AT_ONCE // columns, len(length)))
    room = Room.of(step + 1, columns)
    for first in range(0, place.shape[1], columns):
        some = slice(first, first + columns)
        for side in range(0, len(length), step):
            run, ends = slice(side, side + step), slice(side, side + step + 1)
            sums[:, some] += sources[:, run] @ room.factors(squared[ends], length[run], seen[:, some])[0]
    return sums


def rings_field(winding: Turns, carried: Floats) -> Floats:
    """Perpendicular field (ports, turns) T/A of the circular filaments at their radii, seen in the same way.

    carried: (ports, turns), current in each turn for an ampere of each port.

    Complete elliptic integrals (J. D. Jackson, Classical Electrodynamics, section 5.5, problem).
    """
    some = np.flatnonzero(carried.any(axis=0))
    r, source = winding.radius[:, None], winding.radius[some]
    square = (winding.z[:, None] - winding.z[some]) ** 2 + (_SPREAD * winding.width[:, None]) ** 2
    near, far = (source - r) ** 2 + square, (source + r) ** 2 + square
    first, second = complete_integrals(near / far)
    field = (first + (source**2 - r**2 - square) / near * second) / np.sqrt(far)
    return np.asarray(MU0 / (2 * np.pi) * (winding.fraction * carried)[:, some] @ field.T)
