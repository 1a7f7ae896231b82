"""The gaps between pieces of copper that are not joined there: all under a reach, or the smallest."""

import math
from collections.abc import Iterable, Mapping

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import Copper, Exit, copper, exits
from coilgen.artwork.last_asked import for_last
from coilgen.geometry.clearance import Gaps, Pairs, Strokes, gaps, near_pairs, near_pairs_between, pairs_of
from coilgen.geometry.distance import Index, Mask, Reals

FACING = math.radians(150)
"""Two pieces of one trace have a gap between them when its directions from one to the other span more.

Up to that the trace only moves on, and what lies between its pieces is its own bend.
"""

LEAVING = math.radians(80)
"""A trace that leaves a pad belongs to it until it has turned so far; from there on it may come back."""

_ROUNDING = 1e-9


def smallest_gap(art: Art, layer: int) -> float | None:
    """The smallest gap between pieces of copper of one layer that are not joined there, m; exact.

    Negative when two overlap; None when the layer has no two such pieces.
    """
    whole = copper(art)
    board = whole.take(np.flatnonzero(whole.strokes.sheet == layer))
    ends = np.concatenate([board.strokes.pieces.start, board.strokes.pieces.end])
    if not len(ends):
        return None
    reach, all_within = 2 * float(board.strokes.width.min()), 4 * float(np.abs(ends).max()) + 1.0
    while True:
        found = unjoined_gaps(board, reach)
        if len(found):
            return float(found.value.min())
        if reach > all_within:
            return None
        reach *= 4


def unjoined_gaps(board: Copper, reach: float, about: Mask | None = None) -> Gaps:
    """Every gap under a reach, m, between pieces of copper of one layer that are not joined there.

    about (n,): only gaps with at least one of these strokes, best few.
    """
    searched, asked = _searches(board), None if about is None else about.tobytes()
    if asked not in searched or searched[asked][0] < reach:
        searched[asked] = reach, _search(board, reach, about)
    found = searched[asked][1]
    return found.where(found.value < reach)


@for_last
def _searches(board: Copper) -> dict[bytes | None, tuple[float, Gaps]]:
    """The farthest search on a board about all strokes or some, with its reach: it answers nearer ones."""
    return {}


def _search(board: Copper, reach: float, about: Mask | None) -> Gaps:
    pairs = near_pairs(board.strokes, reach) if about is None else _pairs_about(board.strokes, about, reach)
    found = gaps(board.strokes, board.strokes, _facing(board, pairs))
    found = found.where(found.value < reach)
    return found.where(~_joined(board, found))


def _pairs_about(strokes: Strokes, about: Mask, reach: float) -> Pairs:
    chosen = np.flatnonzero(about)
    if not len(chosen):
        return chosen, chosen
    one, place = near_pairs_between(strokes, strokes.take(chosen), reach)
    other = chosen[place]
    distinct = (one != other) & (strokes.sheet[one] == strokes.sheet[other])
    one, other = one[distinct], other[distinct]
    return pairs_of(np.minimum(one, other) * len(strokes) + np.maximum(one, other), len(strokes))


def _facing(board: Copper, pairs: Pairs) -> Pairs:
    """Drops the pairs of one run that meet through a bend."""
    first, second = pairs
    kept = (board.run[first] != board.run[second]) | board.disc[first]
    within = np.flatnonzero(~kept)
    kept[within] = _span(board, first[within], second[within]) > FACING + _ROUNDING
    return first[kept], second[kept]


def _span(board: Copper, first: Index, second: Index) -> Reals:
    """How far a run's directions span, rad, from the end of each first piece to the later, second one."""
    if not len(first):
        return np.zeros(0)
    directions = np.stack([board.before, board.after], axis=1).ravel()
    bounds = np.stack([2 * first + 1, 2 * second + 1], axis=1).ravel()
    highest, lowest = np.maximum.reduceat(directions, bounds), np.minimum.reduceat(directions, bounds)
    spans: Reals = (highest - lowest)[::2]
    return spans


def _joined(board: Copper, found: Gaps) -> Mask:
    """Which gaps are none: a trace runs to the pad, two traces end on one, or pads of a junction overlap."""
    joined = np.zeros(len(found), bool)
    meeting = ~board.disc[found.second] & (board.run[found.first] != board.run[found.second])
    if not (board.disc[found.second] | meeting).any():
        return joined
    leaving = exits(board)
    hidden = {disc for disc, ways in leaving.items() if _hidden(board, disc, ways)}
    touching = {(int(i), int(j)) for i, j, value in _rows(found) if value <= 0}
    attached: dict[int, set[int]] = {}
    met = _met(board, leaving, touching) if meeting.any() else {}
    for k, (first, second, value) in enumerate(_rows(found)):
        if board.disc[first]:
            joined[k] = value <= 0 and board.junction[first] == board.junction[second]
        elif board.disc[second]:
            if second not in attached:
                attached[second] = set(_attached(board, second, leaving.get(second, ()), touching))
            joined[k] = first in attached[second]
        else:
            shared = met.get(first, set()) & met.get(second, set())
            joined[k] = any(value <= 0 or _covers(board, disc, found.at[k]) for disc in shared)
        joined[k] |= first in hidden or second in hidden
    joined &= board.net[found.first] == board.net[found.second]
    return joined


def _covers(board: Copper, disc: int, at: complex) -> bool:
    """Whether a place lies on a disc."""
    return bool(abs(board.strokes.pieces.start[disc] - at) <= board.strokes.width[disc] / 2)


def _met(
    board: Copper, leaving: Mapping[int, list[Exit]], touching: set[tuple[int, int]]
) -> dict[int, set[int]]:
    """Of pieces of traces the discs that they belong to, where several runs end on these."""
    found: dict[int, set[int]] = {}
    for disc, ways in leaving.items():
        if len({int(board.run[piece]) for piece, _ in ways}) > 1:
            for piece in _attached(board, disc, ways, touching):
                found.setdefault(piece, set()).add(disc)
    return found


def _hidden(board: Copper, disc: int, leaving: Iterable[Exit]) -> bool:
    """Whether a disc lies wholly in a trace that is joined to it, so that the trace's own gaps tell all."""
    shapes, width = board.strokes.pieces, board.strokes.width
    if shapes.length[disc] > 0:
        return False
    return any(
        width[disc] / 2 + abs((shapes.start if step > 0 else shapes.end)[piece] - shapes.start[disc])
        <= width[piece] / 2
        for piece, step in leaving
    )


def _rows(found: Gaps) -> Iterable[tuple[int, int, float]]:
    return zip(found.first.tolist(), found.second.tolist(), found.value.tolist(), strict=True)


def _attached(
    board: Copper, disc: int, leaving: Iterable[Exit], touching: set[tuple[int, int]]
) -> Iterable[int]:
    """The pieces that leave a disc, as long as they touch it or have not turned enough to come back.

    What goes straight on from one that touches does so too: a lead that narrows is one line.
    """
    for start, step in leaving:
        turned, left = (board.before, board.after) if step > 0 else (board.after, board.before)
        piece, heading = start, float(turned[start])
        while 0 <= piece < len(board.run) and board.run[piece] == board.run[start]:
            bent, onward = abs(turned[piece] - turned[start]), abs(turned[piece] - heading)
            if bent >= LEAVING and onward > _ROUNDING and (piece, disc) not in touching:
                break
            heading = float(left[piece])
            yield piece
            piece += step
