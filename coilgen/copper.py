"""The gaps between pieces of copper that are not joined there: all under a reach, or the smallest."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from coilgen.art import Art
from coilgen.coil import Trace
from coilgen.geometry.arc import Arc
from coilgen.geometry.clearance import Gaps, Pairs, Strokes, gaps, near_pairs, near_pairs_between
from coilgen.geometry.distance import Index, Mask, Points, Reals, pieces
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point

FACING = math.radians(150)
"""Two pieces of one trace have a gap between them when it turns at least so far from one to the other."""

LEAVING = math.radians(80)
"""A trace that leaves a pad belongs to it until it has turned so far; from there on it may come back."""

COINCIDENT = 1e-6
"""A trace runs to a via when a vertex of its path is so near to the via's centre, m."""

_LONGEST_SWEEP = math.radians(95)
_STRAIGHT = 1.2


Exit: TypeAlias = tuple[int, int]
"""A piece that leaves a disc, and the step to the next one away from it: 1 in the sense of travel, or -1."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Copper:
    """All copper of a board as n strokes whose sheets are its layers: pieces of traces first, then discs.

    run (n,): which run of traces joined end to end a piece is part of, in current order; -1 for discs.
    before, after (n,): how far the run has turned where the piece begins and ends, rad; no sign.
    trace (n,): which of the art's traces a piece is part of; -1 for discs.
    terminal (n,): the number of the terminal whose pad a disc is; 0 for all others.
    """

    strokes: Strokes
    run: Index
    trace: Index
    before: Reals
    after: Reals
    terminal: Index

    @property
    def disc(self) -> Mask:
        """Which strokes are discs: pads, and barrels without a pad."""
        return self.run < 0


@dataclass(frozen=True, kw_only=True)
class _Disc:
    at: Point
    layer: int
    diameter: float
    terminal: int


def smallest_gap(art: Art, layer: int) -> float | None:
    """The smallest gap between pieces of copper of one layer that are not joined there, m; exact.

    Negative when two overlap; None when the layer has no two such pieces.
    """
    board = _on_layer(copper(art), layer)
    ends = np.concatenate([board.strokes.pieces.start, board.strokes.pieces.end])
    if not len(ends):
        return None
    reach, all_within = float(board.strokes.width.min()), 4 * float(np.abs(ends).max()) + 1.0
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
    pairs = np.stack([np.minimum(one, other), np.maximum(one, other)])[:, distinct]
    first, second = np.unique(pairs, axis=1)
    return first, second


def _facing(board: Copper, pairs: Pairs) -> Pairs:
    """Drops the pairs of one run that meet through a bend."""
    first, second = pairs
    bent = board.before[second] - board.after[first]
    kept = (board.run[first] != board.run[second]) | board.disc[first] | (bent >= FACING)
    return first[kept], second[kept]


def _joined(board: Copper, found: Gaps) -> Mask:
    """Which gaps are none: a trace runs to the pad, or two pads of one junction overlap."""
    joined = np.zeros(len(found), bool)
    if not board.disc[found.second].any():
        return joined
    exits = _exits(board)
    touching = {(int(i), int(j)) for i, j, value in _rows(found) if value <= 0}
    attached: dict[int, set[int]] = {}
    for k, (first, second, value) in enumerate(_rows(found)):
        if board.disc[first]:
            joined[k] = value <= 0 and _one_junction(board, exits, first, second)
        elif board.disc[second]:
            if second not in attached:
                attached[second] = set(_attached(board, second, exits.get(second, ()), touching))
            joined[k] = first in attached[second]
    return joined


def _rows(found: Gaps) -> Iterable[tuple[int, int, float]]:
    return zip(found.first.tolist(), found.second.tolist(), found.value.tolist(), strict=True)


def _exits(board: Copper) -> dict[int, list[Exit]]:
    """Where traces of its layer leave each disc they are joined to.

    A trace is joined to a disc when a vertex of its path is at the disc's centre, and to a terminal's pad
    also when it ends anywhere on it: copper that passes over a via of other layers is not joined to it.
    """
    count = int(np.count_nonzero(~board.disc))
    shapes, sheet, run = board.strokes.pieces, board.strokes.sheet, board.run
    exits: dict[int, list[Exit]] = {}
    for step, vertices in ((1, shapes.start), (-1, shapes.end)):
        ending = _outermost(run[:count], step)
        for layer in np.unique(sheet[count:]):
            discs = count + np.flatnonzero(sheet[count:] == layer)
            here = np.flatnonzero(sheet[:count] == layer)
            apart = np.abs(shapes.start[discs][:, None] - vertices[here][None, :])
            on_pad = (board.terminal[discs] > 0)[:, None] & ending[here][None, :]
            reach = np.where(on_pad, board.strokes.width[discs][:, None] / 2, COINCIDENT)
            for disc, piece in np.argwhere(apart <= reach).tolist():
                exits.setdefault(int(discs[disc]), []).append((int(here[piece]), step))
    return exits


def _outermost(run: Index, step: int) -> Mask:
    """Which pieces begin (step 1) or end (step -1) their run."""
    beyond = np.concatenate([[-1], run[:-1]]) if step > 0 else np.concatenate([run[1:], [-1]])
    changes: Mask = np.not_equal(run, beyond)
    return changes


def _attached(
    board: Copper, disc: int, exits: Iterable[Exit], touching: set[tuple[int, int]]
) -> Iterable[int]:
    """The pieces that leave a disc, as long as they touch it or have not turned enough to come back."""
    for start, step in exits:
        turned = board.before if step > 0 else board.after
        piece = start
        while 0 <= piece < len(board.run) and board.run[piece] == board.run[start]:
            if abs(turned[piece] - turned[start]) >= LEAVING and (piece, disc) not in touching:
                break
            yield piece
            piece += step


def _one_junction(board: Copper, exits: Mapping[int, list[Exit]], first: int, second: int) -> bool:
    """Whether two discs share a centre, or a trace of some layer runs straight from one to the other."""
    centres = board.strokes.pieces.start
    apart = abs(centres[first] - centres[second])
    if apart <= COINCIDENT:
        return True
    sides = [
        [
            way
            for disc, leaving in exits.items()
            if abs(centres[disc] - centres[end]) <= COINCIDENT
            for way in leaving
        ]
        for end in (first, second)
    ]
    return any(
        _run_between(board, one, other) <= _STRAIGHT * apart
        for a, b in (sides, sides[::-1])
        for one in a
        for other in b
    )


def _run_between(board: Copper, one: Exit, other: Exit) -> float:
    """Length of the trace that leaves one disc forwards and reaches the other, m; infinite without one."""
    (begin, forwards), (end, backwards) = one, other
    if forwards <= backwards or board.run[begin] != board.run[end] or end < begin:
        return math.inf
    return float(board.strokes.pieces.length[begin : end + 1].sum())


def conductor_shares(board: Copper) -> Reals:
    """How far along the whole conductor each stroke stands, as a share of its length (n,).

    Pieces of traces count at their middle; a disc counts where a trace of any layer leaves its centre, and is
    nan where none does. The voltage along a coil falls in this proportion.
    """
    lengths = np.where(board.disc, 0.0, board.strokes.pieces.length)
    ends = np.cumsum(lengths)
    shares: Reals = (ends - lengths / 2) / max(float(ends[-1]), COINCIDENT)
    centres = board.strokes.pieces.start
    shares[board.disc] = np.nan
    for disc, exits in _exits(board).items():
        piece, step = exits[0]
        here = board.disc & (np.abs(centres - centres[disc]) <= COINCIDENT)
        shares[here] = (ends[piece] - (lengths[piece] if step > 0 else 0.0)) / ends[-1]
    return shares


def copper(art: Art) -> Copper:
    """All copper of a board. A plated barrel counts as copper on every layer on which it has no pad."""
    parts = [
        (part, place, run)
        for run, places in enumerate(_runs(art.traces))
        for place in places
        for segment in art.traces[place].path.segments
        for part in _short(segment)
    ]
    discs = [
        _Disc(at=pad.at, layer=pad.layer, diameter=pad.diameter, terminal=pad.terminal or 0)
        for pad in art.pads
    ]
    discs += _barrels(art)
    shapes = pieces([*(part for part, _, _ in parts), *(disc.at for disc in discs)])
    trace = np.array([place for _, place, _ in parts], np.intp)
    turned = np.abs(shapes.sweep)
    before = np.cumsum(turned) - turned + np.cumsum(_corners(shapes.start_heading, shapes.end_heading))
    return Copper(
        strokes=Strokes(
            pieces=shapes,
            width=np.append(_of(art.traces, "width")[trace], [disc.diameter for disc in discs]),
            sheet=np.append(_of(art.traces, "layer")[trace], [disc.layer for disc in discs]).astype(np.intp),
        ),
        run=np.append([run for _, _, run in parts], [-1] * len(discs)).astype(np.intp),
        trace=np.append(trace, [-1] * len(discs)).astype(np.intp),
        before=before,
        after=before + turned,
        terminal=np.append([0] * len(parts), [disc.terminal for disc in discs]).astype(np.intp),
    )


def _of(traces: tuple[Trace, ...], name: str) -> Reals:
    return np.array([getattr(trace, name) for trace in traces], float)


def _corners(start_heading: Points, end_heading: Points) -> Reals:
    """The bend before each piece, rad."""
    bends = np.abs(np.angle(start_heading[1:] * np.conj(end_heading[:-1])))
    return np.append(0.0, bends) if len(start_heading) else bends


def _runs(traces: tuple[Trace, ...]) -> list[list[int]]:
    """Places of traces, those together that follow each other end to end on one layer."""
    runs: list[list[int]] = []
    for place, trace in enumerate(traces):
        before = traces[runs[-1][-1]] if runs else None
        if before and before.layer == trace.layer and abs(before.path.end - trace.path.start) <= COINCIDENT:
            runs[-1].append(place)
        else:
            runs.append([place])
    return runs


def _short(segment: Segment) -> Iterable[Segment]:
    """The segment, or equal parts of an arc over about a quarter turn, whose ends may face each other."""
    if not isinstance(segment, Arc) or abs(segment.sweep) <= _LONGEST_SWEEP:
        return (segment,)
    count = math.ceil(abs(segment.sweep) / _LONGEST_SWEEP)
    part = segment.sweep / count
    return (Arc(segment.centre, segment.radius, segment.start_angle + k * part, part) for k in range(count))


def _barrels(art: Art) -> Iterable[_Disc]:
    for layer in range(1, art.copper_layers + 1):
        pads = art.pads_on(layer)
        for hole in art.holes:
            if hole.plated and all(abs(pad.at - hole.at) > COINCIDENT for pad in pads):
                yield _Disc(at=hole.at, layer=layer, diameter=hole.diameter, terminal=hole.terminal or 0)


def _on_layer(board: Copper, layer: int) -> Copper:
    kept = np.flatnonzero(board.strokes.sheet == layer)
    return Copper(
        strokes=board.strokes.take(kept),
        run=board.run[kept],
        trace=board.trace[kept],
        before=board.before[kept],
        after=board.after[kept],
        terminal=board.terminal[kept],
    )
