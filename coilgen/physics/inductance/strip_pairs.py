"""Partial inductances of pairs of mitred strips with uniform current, parallel or at an angle."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.inductance.mean_distance import geometric_mean_distance
from coilgen.physics.inductance.mitred_strips import Integers, Strips, filament
from coilgen.physics.inductance.straight_filaments import end_function, skew_filaments

NEAR, MIDDLE = 2.5, 10.0
"""Strips at an angle are nine pairs of filaments within NEAR widths, four within MIDDLE, else one."""
_PARALLEL = 1e-7
_COINCIDENT = 1e-9
_SAME_SLOPE = 1e-6

_HALF_NODES, _HALF_WEIGHTS = np.polynomial.legendre.leggauss(6)
_NODES = 0.5 * np.concatenate([_HALF_NODES - 1.0, _HALF_NODES + 1.0])
_WEIGHTS = 0.5 * np.concatenate([_HALF_WEIGHTS, _HALF_WEIGHTS]) * (1.0 - np.abs(_NODES))
"""Mean over the difference of two numbers spread evenly over one length: a triangular density."""

Placing = tuple[Floats, Floats, Floats]
"""Filaments of two strips, (p,) widths left of each middle, and their weights."""


def _placing(nodes: Floats, weights: Floats) -> Placing:
    """Every node across one width with every one across the other: what a mirror shows is placed alike."""
    count = len(nodes)
    return np.repeat(nodes, count), np.tile(nodes, count), np.outer(weights, weights).ravel()


_FOUR = _placing(np.array([-1.0, 1.0]) / np.sqrt(12.0), np.array([0.5, 0.5]))
_NINE = _placing(np.array([-1.0, 0.0, 1.0]) * np.sqrt(0.15), np.array([5.0, 8.0, 5.0]) / 18.0)
"""By Gauss and Legendre's points across each width: two are exact in third order, three in fifth."""

Ends = tuple[Floats, Floats, Floats, Floats]
"""Start and end of one strip and of another along the first one's axis, m."""
Offset = tuple[Floats, Floats, Floats]
"""From one end to another: along, to the left, up, m."""


def pair_inductances(strips: Strips, i: Integers, j: Integers) -> Floats:
    """Partial inductance of strips i[k] and j[k] (row numbers) in the sense of their currents, (n,) H.

    i[k] = j[k] is a strip's own. Parallel pairs by Neumann's integral at the exact geometric mean distance,
    pairs at an angle by filaments, both with the mitred ends to second order in width over length.
    """
    turn = np.take(strips.axis.conj(), i) * np.take(strips.axis, j)
    values = np.zeros(len(i))
    level = np.abs(turn.imag) < _PARALLEL
    tilted = ~level & (np.abs(turn.real) > _PARALLEL)
    for some, kind in ((np.flatnonzero(level), _parallel), (np.flatnonzero(tilted), _tilted)):
        if len(some):
            values[some] = kind(strips.take(i[some]), strips.take(j[some]))
    return values


def _tilted(a: Strips, b: Strips) -> Floats:
    """Pairs at an angle, the nearer the more filaments."""
    values, distances = skew_filaments(filament(a, 0.0), filament(b, 0.0), b.z - a.z)
    width = np.maximum(a.width, b.width)
    nearest = np.minimum.reduce(distances)
    middle = np.flatnonzero((nearest >= NEAR * width) & (nearest < MIDDLE * width))
    values[middle] = _filaments(a.take(middle), b.take(middle), _FOUR)
    near = np.flatnonzero(nearest < NEAR * width)
    values[near] = _filaments(a.take(near), b.take(near), _NINE)
    touching = np.flatnonzero(nearest[near] < _COINCIDENT)
    values[near[touching]] += _corner(a.take(near[touching]), b.take(near[touching]))
    return values


def _filaments(a: Strips, b: Strips, placing: Placing) -> Floats:
    """Mean over pairs of filaments, (n,) H."""
    left_a, left_b, weight = placing
    pairs, _ = skew_filaments(filament(a, left_a[:, None]), filament(b, left_b[:, None]), b.z - a.z)
    return np.asarray(weight @ pairs)


def _corner(a: Strips, b: Strips) -> Floats:
    """What the nine pairs of filaments miss of two strips that meet along a mitre, H.

    Two rays that leave the mitre's line a distance s apart share -cos(alpha) s atanh(sin(alpha/2)) /
    sin(alpha/2) more than two that meet (the skew filaments' closed form, far ends away), alpha the turning
    angle. The kink at s = 0 is averaged exactly instead of by points.
    """
    cosine = (a.axis.conj() * b.axis).real
    half_sine = np.sqrt(np.maximum(0.5 * (1.0 - cosine), 1e-30))
    half_cosine = np.sqrt(np.maximum(0.5 * (1.0 + cosine), 1e-3))
    by_points = float(_NINE[2] @ np.abs(_NINE[0] - _NINE[1])) * a.width
    apart = (_apart(a.width[:, None] * _NODES, a, a) @ _WEIGHTS - by_points) / half_cosine
    return np.asarray(-MU0_OVER_4PI * cosine * apart * np.arctanh(np.minimum(half_sine, 0.9995)) / half_sine)


def _parallel(a: Strips, b: Strips) -> Floats:
    """Parallel pairs: Neumann's integral averaged over both strips, H."""
    ends, across, above = _placed(a, b)
    mean = geometric_mean_distance(across, above, a.width, a.thickness, b.width, b.thickness)
    start_a, end_a, start_b, end_b = ends
    along = np.stack([end_a - start_b, start_a - start_b, end_a - end_b, start_a - end_b])
    slope_a = np.stack([a.slope_end, a.slope_start] * 2)
    slope_b = np.repeat([b.slope_start, b.slope_end], 2, axis=0)
    values = _mean_ends(a, b, (along, -across, above), mean, slope_a, slope_b)
    return np.asarray(MU0_OVER_4PI * (values[0] - values[1] - values[2] + values[3]))


def _placed(a: Strips, b: Strips) -> tuple[Ends, Floats, Floats]:
    """Ends of both along a's axis, b's offset to the left, and above."""
    along = a.axis.conj()
    end_a, start_b, end_b = ((point - a.start) * along for point in (a.end, b.start, b.end))
    return (np.zeros(len(a)), end_a.real, start_b.real, end_b.real), start_b.imag, b.z - a.z


def _mean_ends(
    a: Strips, b: Strips, offset: Offset, mean: Floats, slope_a: Floats, slope_b: Floats
) -> Floats:
    """End function of two parallel mitred strips averaged over both widths, (k, n) m, of k pairs of ends.

    offset: the part along (k, n), the others (n,). slope_a, slope_b (k, n): of the mitres at the ends.

    The logarithm is exact by the geometric mean distance; to it comes the rest in second order of width over
    distance, or, where both ends lie on the line of one mitre and near each other, their exact mean.
    """
    x, y, z = offset
    square = y * y + z * z
    far_square = np.maximum(square, mean * mean)
    spread = square + (a.width**2 + b.width**2 + a.thickness**2 + b.thickness**2) / 12.0 - mean * mean
    bend = sum(
        w * w * (c * c - 2.0 * c * x * y / far_square) for w, c in ((a.width, slope_a), (b.width, slope_b))
    )
    value = end_function(x, mean) + (bend / 24.0 - 0.25 * spread) / np.sqrt(x * x + far_square)
    reach = NEAR * np.maximum(a.width, b.width)
    ends, k = np.nonzero(
        (square < reach * reach)
        & (np.abs(x - slope_a * y) < _COINCIDENT)
        & (np.abs(slope_a - slope_b) < _SAME_SLOPE)
    )
    value[ends, k] = _mean_end_on_mitre(a.take(k), b.take(k), y[k], z[k], slope_a[ends, k])
    return np.asarray(value)


def _mean_end_on_mitre(a: Strips, b: Strips, y: Floats, z: Floats, slope: Floats) -> Floats:
    """End function averaged over the lateral distance of two strips that end on the line of one mitre, m."""
    apart = y[:, None] + np.maximum(a.width, b.width)[:, None] * _NODES
    return np.asarray(end_function(slope[:, None] * apart, _apart(apart, a, b, z)) @ _WEIGHTS)


def _apart(lateral: Floats, a: Strips, b: Strips, z: Floats | float = 0.0) -> Floats:
    """Distance of points a lateral distance (n, m) apart, averaged over both thicknesses, m.

    A third of the thickness beside the rest: exact for thin strips, and within 3 % for square ones. Ends and
    corners must count alike for a bar in pieces to be the bar.
    """
    rise_square = np.square(z) + (a.thickness**2 + b.thickness**2) / 18.0
    return np.asarray(np.sqrt(lateral**2 + rise_square[:, None]))
