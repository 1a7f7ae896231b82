"""Arrowheads along the outermost turn of each layer: which way a positive current goes."""

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence

from coilgen.artwork.art import Art
from coilgen.exports.picture._svg import INK, Element, add, number, xy
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point, cross
from coilgen.layout.coil import Trace

SECTORS = 8
"""Of the full turn: each bears one arrowhead at most."""

MOST = 4
"""Arrowheads on one layer, or one more where ends lie apart."""


def add_current_marks(parent: Element, art: Art, layer: int, size: float) -> None:
    """A group of arrowheads as long as letters of `size` (m), at the middle of the outermost pieces."""
    group = add(parent, "g", id=f"current-{layer}", class_="current", fill="#ffffff", stroke=INK)
    group.set("stroke-width", number(0.12 * size))
    group.set("stroke-linejoin", "round")
    for at, heading in current_places(art, layer):
        _add_arrowhead(group, at, heading, size)


def current_places(art: Art, layer: int) -> list[tuple[Point, Point]]:
    """Places on a layer's outermost turn, m, with the unit heading of a positive current there."""
    farthest: dict[int, Segment] = {}
    for piece in _around(_outermost_turn(art.traces_on(layer))):
        sector = _sector(piece.at(0.5))
        if sector not in farthest or abs(piece.at(0.5)) > abs(farthest[sector].at(0.5)):
            farthest[sector] = piece
    chosen = [farthest[sector] for sector in sorted(farthest)]
    every = max(1, round(len(chosen) / MOST))
    return [(piece.at(0.5), _middle_heading(piece)) for piece in chosen[::every]]


def _outermost_turn(traces: Sequence[Trace]) -> Iterator[Segment]:
    """Pieces of the longest trace, the winding, from its outer end until they have gone round once."""
    if not traces:
        return
    path = max((trace.path for trace in traces), key=lambda each: each.length)
    inward = abs(path.start) > abs(path.end)
    gone = 0.0
    for piece in path.segments if inward else reversed(path.segments):
        yield piece
        gone += abs(cmath.phase(piece.end * piece.start.conjugate()))
        if gone > math.tau:
            return


def _around(pieces: Iterable[Segment]) -> list[Segment]:
    """The pieces that lead round the centre: leads run to and from it, cut corners are short."""
    known = list(pieces)
    longest = max((piece.length for piece in known), default=0.0)
    return [
        piece
        for piece in known
        if piece.length > longest / 4
        and abs(cross(piece.at(0.5), _middle_heading(piece))) > 0.8 * abs(piece.at(0.5))
    ]


def _middle_heading(piece: Segment) -> Point:
    return piece.start_heading * complex(math.cos(piece.turning / 2), math.sin(piece.turning / 2))


def _sector(at: Point) -> int:
    return math.floor(math.atan2(at.imag, at.real) / math.tau * SECTORS + 0.5) % SECTORS


def _add_arrowhead(parent: Element, at: Point, heading: Point, size: float) -> None:
    corners = (0.6 * size, (-0.5 + 0.42j) * size, -0.25 * size, (-0.5 - 0.42j) * size)
    outline = " L".join(xy(at + corner * heading) for corner in corners)
    add(parent, "path", d=f"M{outline} Z")
