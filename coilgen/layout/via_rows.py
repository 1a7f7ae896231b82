"""Rows of parallel vias: both traces of a layer change pass all of them, the current their row once."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise, product, takewhile

from coilgen.frozen import dataclass
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Trace

_SAME = 1e-9
"""m, by which ends of one place may differ."""


@dataclass(frozen=True, kw_only=True)
class ViaRow:
    """Where the current changes from one trace to another through several vias.

    before, after: numbers of the traces. row: of the trace before, from its first via to its last; places: of
    the vias along it. back: whether the trace after goes back along it, and not on with it.
    """

    before: int
    after: int
    row: tuple[Segment, ...]
    places: tuple[Point, ...]
    back: bool


def via_rows(coil: Coil) -> tuple[ViaRow, ...]:
    """Of each layer change of several vias; of traces side by side each with each that follows."""
    if len(coil.vias) < 2:
        return ()
    return tuple(_found(coil))


def _found(coil: Coil) -> Iterator[ViaRow]:
    for befores, afters in pairwise(_in_order(coil)):
        for before, after in product(befores, afters):
            one, other = coil.traces[before], coil.traces[after]
            vias = [via.at for via in coil.vias if {one.layer, other.layer} <= set(via.joins)]
            count, back = _common(one, other, vias)
            if count and one.net == other.net:
                row = one.path.segments[-count:]
                ends = (row[0].start, *(piece.end for piece in row))
                places = tuple(_nearest(vias, end) for end in ends)
                yield ViaRow(before=before, after=after, row=row, places=places, back=back)


def _in_order(coil: Coil) -> list[tuple[int, ...]]:
    """Numbers of the traces as the current meets them, those side by side together."""
    alone = [(k,) for k in range(len(coil.traces)) if k not in coil.parallel]
    return sorted([*alone, coil.parallel] if coil.parallel else alone)


def _common(one: Trace, other: Trace, vias: list[Point]) -> tuple[int, bool]:
    """How many of the last pieces of a trace, from via to via, the next one has too; whether backwards."""
    last, first = (
        _from_via_to_via(reversed(one.path.segments), vias),
        _from_via_to_via(other.path.segments, vias),
    )
    count = min(len(last), len(first))
    if not count:
        return 0, False
    back = abs(one.path.end - other.path.start) < _SAME
    there, here = first[0].start, first[count - 1].end
    ends = (last[0].end, last[count - 1].start)
    meet = abs(there - ends[not back]) < _SAME and abs(here - ends[back]) < _SAME
    return (count, back) if meet else (0, False)


def _from_via_to_via(pieces: Iterable[Segment], vias: list[Point]) -> list[Segment]:
    """The first of a trace's pieces that run from one via to the next."""

    def at_via(point: Point) -> bool:
        return any(abs(point - via) < _SAME for via in vias)

    return list(takewhile(lambda piece: at_via(piece.start) and at_via(piece.end), pieces))


def _nearest(vias: list[Point], point: Point) -> Point:
    return min(vias, key=lambda via: abs(via - point))


def passed_once(coil: Coil) -> Coil:
    """The coil with each row of vias in the trace before alone, and in neither that goes back along it.

    The current divides between both traces there, all of it together passing each piece of the row once.
    """
    first, last = dict[int, int](), dict[int, int]()
    for found in via_rows(coil):
        first[found.after] = len(found.row)
        if found.back:
            last[found.before] = len(found.row)
    if not first:
        return coil
    return replace(
        coil,
        traces=tuple(
            _shortened(trace, first.get(k, 0), last.get(k, 0)) for k, trace in enumerate(coil.traces)
        ),
    )


def _shortened(trace: Trace, first: int, last: int) -> Trace:
    """Without so many of its first and last pieces."""
    pieces = trace.path.segments
    return replace(trace, path=Path(pieces[first : len(pieces) - last])) if first or last else trace
