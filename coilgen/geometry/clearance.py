"""Which of many stroked pieces come nearer to each other than a reach, and by how much: exact, in n log n."""

import math
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.geometry.distance import Index, Mask, Pieces, Points, Reals, distances, nearest_on, stacked

Pairs: TypeAlias = tuple[Index, Index]
Box: TypeAlias = tuple[Reals, Reals, Reals, Reals]
Frame: TypeAlias = Callable[[Pieces, Reals], tuple[Box, Index]]

_MOST_HEADINGS = 12
_FEW = 200_000
"""Pairs of boxes up to which an index costs more than it saves, its import counted in."""
_LONGEST_SWEEP = math.radians(
    95
)  # from a point within half a radius of the centre it spans under half a turn
_TOUCHING = 1e-15  # m: so near there is no direction from one to the other
_SAFE = 1e-12  # m or rad: wider than any rounding in a box, so that no pair at the reach is lost


@dataclass(frozen=True, eq=False, kw_only=True)
class Strokes:
    """n pieces stroked with round tools. width: m (n,). sheet (n,): pieces of different sheets never meet."""

    pieces: Pieces
    width: Reals
    sheet: Index

    def __len__(self) -> int:
        return len(self.width)

    def take(self, index: Index) -> "Strokes":
        """The strokes at an index, in its order."""
        return Strokes(pieces=self.pieces.take(index), width=self.width[index], sheet=self.sheet[index])


@dataclass(frozen=True, eq=False, kw_only=True)
class Gaps:
    """n gaps between strokes. first, second: places in the strokes. value: m, negative where they overlap.

    at: middle of the gap, m.
    """

    first: Index
    second: Index
    value: Reals
    at: Points

    def __len__(self) -> int:
        return len(self.value)

    def where(self, kept: Mask | Index) -> "Gaps":
        """The gaps under a mask, or at an index in its order."""
        return Gaps(
            first=self.first[kept], second=self.second[kept], value=self.value[kept], at=self.at[kept]
        )


def gaps(first: Strokes, second: Strokes, pairs: Pairs) -> Gaps:
    """The gap of every pair: pairs[0] counts in the first strokes, pairs[1] in the second."""
    a, b = first.take(pairs[0]), second.take(pairs[1])
    found = distances(a.pieces, b.pieces)
    touching = found.value < _TOUCHING
    along = np.where(touching, 0.0, found.on_second - found.on_first) / np.where(touching, 1.0, found.value)
    at = (found.on_first + found.on_second + along * (a.width - b.width) / 2) / 2
    return Gaps(first=pairs[0], second=pairs[1], value=found.value - (a.width + b.width) / 2, at=at)


def near_pairs(strokes: Strokes, reach: float) -> Pairs:
    """Every pair of one sheet whose gap may be under the reach, m, each once with the smaller place first.

    Pairs that are farther apart may be among them; no nearer pair is missing.
    """
    home, frames = _frames(strokes.pieces)
    codes = []
    for number, frame in enumerate(frames):
        # A pair is looked for once, in the earlier of its two home frames.
        members, others = np.flatnonzero(home == number), np.flatnonzero(home >= number)
        left, right = _overlapping(strokes, members, others, reach, frame)
        codes.append(np.minimum(left, right) * len(strokes) + np.maximum(left, right))
    return pairs_of(np.concatenate(codes), len(strokes))


def near_pairs_between(first: Strokes, second: Strokes, reach: float) -> Pairs:
    """Every pair of a first and a second stroke whose gap may be under the reach, m, on whatever sheets.

    Made for few second strokes, such as the edges of a board; near pairs as in `near_pairs`.
    """
    count = len(first)
    both = Strokes(
        pieces=stacked([first.pieces, second.pieces]),
        width=np.concatenate([first.width, second.width]),
        sheet=np.zeros(count + len(second), np.intp),
    )
    home, frames = _frames(second.pieces)
    found = [
        _overlapping(both, count + np.flatnonzero(home == number), np.arange(count), reach, frame)
        for number, frame in enumerate(frames)
    ]
    codes = np.concatenate([left * len(second) + right - count for right, left in found])
    return pairs_of(codes, len(second))


def pairs_of(codes: Index, count: int) -> Pairs:
    """Pairs from codes of them, first * count + second, in order and each once."""
    ordered = np.sort(codes)
    unique = ordered[_changes(ordered)]
    return unique // count, unique % count


def _changes(ordered: NDArray[Any]) -> Mask:
    """Where sorted values begin that are unlike those before; np.unique would first import masked arrays."""
    changes: Mask = np.ones(len(ordered), bool)
    changes[1:] = ordered[1:] != ordered[:-1]
    return changes


def _frames(pieces: Pieces) -> tuple[Index, list[Frame]]:
    """Each piece's home frame, in which its box is tight, and all the frames.

    Lines live in Cartesian frames along their headings, where parallel sides of turns are thin boxes side by
    side; arcs about the origin live in polar coordinates, where the turns' arcs are thin boxes too; fillets
    and points, which are small, live in the last frame, along x and y.
    """
    straight = ~pieces.curved & (pieces.start != pieces.end)
    polar = pieces.curved & (np.abs(pieces.centre) < pieces.radius / 2)
    headings, group = _headings((pieces.end - pieces.start)[straight])
    home = np.full(len(pieces), len(headings) + 1, np.intp)
    home[polar] = len(headings)
    home[straight] = group
    return home, [
        *(partial(_cartesian, heading) for heading in headings),
        _polar,
        partial(_cartesian, 1 + 0j),
    ]


def _headings(along: Points) -> tuple[list[complex], Index]:
    """The common headings modulo a quarter turn, and each line's frame; lines of rare ones go to the last."""
    rounded = np.round((along / np.abs(along)) ** 4, 4)
    order = np.argsort(rounded, kind="stable")
    changes = _changes(rounded[order])
    values, group = rounded[order][changes], np.empty(len(rounded), np.intp)
    group[order] = np.cumsum(changes) - 1
    number = np.bincount(group)
    commonest = np.argsort(-number, kind="stable")[:_MOST_HEADINGS]
    commonest = commonest[number[commonest] >= math.sqrt(len(along)) / 2]
    place = np.full(len(values), len(commonest) + 1, np.intp)
    place[commonest] = np.arange(len(commonest))
    return [complex(value) ** 0.25 for value in values[commonest]], place[group]


def _overlapping(strokes: Strokes, members: Index, others: Index, reach: float, frame: Frame) -> Pairs:
    """Pairs (member, other) of one sheet whose boxes come within the reach."""
    if not len(members) or not len(others):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    widest = float(strokes.width[members].max())
    grown = reach + (strokes.width[others] + widest) / 2 + _SAFE
    indexed, owner = frame(strokes.pieces.take(members), np.zeros(len(members)))
    asked, asker = frame(strokes.pieces.take(others), grown)
    owner, asker = members[owner], others[asker]
    met = [np.empty((2, 0), np.intp)]
    for one, other in _of_one_sheet(strokes.sheet[owner], strokes.sheet[asker]):
        member, place = _meeting(_at(indexed, one), _at(asked, other))
        met.append(np.stack([owner[one[member]], asker[other[place]]]))
    left, right = np.concatenate(met, axis=1)
    distinct = left != right
    return left[distinct], right[distinct]


def _of_one_sheet(first: Index, second: Index) -> Iterator[Pairs]:
    """Places in the first and in the second of what lies on one sheet, sheet by sheet."""
    for sheet in {*first.tolist()}:
        yield np.flatnonzero(first == sheet), np.flatnonzero(second == sheet)


def _at(box: Box, places: Index) -> Box:
    return box[0][places], box[1][places], box[2][places], box[3][places]


def _meeting(one: Box, other: Box) -> Pairs:
    """Places of all pairs of boxes that meet."""
    return (_each_with_each if len(one[0]) * len(other[0]) <= _FEW else _by_index)(one, other)


def _each_with_each(one: Box, other: Box) -> Pairs:
    a, b = ([side[:, None] for side in one], other)
    meet = (a[0] <= b[2]) & (b[0] <= a[2])
    meet &= (a[1] <= b[3]) & (b[1] <= a[3])
    return np.divmod(np.flatnonzero(meet), len(other[0]))


def _by_index(one: Box, other: Box) -> Pairs:
    import shapely

    second, first = shapely.STRtree(_boxes(one)).query(_boxes(other))
    return first, second


def _boxes(box: Box) -> NDArray[np.object_]:
    import shapely

    corners = np.stack(box, axis=1).reshape(-1, 2, 2)
    # The index reads only bounds: a diagonal has the box's, and is quicker to make.
    diagonals: NDArray[np.object_] = shapely.linestrings(corners)
    return diagonals


def _cartesian(heading: complex, pieces: Pieces, grown: Reals) -> tuple[Box, Index]:
    """Bounds along and across a heading, grown, and whose they are."""
    turned = np.conj(heading)
    ends = np.stack([pieces.start, pieces.end]) * turned
    low_x, low_y, high_x, high_y = ends.real.min(0), ends.imag.min(0), ends.real.max(0), ends.imag.max(0)
    if pieces.curved.any():
        centre, radius, middle = pieces.centre * turned, pieces.radius, pieces.middle * turned
        # An arc reaches its circle's end in a direction that lies within half its sweep of its middle.
        least = np.where(pieces.curved, np.cos(np.minimum(np.abs(pieces.sweep) / 2, math.pi)) - _SAFE, 2.0)
        low_x = np.where(-middle.real >= least, np.minimum(low_x, centre.real - radius), low_x)
        low_y = np.where(-middle.imag >= least, np.minimum(low_y, centre.imag - radius), low_y)
        high_x = np.where(middle.real >= least, np.maximum(high_x, centre.real + radius), high_x)
        high_y = np.where(middle.imag >= least, np.maximum(high_y, centre.imag + radius), high_y)
    return (low_x - grown, low_y - grown, high_x + grown, high_y + grown), np.arange(len(pieces))


def _polar(pieces: Pieces, grown: Reals) -> tuple[Box, Index]:
    """Bounds in angle and distance about the origin, grown, and whose they are.

    A box that passes half a turn is there twice, the second time a whole turn lower: so two boxes that meet
    modulo a turn always have copies that meet.
    """
    near = np.abs(nearest_on(pieces, np.zeros(len(pieces), complex)))
    low, high = _angles(pieces, near, grown)
    passing = np.flatnonzero(high > math.pi)
    owner = np.concatenate([np.arange(len(pieces)), passing])
    turn = np.concatenate([np.zeros(len(pieces)), np.full(len(passing), 2 * math.pi)])
    floor, ceiling = near - grown, _farthest(pieces) + grown
    return (low[owner] - turn, floor[owner], high[owner] - turn, ceiling[owner]), owner


def _farthest(pieces: Pieces) -> Reals:
    tip = nearest_on(pieces, pieces.centre + pieces.radius * np.exp(1j * np.angle(pieces.centre)))
    return np.maximum(np.maximum(np.abs(pieces.start), np.abs(pieces.end)), np.abs(tip))


def _angles(pieces: Pieces, near: Reals, grown: Reals) -> tuple[Reals, Reals]:
    """Lowest and highest angle about the origin, grown by a distance; the lowest is in [-pi, pi)."""
    away = np.abs(pieces.centre)
    swept = np.angle(pieces.end * np.conj(pieces.start))
    low, high = np.angle(pieces.start) + np.minimum(swept, 0), np.angle(pieces.start) + np.maximum(swept, 0)
    aside = pieces.curved & (away > pieces.radius)
    half = np.arcsin(np.where(aside, pieces.radius, 0.0) / np.where(aside, away, 1.0))
    low = np.where(aside, np.angle(pieces.centre) - half, low)
    high = np.where(aside, np.angle(pieces.centre) + half, high)
    ends_tell = ~pieces.curved | ((away < pieces.radius / 2) & (np.abs(pieces.sweep) <= _LONGEST_SWEEP))
    known = (near > grown) & (near > 0) & (aside | ends_tell)
    margin = np.arcsin(np.where(known, grown, 0.0) / np.where(known, near, 1.0)) + _SAFE
    low, high = np.where(known, low - margin, -math.pi), np.where(known, high + margin, math.pi)
    whole = 2 * math.pi * np.floor((low + math.pi) / (2 * math.pi))
    return low - whole, high - whole
