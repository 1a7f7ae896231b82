"""What is joined to what on a board, and which way the current runs: read from its files alone.

Strokes are cut where they pass a barrel's centre; barrels that join the same pieces of copper are one node.
The current runs from terminal 1 outwards, from node to node, on every stroke that leads farther away.
"""

import cmath
import math
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import shapely
from board_reader import Board
from gerber_reader import Draw, Flash

SAME = 3e-9
Piece = tuple[int, int]
"""A layer and the number of its piece of copper."""


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """components: sets of joined pieces. loops: ways round through barrels, parallel ones counted once.

    pins: pieces with a terminal's pad, by its number. turning: angle about the centre by which the current
    turns on each layer, rad.
    """

    components: list[set[Piece]]
    loops: int
    pins: dict[str, set[Piece]]
    turning: dict[int, float]


def circuit(board: Board) -> Circuit:
    """The circuit of a board."""
    pieces = {(layer, k) for layer, sheet in board.copper.items() for k in range(len(sheet.parts))}
    barrels = [_touched(board, hole.disc) for hole in board.holes]
    nodes = _nodes(board, barrels)
    return Circuit(
        components=_components(pieces, barrels),
        loops=_loops(nodes),
        pins=_pins(board),
        turning=_turning(board, nodes),
    )


def _touched(board: Board, area: shapely.Geometry) -> frozenset[Piece]:
    return frozenset(
        (layer, k)
        for layer, sheet in board.copper.items()
        for k, part in enumerate(sheet.parts)
        if part.intersects(area)
    )


def _components(pieces: set[Piece], barrels: list[frozenset[Piece]]) -> list[set[Piece]]:
    groups = [{piece} for piece in pieces]
    for barrel in barrels:
        joined = [group for group in groups if group & barrel]
        groups = [group for group in groups if not group & barrel]
        groups.append(set().union(*joined))
    return groups


Joint = tuple[frozenset[Piece], list[int]]
"""Pieces of copper and the numbers of the barrels that join them."""


def _nodes(board: Board, barrels: list[frozenset[Piece]]) -> list[Joint]:
    """Barrels that join the same pieces, pads of their own left out; a terminal's stands for itself."""
    own = [{piece for piece in barrel if sum(piece in other for other in barrels) == 1} for barrel in barrels]
    stroked = _stroked(board)
    shared = [barrel - (alone - stroked) for barrel, alone in zip(barrels, own, strict=True)]
    of_terminal = [_is_terminal(board, hole.at) for hole in board.holes]
    found: dict[tuple[frozenset[Piece], int], list[int]] = {}
    for number, pieces in enumerate(shared):
        found.setdefault((pieces, number if of_terminal[number] else -1), []).append(number)
    return [(pieces, numbers) for (pieces, _), numbers in found.items()]


def _stroked(board: Board) -> set[Piece]:
    """Pieces of copper that are more than a pad."""
    return {
        (layer, k)
        for layer, sheet in board.copper.items()
        for k, part in enumerate(sheet.parts)
        if any(part.covers(shapely.Point(chain[0].start.real, chain[0].start.imag)) for chain in sheet.chains)
    }


def _is_terminal(board: Board, at: complex) -> bool:
    pads = [pad for sheet in board.copper.values() for pad in sheet.flashes if pad.pin is not None]
    return any(abs(pad.at - at) <= SAME for pad in pads)


def _loops(nodes: list[Joint]) -> int:
    """Edges less nodes plus components of the graph of barrels and pieces."""
    pieces = set().union(*(joined for joined, _ in nodes)) if nodes else set()
    edges = sum(len(joined) for joined, _ in nodes)
    groups = _components(pieces, [joined for joined, _ in nodes if joined])
    alone = sum(1 for joined, _ in nodes if not joined)
    return edges - (len(pieces) + len(nodes) - alone) + len(groups)


def _joints(chains: list[list[Draw]]) -> Iterator[complex]:
    """Where a stroke goes on in another width."""
    for before, after in pairwise(chains):
        if before[-1].end == after[0].start:
            yield after[0].start


def _reached(pads: Iterable[Flash], first: Flash) -> list[complex]:
    """Where a lead may end on a terminal's pad, or on any of its contact fingers."""
    own = [pad for pad in pads if pad.pin == first.pin]
    return [pad.at + share * pad.span for pad in own for share in ((-0.5, 0.5) if pad.span else (0.0,))]


def _pins(board: Board) -> dict[str, set[Piece]]:
    found: dict[str, set[Piece]] = {}
    for layer, sheet in board.copper.items():
        for flash in sheet.flashes:
            if flash.pin is not None:
                at = shapely.Point(flash.at.real, flash.at.imag)
                own = {(layer, k) for k, part in enumerate(sheet.parts) if part.intersects(at)}
                found[flash.pin[1]] = found.get(flash.pin[1], set()) | own
    return found


Node = int | str


def _turning(board: Board, nodes: list[Joint]) -> dict[int, float]:
    home: dict[int, Node] = {hole: number for number, (_, holes) in enumerate(nodes) for hole in holes}
    places: list[tuple[complex, int, Node]] = [
        (hole.at, 0, home[number]) for number, hole in enumerate(board.holes)
    ]
    ends: dict[str, Node] = {}
    for layer, sheet in board.copper.items():
        for flash in sheet.flashes:
            if flash.pin is None or flash.pin[1] in ends:
                continue
            known = [node for at, _, node in places if abs(at - flash.at) <= SAME]
            ends[flash.pin[1]] = known[0] if known else f"terminal {flash.pin[1]}"
            if not known:
                places += [(at, layer, ends[flash.pin[1]]) for at in _reached(sheet.flashes, flash)]
    for layer, sheet in board.copper.items():
        places += [(at, layer, f"joint {layer} {at}") for at in _joints(sheet.chains)]
    strokes = [
        (layer, *stroke)
        for layer, sheet in board.copper.items()
        for stroke in _strokes(sheet.chains, layer, places)
    ]
    steps = _steps(ends.get("1", "nowhere"), [(begin, end) for _, begin, end, _ in strokes])
    turning: dict[int, float] = {}
    for layer, begin, end, angle in strokes:
        if begin in steps and end in steps and steps[begin] != steps[end]:
            onward = 1 if steps[end] > steps[begin] else -1
            turning[layer] = turning.get(layer, 0.0) + onward * angle
    return turning


def _strokes(
    chains: list[list[Draw]], layer: int, places: list[tuple[complex, int, Node]]
) -> Iterator[tuple[Node, Node, float]]:
    """Stretches of a layer's chains from node to node, each with the angle that it turns about the centre."""

    def node(at: complex) -> Node | None:
        near = [own for place, on, own in places if on in (0, layer) and abs(place - at) <= SAME]
        return near[0] if near else None

    for number, chain in enumerate(chains):
        begin: Node = _or(node(chain[0].start), f"loose start {layer}.{number}")
        angle = 0.0
        for draw in chain:
            angle += _swept(draw)
            here = node(draw.end)
            if here is not None:
                yield begin, here, angle
                begin, angle = here, 0.0
        if node(chain[-1].end) is None:
            yield begin, f"loose end {layer}.{number}", angle


def _or(found: Node | None, otherwise: str) -> Node:
    return otherwise if found is None else found


def _swept(draw: Draw) -> float:
    """Angle of a draw about the centre of the coil, rad."""
    if draw.centre is None:
        stops = [draw.start, draw.end]
    else:
        spoke = draw.start - draw.centre
        stops = [draw.centre + spoke * cmath.rect(1, draw.sweep * k / 16) for k in range(17)]
    return sum(
        math.atan2((b * a.conjugate()).imag, (b * a.conjugate()).real) for a, b in pairwise(stops) if a and b
    )


def _steps(start: Node, strokes: list[tuple[Node, Node]]) -> dict[Node, int]:
    """How many strokes each node is from the start."""
    steps, waiting = {start: 0}, deque([start])
    while waiting:
        here = waiting.popleft()
        for pair in strokes:
            if here in pair:
                for other in pair:
                    if other not in steps:
                        steps[other] = steps[here] + 1
                        waiting.append(other)
    return steps
