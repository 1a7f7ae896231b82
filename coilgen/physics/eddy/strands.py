"""Chords that wind, cut into turns, and where rays from the centre cross them."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

_LACKING = 0.25
"""Of a turn: a winding lacks up to that of whole turns where its leads begin beside one another."""
_NO_PART = 0.05
"""Of a turn: what is left over, or lacks, of whole turns and is less is shared out among them."""
_STATIONS = 8
_ARC_BETWEEN_STATIONS = np.pi / 4.0
_ARC_WHERE_TURNS_END = np.pi / 16.0
_SLIVER = 0.05
_SAME = 1e-6
_OTHER_SIDE = np.sin(np.radians(15.0))
"""Lines that run in directions farther apart are other sides; those of twelve sides differ by 30 degrees."""

Integers = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Strand:
    """Joined chords: vertices (m + 1, 2), swept angle (m + 1,) from the start, turn and piece (m,).

    step: rad, swept by a turn, all but perhaps the last; negative clockwise.
    """

    vertices: Floats
    swept: Floats
    turn: Integers
    piece: Integers
    step: float

    @property
    def turns(self) -> int:
        """How many, the last perhaps in part."""
        return int(self.turn[-1]) + 1

    @property
    def last_in_part(self) -> bool:
        """Whether less than a turn is left for the last."""
        return abs(self.turns * self.step) > abs(float(self.swept[-1])) + _SAME


@dataclass(frozen=True, kw_only=True)
class Stations:
    """Polar angles, shares of a turn's length, sides they lie on, and which way these run, (n, 2), or nan.

    On arcs each is a side of its own.
    """

    angle: Floats
    share: Floats
    side: Integers
    along: Floats


@dataclass(frozen=True, kw_only=True)
class Crossings:
    """Where rays cross turns: points (stations, turns, 2) m, how far these are from the centre across the
    station's line, (stations, turns) m, and which way the turns run there (stations, turns, 2); else nan.

    reached (stations, turns): by the ray's angle, if it has one turn or part of one. late (stations, 1):
    whether it meets the turns in their second halves, so that of a side where turns end each part is known.
    """

    points: Floats
    distance: Floats
    along: Floats
    reached: NDArray[np.bool_]
    late: NDArray[np.bool_]


def equal_turns(total: float) -> float:
    """Angle, rad, of each of equal turns near a full one: what is left of those would lie on its neighbour.

    total: that of all turns, rad, negative clockwise.
    """
    return total / max(1, int(abs(total) / (2 * np.pi) + _LACKING + _SAME))


def full_turns(total: float) -> float:
    """A full turn, rad, of which a part may be left; equal turns where that is next to nothing."""
    count = abs(total) / (2 * np.pi)
    if round(count) and abs(count - round(count)) < _NO_PART:
        return total / round(count)
    return float(np.copysign(2 * np.pi, total))


def cut(vertices: Floats, piece: Integers, turn: Callable[[float], float]) -> Strand:
    """Chords between vertices (m + 1, 2) cut into turns; turn: their angle from that of all, rad."""
    swept = swept_angle(vertices)
    step = turn(float(swept[-1]))
    count = max(1, int(np.ceil(swept[-1] / step - _SAME)))
    bounds = np.asarray(step * np.arange(1, count), dtype=np.float64)
    at = np.searchsorted(np.abs(swept), np.abs(bounds))
    vertices = np.insert(vertices, at, _on_ray(vertices, at, bounds), axis=0)
    swept = np.insert(swept, at, bounds)
    # A last piece may turn back from where the one before it reached.
    number = np.clip(0.5 * (swept[1:] + swept[:-1]) / step, 0, count - 1)
    return Strand(
        vertices=vertices,
        swept=swept,
        turn=number.astype(np.int64),
        piece=np.insert(piece, at, piece[np.minimum(at, len(piece)) - 1]),
        step=step,
    )


def swept_angle(vertices: Floats) -> Floats:
    """Angle (n,) rad that the chords have swept about the origin at each of their vertices (n, 2)."""
    inner = np.einsum("nk,nk->n", vertices[:-1], vertices[1:])
    return np.append(0.0, np.cumsum(np.arctan2(cross(vertices[:-1], vertices[1:]), inner)))


def pieces(strand: Strand) -> Integers:
    """A piece (turns,) of each turn."""
    return np.asarray(strand.piece[np.searchsorted(strand.turn, np.arange(strand.turns))])


def middle_one(strands: list[Strand]) -> Strand:
    """The middle one of those that wind as far as any, but for half a turn."""
    most = max(abs(float(strand.swept[-1])) for strand in strands)
    whole = [strand for strand in strands if abs(strand.swept[-1]) >= most - np.pi]
    return whole[len(whole) // 2]


def stations(strands: list[Strand], straight: NDArray[np.bool_]) -> Stations:
    """On a middle turn of the strands; straight (pieces,) tells which pieces are no arcs.

    Where the turn is but part of one, on the rest of the circle too; closer on arcs where turns end half way.
    """
    strand = middle_one(strands)
    apart = _ARC_WHERE_TURNS_END if any(each.last_in_part for each in strands) else _ARC_BETWEEN_STATIONS
    chosen = np.flatnonzero(strand.turn == (strand.turn[-1] // 2))
    own = [chosen[strand.piece[chosen] == one] for one in dict.fromkeys(strand.piece[chosen].tolist())]
    step = np.diff(strand.vertices, axis=0)
    length = np.array([np.hypot(*step[mine].T).sum() for mine in own])
    points, share, side, along = [], [], [], []
    for number in np.flatnonzero(length > _SLIVER * length.max()):
        mine = own[number]
        side_of_polygon = len(mine) == 1 and bool(straight[strand.piece[mine[0]]])
        turned = np.abs(np.diff(strand.swept))[mine].sum()
        count = _STATIONS if side_of_polygon else int(np.ceil(turned / apart - _SAME))
        node, weight = np.polynomial.legendre.leggauss(count) if side_of_polygon else _midpoints(count)
        at = 0.5 * (node + 1.0) * len(mine)
        chord = mine[np.minimum(at.astype(np.int64), len(mine) - 1)]
        points.append(strand.vertices[chord] + (at - chord + mine[0])[:, None] * step[chord])
        along.append(step[chord] / np.hypot(*step[chord].T)[:, None])
        share.append(0.5 * weight * length[number])
        side.append(number + (0.0 if side_of_polygon else 0.25) * node)
    x, y = np.vstack(points).T
    angle, weights, sides = np.arctan2(y, x), np.concatenate(share), np.concatenate(side)
    ways = np.vstack(along)
    if strand.last_in_part and strand.turns == 1:
        more = _rest(strand, apart)
        angle = np.append(angle, more)
        each = weights.sum() * (strand.step / strand.swept[-1] - 1.0) / len(more)
        weights = np.append(weights, np.full(len(more), each))
        sides = np.append(sides, len(own) + np.arange(len(more)))
        ways = np.vstack([ways, np.full((len(more), 2), np.nan)])
    return Stations(
        angle=angle,
        share=weights / weights.sum(),
        side=np.unique(sides, return_inverse=True)[1],
        along=ways,
    )


def _rest(strand: Strand, apart: float) -> Floats:
    """Angles evenly over the circle's rest that the strand does not go round."""
    left = strand.step - strand.swept[-1]
    count = int(np.ceil(abs(left) / apart - _SAME))
    x, y = strand.vertices[-1]
    return np.asarray(np.arctan2(y, x) + left * (np.arange(count) + 0.5) / count)


def _midpoints(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights of the midpoint rule on -1 ... 1, best for what repeats from turn to turn."""
    return (2.0 * np.arange(count) + 1.0) / count - 1.0, np.full(count, 2.0 / count)


def beyond_corner(along: Floats, side: Floats) -> NDArray[np.bool_]:
    """Where a ray meets a turn on another side (stations, turns), which runs another way, or nowhere."""
    other = np.abs(cross(along, side[:, None])) > _OTHER_SIDE
    return np.asarray(other | np.isnan(along[..., 0]))


def shifts(excess: Floats, side: Integers, late: NDArray[np.bool_], spiral: Integers) -> Floats:
    """Median excess (stations, turns) of each turn over a side's stations that are late alike; or zero.

    Where none of a turn is known, that of the spiral's turns there, or of all on the whole side, so that
    turns keep their distances.
    """
    part = np.unique(np.column_stack([side, late]), axis=0, return_inverse=True)[1].ravel()
    found = np.zeros(excess.shape)
    for one in range(int(part.max()) + 1):
        here = part == one
        each = _medians(excess[here])
        for strand in range(int(spiral.max()) + 1):
            mine = spiral == strand
            known = each[mine]
            if not np.isfinite(known).any():
                known = np.full(mine.sum(), _medians(excess[side == side[here][0]][:, mine].reshape(-1, 1)))
            all_known = _medians(known[:, None])
            found[np.ix_(here, mine)] = np.nan_to_num(np.where(np.isfinite(known), known, all_known))
    return found


def _medians(values: Floats) -> Floats:
    """Median (n,) of what is known of each column (m, n), nan where nothing is."""
    known = np.isfinite(values)
    count, column = known.sum(axis=0), np.arange(values.shape[1])
    upwards = np.sort(np.where(known, values, np.nan), axis=0)  # what is not known comes last
    lower, upper = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, len(values) - 1)
    return np.asarray(0.5 * (upwards[lower, column] + upwards[upper, column]))


def crossings(strand: Strand, rays: Stations) -> Crossings:
    """Of the stations' rays with the turns, each where it is nearest to the turn's middle, or near that."""
    total = strand.swept[-1]
    start = np.arctan2(strand.vertices[0, 1], strand.vertices[0, 0])
    middle = np.asarray(strand.step * (np.arange(strand.turns) + 0.5), dtype=np.float64)
    wanted = (rays.angle - start)[:, None]
    wanted = wanted + 2 * np.pi * _rounds(wanted, middle)
    along = np.abs(wanted) * np.sign(wanted * total)
    at = np.searchsorted(np.abs(strand.swept), along)
    there = (along >= 0.0) & (at < len(strand.swept))
    at = np.where(there, np.maximum(at, 1), 1)
    points = np.where(there[..., None], _on_ray(strand.vertices, at, wanted), np.nan)
    step = strand.vertices[at] - strand.vertices[at - 1]
    along = np.where(there[..., None], step / np.hypot(step[..., 0], step[..., 1])[..., None], np.nan)
    station = rays.along[:, None]
    return Crossings(
        points=points,
        distance=np.abs(cross(points, np.where(np.isfinite(station), station, along))),
        along=along * np.sign(total),
        reached=there | (not strand.last_in_part),
        late=np.abs(wanted[:, :1]) > np.abs(middle[:1]),
    )


def _rounds(wanted: Floats, middle: Floats) -> Floats:
    """Whole turns (stations, turns) from the angles (stations, 1) to nearest the middles; of turns that are
    whole ones one more from each to the next, or rays where one ends and the next begins met both there."""
    nearest = np.round((middle - wanted) / (2 * np.pi))
    apart = np.diff(middle).mean() / (2 * np.pi) if len(middle) > 1 else 0.0
    if round(abs(apart)) != 1 or abs(abs(apart) - 1.0) > _NO_PART:
        return np.asarray(nearest)
    return np.asarray(nearest[:, :1] + np.sign(apart) * np.arange(len(middle)))


def _on_ray(vertices: Floats, at: Integers, swept: Floats) -> Floats:
    """Points of the chords that end in vertices `at` where the angle from the first vertex is `swept`.

    Any point where the chord is not met, as it may be along the ray.
    """
    angle = swept + np.arctan2(vertices[0, 1], vertices[0, 0])
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    before, after = cross(vertices[at - 1], ray), cross(vertices[at], ray)
    weight = (before / np.where(before == after, 1.0, before - after))[..., None]
    return np.asarray((1 - weight) * vertices[at - 1] + weight * vertices[at])


def cross(a: Floats, b: Floats) -> Floats:
    """Upright component of the products of vectors (..., 2) of the plane, (...)."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
