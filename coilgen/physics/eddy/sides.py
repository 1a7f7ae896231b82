"""Perpendicular field of a winding's straight sides and of rings, as eddy currents in flat strips see it."""

import numpy as np

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import complete_integrals
from coilgen.physics.eddy.turns import Turns, vertices

_SPREAD = (1.0 / 10.0 + 1.0 / 12.0 + 1.0 / 12.0) ** 0.5
"""Widths by which a strip blurs the field of filaments. The currents of both strips spread over their widths
(mean square 1/12 each); a field that varies along the strip as a wave of number k loses, while resistance
limits the currents, 1 / (1 + (k w)^2 / 10) of what a uniform one does (the sheet equation's first term)."""
_AT_ONCE = 24_000
"""Pairs of points and sides, to keep the arrays in the cache."""


def sides_field(
    conductor: Conductor, points: Floats, z: Floats, width: Floats, carried: Floats | None = None
) -> Floats:
    """Perpendicular field (ports, n, stations) T/A of the straight sides at points (stations, n, 2) m.

    z, width: (n,) m, of the strip that sees it; nan where a point is nan. carried: (ports, pieces), current
    in each piece for an ampere of each port; without it one ampere in all, one port.
    Of a side seen at a distance d: mu0 / 4 pi d times the cosines at both ends (Biot and Savart). The squared
    distances to the vertices serve the two sides that meet there.
    """
    corner, level, piece = vertices(conductor)
    amperes = np.ones((1, len(conductor.layer))) if carried is None else carried
    step = np.diff(corner, axis=0).T
    length, copper = np.hypot(*step), piece >= 0
    along = np.divide(step, length, out=np.zeros_like(step), where=copper)
    across = np.stack([-along[1], along[0]])
    ahead, beside = (np.vstack([axis, -(axis * corner[:-1].T).sum(axis=0)]) for axis in (along, across))
    squared = np.vstack([np.ones(len(corner)), -2.0 * corner.T, (corner**2).sum(axis=1)])
    seen = np.concatenate([(points**2).sum(axis=2)[..., None], points, np.ones_like(points[..., :1])], axis=2)
    field = np.empty((len(amperes), points.shape[1], points.shape[0]))
    rows = max(1, _AT_ONCE // len(corner))
    for turn in range(len(z)):
        rise = (level - z[turn]) ** 2 + (_SPREAD * width[turn]) ** 2
        squares = np.vstack([squared[:3], squared[3] + rise])
        for first in range(0, len(points), rows):
            some = seen[first : first + rows, turn]
            far = np.sqrt(some @ squares)
            sides = _sides(some[:, 1:] @ ahead, some[:, 1:] @ beside, far, length, rise[:-1])
            field[:, turn, first : first + rows] = (sides @ amperes[:, piece].T).T
    return np.asarray(MU0 / (4 * np.pi) * field)


def _sides(ahead: Floats, beside: Floats, far: Floats, length: Floats, rise: Floats) -> Floats:
    """Of each side (points, sides) 1/m, from the points' places along and beside each and their distances
    from all vertices; in place."""
    square = np.square(beside)
    square += rise
    beside /= square
    rest = np.subtract(length, ahead, out=square)
    rest /= far[:, 1:]
    ahead /= far[:, :-1]
    ahead += rest
    beside *= ahead
    return beside


def rings_field(winding: Turns, carried: Floats | None = None) -> Floats:
    """Perpendicular field (ports, turns) T/A of the circular filaments at their radii, seen in the same way.

    carried: (ports, turns), current in each turn; without it one ampere in all, one port.

    Complete elliptic integrals (J. D. Jackson, Classical Electrodynamics, section 5.5, problem).
    """
    r, source = winding.radius[:, None], winding.radius
    square = (winding.z[:, None] - winding.z) ** 2 + (_SPREAD * winding.width[:, None]) ** 2
    near, far = (source - r) ** 2 + square, (source + r) ** 2 + square
    first, second = complete_integrals(near / far)
    field = (first + (source**2 - r**2 - square) / near * second) / np.sqrt(far)
    amperes = np.ones((1, len(winding.z))) if carried is None else carried
    return np.asarray(MU0 / (2 * np.pi) * (winding.fraction * amperes) @ field.T)
