"""Mutual inductances of round turns with one another and with straight strips."""

from typing import ClassVar

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance
from coilgen.physics.inductance.mitred_strips import JOINT, Integers, Points, Strips
from coilgen.physics.inductance.round_turns import WHOLE, RoundTurns

PARTS = 2
"""Concentric parts of each turn's width."""
DIRECTIONS = 8
"""Directions of a whole circle in which turns are compared."""
_FAR = 14.0
"""Times by how much the distance of two turns scatters: beyond, four pairs of circles stand for all; windings
change by less than 1e-6."""
_PARTS_SQUARE = (1.0 - 1.0 / PARTS**2) / 12.0
"""Mean square of the parts' middles about that of the width, in squares of the width."""
_AT_ONCE = 10_000
"""Pairs of circles, to keep the arrays in the cache."""
_DECIMALS = 12
"""Of metres, to tell equal ends of turns."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def turns_inductance(turns: RoundTurns, one: Integers, other: Integers, even: bool = False) -> float:
    """Mutual inductance of two layers' turns (row numbers), in the sense of their currents, H.

    In each direction from the axis two turns count as circles of their radii there (J. C. Maxwell, Treatise,
    art. 701), with the exact geometric mean distance of their sections. The radial part of the current, drift
    over radius times the rest, is linked by the same integral: it adds drift_a drift_b / (radius_a radius_b).
    even: turn k of one with turn n of the other is as turn n with turn k, so that half suffices.
    """
    direction, weight = _directions(float(turns.begin[one[0]]), float(turns.begin[other[0]]))
    radii = (turns.radii(one[:, None], direction), turns.radii(other[:, None], direction))
    scatter = _Scatter.of(radii, (turns.width[one], turns.width[other]), weight)
    i, j = np.indices((len(one), len(other))).reshape(2, -1)
    if even:
        i, j = i[i >= j], j[i >= j]
    times = np.where(even & (i != j), 2.0, 1.0)
    apart = np.hypot(scatter.mean[0][i] - scatter.mean[1][j], turns.z[one[i]] - turns.z[other[j]])
    far = apart > _FAR * scatter.width(i, j)
    linked = 0.0
    for some in _portions(np.flatnonzero(~far), len(direction) * PARTS**2):
        a, b = one[i[some]], other[j[some]]
        parts = _parts(turns, a, radii[0][i[some]], 0), _parts(turns, b, radii[1][j[some]], 1)
        linked += float(times[some] @ _parts_inductance(turns, parts, (a, b)).mean(axis=0) @ weight)
    for some in _portions(np.flatnonzero(far), _Scatter.POINTS):
        rows, points = (one[i[some]], other[j[some]]), scatter.points(i[some], j[some])
        linked += float(times[some] @ _parts_inductance(turns, points, rows).mean(axis=(0, 2)))
    return linked + _seams(turns, one, other)


@dataclass(frozen=True, kw_only=True)
class _Scatter:
    """How radii of two layers' turns scatter over the directions and over the parts of their widths.

    mean: (n,) and (m,) m; square: of the deviations, (n,) and (m,) m2; product: (n, m) m2, of both.
    """

    POINTS: ClassVar[int] = 4
    mean: tuple[Floats, Floats]
    square: tuple[Floats, Floats]
    product: Floats

    @classmethod
    def of(cls, radii: tuple[Floats, Floats], widths: tuple[Floats, Floats], weight: Floats) -> "_Scatter":
        """Of radii (turns, directions) m of both layers, widths (turns,) m, and the directions' weights."""
        mean_a, mean_b = (each @ weight for each in radii)
        off_a, off_b = radii[0] - mean_a[:, None], radii[1] - mean_b[:, None]
        square_a, square_b = (
            np.square(off) @ weight + np.square(width) * _PARTS_SQUARE
            for off, width in zip((off_a, off_b), widths, strict=True)
        )
        return cls(mean=(mean_a, mean_b), square=(square_a, square_b), product=(off_a * weight) @ off_b.T)

    def width(self, i: Integers, j: Integers) -> Floats:
        """By how much the distance of turns scatters, (k,) m: the root of both squares."""
        return np.asarray(np.sqrt(self.square[0][i] + self.square[1][j]))

    def points(self, i: Integers, j: Integers) -> tuple[Floats, Floats]:
        """Radii (1, k, 4) m of both turns with the same means, squares and product: all that a function that
        is nearly straight there feels; its third derivatives cancel."""
        first = np.sqrt(self.square[0][i])
        shared = self.product[i, j] / first
        own = np.sqrt(np.maximum(self.square[1][j] - np.square(shared), 0.0))
        root, none = np.sqrt(2.0), np.zeros_like(first)
        off_a = root * np.stack([first, -first, none, none], axis=1)
        off_b = root * np.stack([shared, -shared, own, -own], axis=1)
        return self.mean[0][i][None, :, None] + off_a, self.mean[1][j][None, :, None] + off_b


def _parts_inductance(
    turns: RoundTurns, radii: tuple[Floats, Floats], rows: tuple[Integers, Integers]
) -> Floats:
    """Mutual inductances (parts, n, directions) H of n pairs of parts of turns (row numbers, (n,)).

    radii: of both, (parts, n, directions) m, broadcast.
    """
    (a, b), (radius_a, radius_b) = rows, radii
    section_a, section_b = ((turns.width[r][:, None] / PARTS, turns.thickness[r][:, None]) for r in rows)
    rise = (turns.z[a] - turns.z[b])[:, None]
    circles = rings_mutual_inductance(radius_a, radius_b, rise, section_a, section_b)
    drift = turns.drift
    current = (drift[a][:, None] / radius_a) * (drift[b][:, None] / radius_b)
    current += (turns.sense[a] * turns.sense[b])[:, None]
    circles *= current
    circles *= (turns.extent[a] * turns.extent[b])[:, None]
    return circles


def _portions(pairs: Integers, circles: int) -> list[Integers]:
    """Pairs in turn, of so many circles each, about _AT_ONCE circles at a time."""
    step = max(1, _AT_ONCE // circles)
    return [pairs[first : first + step] for first in range(0, len(pairs), step)]


def _directions(one: float, other: float) -> tuple[Floats, Floats]:
    """Directions in which to compare turns that begin in two directions, and their weights.

    The radii jump where the turns begin and are smooth between: each of the two spans has its own middles.
    """
    gap = (other - one) % WHOLE
    spans = [(one, gap), (one + gap, WHOLE - gap)]
    counts = [int(np.ceil(DIRECTIONS * span / WHOLE - 1e-6)) for _, span in spans]
    middles = [
        start + span * (np.arange(count) + 0.5) / count
        for (start, span), count in zip(spans, counts, strict=True)
        if count
    ]
    weights = [
        np.full(count, span / WHOLE / count) for (_, span), count in zip(spans, counts, strict=True) if count
    ]
    return np.concatenate(middles), np.concatenate(weights)


def _parts(turns: RoundTurns, rows: Integers, radii: Floats, side: int) -> Floats:
    """Radii (PARTS squared, n, directions) m of the concentric parts of the width of turns (row numbers).

    radii: (n, directions) m. side: 0 or 1, whose parts change slowly or fast, so that each meets each.
    """
    part = np.arange(PARTS**2) // PARTS if side else np.arange(PARTS**2) % PARTS
    shift = (part + 0.5) / PARTS - 0.5
    return np.asarray(radii + shift[:, None, None] * turns.width[rows][:, None])


def _seams(turns: RoundTurns, one: Integers, other: Integers) -> float:
    """What closed turns count wrongly where they begin, a pitch beside their own end, H.

    There the current goes on with the neighbouring turn, not with itself: of two arcs on either side, the
    first has its own radius and the second the radius after the jump.
    """
    places = [float(turns.begin[one[0]])]
    if not _at_seam(turns, other, np.array(places))[0, 0]:
        places.append(float(turns.begin[other[0]]))
    return sum(_seam(turns, one, other, np.array([place])) for place in places)


def _seam(turns: RoundTurns, one: Integers, other: Integers, place: Floats) -> float:
    """What is counted wrongly in one direction: only turns of both layers that begin there."""
    (a, width_a, z_a, ampere_a), (b, width_b, z_b, ampere_b) = (_jumps(turns, r, place) for r in (one, other))
    rise2 = np.square(z_a[:, None] - z_b) + np.square((width_a[:, None] + width_b) / 6.0)
    return -float(ampere_a @ _across_seam(a[:, None], b, rise2) @ ampere_b)


def _jumps(turns: RoundTurns, rows: Integers, place: Floats) -> Floats:
    """Rows radius, width, z m of turns on either side of the direction they begin in, and the current A.

    Along the turn before the direction, against it after. Where one turn ends the next begins: of turns of
    one width all but the first radius and the last cancel.
    """
    rows = rows[_at_seam(turns, rows, place)[:, 0]]
    radius = np.concatenate(_edges(turns, rows, place))[:, 0]
    ends = np.stack([radius, np.tile(turns.width[rows], 2), np.tile(turns.z[rows], 2)])
    _, first, end = np.unique(np.round(ends, _DECIMALS), axis=1, return_index=True, return_inverse=True)
    current = np.bincount(end.ravel(), np.concatenate([turns.sense[rows], -turns.sense[rows]]), len(first))
    flows = current != 0.0
    return np.vstack([ends[:, first[flows]], current[flows]])


def _across_seam(a: Floats, b: Floats, rise2: Floats) -> Floats:
    """Mutual inductance of two coaxial circles between points on either side of one direction, H.

    Pairs of points an angle x apart straddle a direction in proportion to x; of turns whose radius comes back
    to the first by growing steadily, in proportion to x (1 - x / 2 pi): Neumann's integral with that weight.
    The part that peaks where the points meet, x / sqrt(s^2 + x^2), is integrated in closed form. a, b: radii,
    m; rise2: squared distance across the circles' planes, m2.
    """
    mean = np.sqrt(a * b)
    square = (np.square(a - b) + rise2) / (a * b)
    peak = np.sqrt(square + np.pi**2) - np.sqrt(square)
    x = 0.5 * np.pi * (_NODES + 1.0)
    weight = x * (1.0 - x / WHOLE) * np.cos(x)
    chord2 = np.square(2.0 * np.sin(0.5 * x))
    apart2 = square[..., None]
    rest = weight / np.sqrt(apart2 + chord2) - x / np.sqrt(apart2 + x * x)
    return np.asarray(MU0_OVER_4PI * mean * (peak + rest @ (0.5 * np.pi * _WEIGHTS)))


def _at_seam(turns: RoundTurns, rows: Integers, direction: Floats) -> np.ndarray:
    """Whether turns begin in a direction, or within two pitches beside it, (rows, directions)."""
    off = np.abs(np.mod(direction - turns.begin[rows][:, None] + np.pi, WHOLE) - np.pi)
    first = turns.profile[rows]
    return np.asarray(off * first[:, :1] < 2.0 * np.abs(first[:, -1:] - first[:, :1]) + JOINT)


def _edges(turns: RoundTurns, rows: Integers, direction: Floats) -> tuple[Floats, Floats]:
    """Radii just before and just after directions, counter-clockwise, (rows, directions) m."""
    through = turns.radii(rows[:, None], direction)
    seam, forward = _at_seam(turns, rows, direction), turns.sense[rows][:, None] > 0.0
    start, end = turns.profile[rows][:, :1], turns.profile[rows][:, -1:]
    before = np.where(seam, np.where(forward, end, start), through)
    return before, np.where(seam, np.where(forward, start, end), through)


def turns_with_strips(turns: RoundTurns, strips: Strips) -> Floats:
    """Mutual inductance of every turn with every strip, (turns, strips) H.

    The vector potential of a circle of the turn's radius in that direction, M(a, r) / (2 pi r) with the
    circles' mutual inductance, along the strip; of the turn's radial current, drift over radius times as
    much, along the strip's radial part.
    """
    if len(strips) == 0 or len(turns) == 0:
        return np.zeros((len(turns), len(strips)))
    portions = _portions(np.arange(len(turns)), len(_NODES) * len(strips))
    linked = [_with_strips(turns, rows[:, None, None], strips) for rows in portions]
    return np.concatenate(linked) + _tails(turns, strips)


def _with_strips(turns: RoundTurns, row: Integers, strips: Strips) -> Floats:
    """Of turns (row numbers, (n, 1, 1)), without what goes on from their ends."""
    step = strips.end - strips.start
    point = strips.start - turns.axis + step * 0.5 * (_NODES[:, None] + 1.0)
    distance = np.maximum(np.abs(point), JOINT)
    radius = turns.radii(row, np.angle(point))
    linked = rings_mutual_inductance(
        radius,
        distance,
        turns.z[row] - strips.z,
        (turns.width[row], turns.thickness[row]),
        (strips.width, strips.thickness),
    )
    share = point.conj() * step / distance**2 * _WEIGHTS[:, None] / (2.0 * WHOLE)
    current = turns.sense[row] * share.imag + turns.drift[row] / radius * share.real
    return np.asarray((turns.extent[row] * linked * current).sum(axis=1))


def _tails(turns: RoundTurns, strips: Strips) -> Floats:
    """What strips that go on from the ends of a layer's turns lack or have too much, (turns, strips) H.

    Beyond the seam every turn is a pitch beside where it was before it; as in _seams.
    """
    lacking = np.zeros((len(turns), len(strips)))
    for at, beyond in ((strips.end, 1.0), (strips.start, -1.0)):
        point = at - turns.axis
        for k in np.flatnonzero(_continues(turns, strips, point)):
            rows, ahead = np.arange(len(turns)), point[k] / abs(point[k])
            along = float((1j * ahead).real * strips.axis[k].real + (1j * ahead).imag * strips.axis[k].imag)
            before, after = _edges(turns, rows, np.angle(point[k : k + 1]))
            here, there = (before, after) if beyond * along > 0.0 else (after, before)
            rise2 = np.square(turns.z - strips.z[k]) + np.square(turns.width / 3.0)
            met, counted = (
                _across_seam(r[:, 0], abs(point[k]) * np.ones(len(r)), rise2) for r in (there, here)
            )
            lacking[:, k] += turns.sense * along * (met - counted)
    return lacking


def _continues(turns: RoundTurns, strips: Strips, point: Points) -> np.ndarray:
    """Whether points of strips lie where their layer's first turn begins or its last one ends."""
    found = np.zeros(len(strips), dtype=bool)
    for layer in np.unique(turns.layer):
        rows = np.flatnonzero(turns.layer == layer)
        radii = np.array([turns.profile[rows[0], 0], turns.profile[rows[-1], -1]])
        past = turns.sense[rows[0]] * WHOLE * float(np.sum(turns.extent[rows] - 1.0))
        ends = radii * np.exp(1j * (turns.begin[rows[0]] + np.array([0.0, past])))
        found |= (strips.layer == layer) & (np.abs(point[:, None] - ends).min(axis=1) < 10.0 * JOINT)
    return found
