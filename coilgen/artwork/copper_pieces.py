"""All copper of a board as stroked pieces: what joins what, how far traces turn, how far along the coil."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from coilgen.artwork.art import Art, Pad
from coilgen.artwork.last_asked import for_last
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.clearance import Strokes
from coilgen.geometry.distance import Index, Mask, Points, Reals, pieces
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point
from coilgen.layout.coil import Trace

COINCIDENT = 1e-6
"""A trace runs to a via when a vertex of its path is so near to the via's centre, m."""

Exit: TypeAlias = tuple[int, int]
"""A piece that leaves a disc, and the step to the next one away from it: 1 in the sense of travel, or -1."""

_LONGEST_SWEEP = math.radians(95)
_STRAIGHT = 1.2


@dataclass(frozen=True, eq=False, kw_only=True)
class Copper:
    """All copper of a board as n strokes whose sheets are its layers: pieces of traces first, then discs.

    run (n,): which run of traces joined end to end a piece is part of, in current order; -1 for discs.
    before, after (n,): direction of travel where the piece begins and ends, rad, counted on through the run:
    a turn of a spiral adds 2 pi.
    terminal (n,): the number of the terminal whose pad a disc is; 0 for all others.
    junction (n,): discs that are one node of a net share a number; -1 for pieces of traces.
    net (n,): place of a stroke's net in `nets`.
    """

    strokes: Strokes
    run: Index
    before: Reals
    after: Reals
    terminal: Index
    junction: Index
    net: Index
    nets: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.run)

    @property
    def disc(self) -> Mask:
        """Which strokes are discs: pads, and barrels without a pad."""
        return self.run < 0

    def take(self, index: Index) -> "Copper":
        """The strokes at an index, in its order."""
        return Copper(
            strokes=self.strokes.take(index),
            run=self.run[index],
            before=self.before[index],
            after=self.after[index],
            terminal=self.terminal[index],
            junction=self.junction[index],
            net=self.net[index],
            nets=self.nets,
        )


@dataclass(frozen=True, kw_only=True)
class _Disc:
    body: Point | Line
    layer: int
    diameter: float
    terminal: int
    net: str


@for_last
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
        _Disc(
            body=_body(pad), layer=pad.layer, diameter=pad.diameter, terminal=pad.terminal or 0, net=pad.net
        )
        for pad in art.pads
    ]
    discs += _barrels(art)
    named = [*(art.traces[place].net for _, place, _ in parts), *(disc.net for disc in discs)]
    nets = {name: place for place, name in enumerate(dict.fromkeys(named))}
    shapes = pieces([*(part for part, _, _ in parts), *(disc.body for disc in discs)])
    trace = np.array([place for _, place, _ in parts], np.intp)
    before = (
        np.cumsum(shapes.sweep) - shapes.sweep + np.cumsum(_corners(shapes.start_heading, shapes.end_heading))
    )
    board = Copper(
        strokes=Strokes(
            pieces=shapes,
            width=np.append(_of(art.traces, "width")[trace], [disc.diameter for disc in discs]),
            sheet=np.append(_of(art.traces, "layer")[trace], [disc.layer for disc in discs]).astype(np.intp),
        ),
        run=np.append([run for _, _, run in parts], [-1] * len(discs)).astype(np.intp),
        before=before,
        after=before + shapes.sweep,
        terminal=np.append([0] * len(parts), [disc.terminal for disc in discs]).astype(np.intp),
        junction=np.append([-1] * len(parts), np.arange(len(discs))).astype(np.intp),
        net=np.array([nets[name] for name in named], np.intp),
        nets=tuple(nets),
    )
    return replace(board, junction=_junctions(board))


def _body(pad: Pad) -> Point | Line:
    """Where a pad is stroked: at a point, or along the middle of an oblong one, from where its lead ends."""
    return Line(pad.at - pad.span / 2, pad.at + pad.span / 2) if pad.span else pad.at


@for_last
def exits(board: Copper) -> Mapping[int, list[Exit]]:
    """Where traces of its layer leave each disc they are joined to.

    A trace is joined to a disc when a vertex of its path is at the disc's centre, and to a terminal's pad
    also when it ends anywhere on it: copper that passes over a via of other layers is not joined to it.
    """
    count = int(np.count_nonzero(~board.disc))
    shapes, sheet, run = board.strokes.pieces, board.strokes.sheet, board.run
    found: dict[int, list[Exit]] = {}
    for step, vertices in ((1, shapes.start), (-1, shapes.end)):
        ending = _outermost(run[:count], step)
        for layer in sorted({*sheet[count:].tolist()}):
            discs = count + np.flatnonzero(sheet[count:] == layer)
            here = np.flatnonzero(sheet[:count] == layer)
            apart = np.abs(shapes.start[discs][:, None] - vertices[here][None, :])
            on_pad = (board.terminal[discs] > 0)[:, None] & ending[here][None, :]
            reach = np.where(on_pad, board.strokes.width[discs][:, None] / 2, COINCIDENT)
            own = board.net[discs][:, None] == board.net[here][None, :]
            for disc, piece in np.argwhere(own & (apart <= reach)).tolist():
                found.setdefault(int(discs[disc]), []).append((int(here[piece]), step))
    return found


def conductor_shares(board: Copper) -> Reals:
    """How far along its net's conductor each stroke stands, as a share of its length (n,).

    Pieces of traces count at their middle; a disc counts where a trace of any layer leaves its centre, and is
    nan where none does. The voltage along a coil falls in this proportion.
    """
    shares: Reals = np.full(len(board), np.nan)
    for net in range(len(board.nets)):
        own = np.flatnonzero(board.net == net)
        shares[own] = _shares(board if len(own) == len(board) else board.take(own))
    return shares


def _shares(board: Copper) -> Reals:
    """Of the copper of one net."""
    lengths = np.where(board.disc, 0.0, board.strokes.pieces.length)
    ends = np.cumsum(lengths)
    shares: Reals = (ends - lengths / 2) / max(float(ends[-1]), COINCIDENT)
    centres = board.strokes.pieces.start
    shares[board.disc] = np.nan
    for disc, ways in exits(board).items():
        piece, step = ways[0]
        here = board.disc & (np.abs(centres - centres[disc]) <= COINCIDENT)
        shares[here] = (ends[piece] - (lengths[piece] if step > 0 else 0.0)) / ends[-1]
    return shares


def _of(traces: tuple[Trace, ...], name: str) -> Reals:
    return np.array([getattr(trace, name) for trace in traces], float)


def _corners(start_heading: Points, end_heading: Points) -> Reals:
    """The bend before each piece, rad, to the left positive."""
    bends = np.angle(start_heading[1:] * np.conj(end_heading[:-1]))
    return np.append(0.0, bends) if len(start_heading) else bends


def _runs(traces: tuple[Trace, ...]) -> list[list[int]]:
    """Places of traces, those together that follow each other end to end on one layer."""
    runs: list[list[int]] = []
    for place, trace in enumerate(traces):
        before = traces[runs[-1][-1]] if runs else None
        if before and _goes_on(before, trace):
            runs[-1].append(place)
        else:
            runs.append([place])
    return runs


def _goes_on(before: Trace, trace: Trace) -> bool:
    alike = (before.layer, before.net) == (trace.layer, trace.net)
    return alike and abs(before.path.end - trace.path.start) <= COINCIDENT


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
                yield _Disc(
                    body=hole.at,
                    layer=layer,
                    diameter=hole.diameter,
                    terminal=hole.terminal or 0,
                    net=hole.net,
                )


def _outermost(run: Index, step: int) -> Mask:
    """Which pieces begin (step 1) or end (step -1) their run."""
    beyond = np.concatenate([[-1], run[:-1]]) if step > 0 else np.concatenate([run[1:], [-1]])
    changes: Mask = np.not_equal(run, beyond)
    return changes


def _junctions(board: Copper) -> Index:
    """Discs of one centre are one node; so are overlapping ones with a trace running straight between.

    Contact fingers of a terminal and the bars between them are one too.
    """
    junction, discs = board.junction.copy(), np.flatnonzero(board.disc)
    if not len(discs):
        return junction
    centres, width = board.strokes.pieces.start[discs], board.strokes.width[discs]
    own = board.net[discs][:, None] == board.net[discs][None, :]
    apart = np.where(own, np.abs(centres[:, None] - centres[None, :]), np.inf)
    node = np.argmax(apart <= COINCIDENT, axis=1)
    node = _with_fingers(board, discs, node)
    overlapping = (apart < (width[:, None] + width[None, :]) / 2) & (apart > COINCIDENT)
    pairs = sorted({(one, other) for one, other in node[np.argwhere(overlapping)].tolist()})
    leaving = exits(board) if pairs else {}
    for one, other in pairs:
        ways, arrivals = (
            [way for disc in discs[apart[end] <= COINCIDENT] for way in leaving.get(int(disc), ())]
            for end in (one, other)
        )
        if _straight_between(board, ways, arrivals, _STRAIGHT * float(apart[one, other])):
            node[node == node[other]] = node[one]
    junction[discs] = node
    return junction


def _with_fingers(board: Copper, discs: Index, node: Index) -> Index:
    """Nodes of discs, those of a terminal's oblong pads as one."""
    terminal = np.where(board.strokes.pieces.length[discs] > 0, board.terminal[discs], 0)
    for net, number in {*zip(board.net[discs].tolist(), terminal.tolist(), strict=True)}:
        own = (board.net[discs] == net) & (terminal == number)
        if number:
            node = np.where(np.isin(node, node[own]), node[own].min(), node)
    return node


def _straight_between(board: Copper, ways: Iterable[Exit], arrivals: Iterable[Exit], longest: float) -> bool:
    """Whether a run leaves one disc forwards and reaches the other within a length, m."""
    return any(
        step > 0 > back
        and board.run[begin] == board.run[end]
        and begin <= end
        and board.strokes.pieces.length[begin : end + 1].sum() <= longest
        for begin, step in ways
        for end, back in arrivals
    )
