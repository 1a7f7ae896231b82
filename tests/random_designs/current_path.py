"""What is joined to what on a board, and which way the current runs: read from its files alone.

Strokes are cut where they pass a barrel's centre; barrels that join the same pieces of copper are one node.
The current runs from terminal 1 outwards, from node to node, on every stroke that leads farther away; how
much runs on each follows from what the strokes resist.
"""

import cmath
import math
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from board_reader import Board
from gerber_reader import Draw, Flash

SAME = 3e-9
Piece = tuple[int, int]
"""A layer and the number of its piece of copper."""


Node = int | str


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A layer's strokes of one width from node to node, as drawn from begin to end.

    angle: by which they turn about the centre, rad. area: swept from the centre, m². squares: length over
    width. corners: of them, where one straight stroke meets another.
    """

    layer: int
    begin: Node
    end: Node
    angle: float
    area: float
    squares: float
    corners: float


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """components: sets of joined pieces. loops: ways round through barrels, parallel ones counted once.

    pins: pieces with a terminal's pad, by its number. turning: angle about the centre by which the current
    turns on each layer, rad. stretches: of strokes; ends: nodes of the terminals, by their numbers. closing:
    area swept straight from terminal 2 to terminal 1, m².
    """

    components: list[set[Piece]]
    loops: int
    pins: dict[str, set[Piece]]
    turning: dict[int, float]
    stretches: list[Stretch]
    ends: dict[str, Node]
    closing: float

    def divided(self, ohms: list[float], barrels: list[list[float]]) -> tuple[float, float]:
        """Ohm between the terminals, and m² that one ampere from 1 to 2 encloses, closed straight.

        ohms: of each stretch. barrels: of each hole from each layer to the next; none where it has none.
        """

        def point(node: Node, layer: int) -> object:
            return (node, layer) if isinstance(node, int) and barrels[node] else node

        edges = [
            (point(each.begin, each.layer), point(each.end, each.layer), ohm, each.area)
            for each, ohm in zip(self.stretches, ohms, strict=True)
        ]
        for hole, own in enumerate(barrels):
            edges += [((hole, k), (hole, k + 1), ohm, 0.0) for k, ohm in enumerate(own, start=1)]
        numbers: dict[object, int] = {}
        pairs = [tuple(numbers.setdefault(node, len(numbers)) for node in edge[:2]) for edge in edges]
        matrix, feed = np.zeros((len(numbers), len(numbers))), np.zeros(len(numbers))
        for (a, b), (_, _, ohm, _) in zip(pairs, edges, strict=True):
            if a != b:
                matrix[np.ix_((a, b), (a, b))] += np.array([[1, -1], [-1, 1]]) / ohm
        first, second = (numbers[point(self.ends[pin], 1)] for pin in "12")
        feed[first], feed[second] = 1.0, -1.0
        matrix[second, second] += matrix.max()
        volts = np.linalg.solve(matrix, feed)
        area = sum(
            (volts[a] - volts[b]) / ohm * own for (a, b), (_, _, ohm, own) in zip(pairs, edges, strict=True)
        )
        return float(volts[first] - volts[second]), float(area) + self.closing


def circuit(board: Board) -> Circuit:
    """The circuit of a board."""
    pieces = {(layer, k) for layer, sheet in board.copper.items() for k in range(len(sheet.parts))}
    barrels = [_touched(board, hole.disc) for hole in board.holes]
    nodes = _nodes(board, barrels)
    home: dict[int, Node] = {hole: number for number, (_, holes) in enumerate(nodes) for hole in holes}
    apart: dict[int, Node] = {hole: hole for hole in home}
    stretches, ends = _stretches(board, apart)
    return Circuit(
        components=_components(pieces, barrels),
        loops=_loops(nodes),
        pins=_pins(board),
        turning=_turning(*_stretches(board, home)),
        stretches=stretches,
        ends=ends,
        closing=_closing(board),
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


def _closing(board: Board) -> float:
    pads = (pad for sheet in board.copper.values() for pad in sheet.flashes if pad.pin is not None)
    at: dict[str, complex] = {}
    for pad in pads:
        at.setdefault(pad.pin[1], pad.at)
    return (at["2"].conjugate() * at["1"]).imag / 2 if {"1", "2"} <= set(at) else math.nan


def _stretches(board: Board, home: dict[int, Node]) -> tuple[list[Stretch], dict[str, Node]]:
    """All stretches, and the nodes of terminals by their numbers; home: the node of each hole."""
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
    found = [
        stretch for layer, sheet in board.copper.items() for stretch in _strokes(sheet.chains, layer, places)
    ]
    return found, ends


def _turning(stretches: list[Stretch], ends: dict[str, Node]) -> dict[int, float]:
    steps = _steps(ends.get("1", "nowhere"), [(each.begin, each.end) for each in stretches])
    turning: dict[int, float] = {}
    for each in stretches:
        if each.begin in steps and each.end in steps and steps[each.begin] != steps[each.end]:
            onward = 1 if steps[each.end] > steps[each.begin] else -1
            turning[each.layer] = turning.get(each.layer, 0.0) + onward * each.angle
    return turning


def _strokes(
    chains: list[list[Draw]], layer: int, places: list[tuple[complex, int, Node]]
) -> Iterator[Stretch]:
    """Stretches of a layer's chains from node to node."""

    def node(at: complex) -> Node | None:
        near = [own for place, on, own in places if on in (0, layer) and abs(place - at) <= SAME]
        return near[0] if near else None

    for number, chain in enumerate(chains):
        begin: Node = _or(node(chain[0].start), f"loose start {layer}.{number}")
        run: list[Draw] = []
        for draw in chain:
            run.append(draw)
            here = node(draw.end)
            if here is not None:
                yield _stretch(layer, begin, here, run)
                begin, run = here, []
        if run:
            yield _stretch(layer, begin, f"loose end {layer}.{number}", run)


def _stretch(layer: int, begin: Node, end: Node, run: list[Draw]) -> Stretch:
    return Stretch(
        layer=layer,
        begin=begin,
        end=end,
        angle=sum(_swept(draw) for draw in run),
        area=sum(_swept_area(draw) for draw in run),
        squares=sum(_squares(draw) for draw in run),
        corners=sum(math.tan(_bend(a, b) / 2) for a, b in pairwise(run)),
    )


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


def _squares(draw: Draw) -> float:
    """Of a straight strip, or of a sector of a ring, through which the current runs round the centre."""
    if draw.centre is None:
        return draw.length / draw.width
    radius = abs(draw.start - draw.centre)
    return abs(draw.sweep) / math.log((radius + draw.width / 2) / (radius - draw.width / 2))


def _bend(one: Draw, other: Draw) -> float:
    """Angle between the headings of two strokes where they meet, rad."""
    return abs(cmath.phase(_heading(other, other.start) / _heading(one, one.end)))


def _heading(draw: Draw, at: complex) -> complex:
    if draw.centre is None:
        return draw.end - draw.start
    return 1j * math.copysign(1, draw.sweep) * (at - draw.centre)


def _swept_area(draw: Draw) -> float:
    """Of the sector from the origin, m²: the triangle below the chord, and the arc's segment over it."""
    triangle = (draw.start.conjugate() * draw.end).imag / 2
    if draw.centre is None:
        return triangle
    return triangle + abs(draw.start - draw.centre) ** 2 * (draw.sweep - math.sin(draw.sweep)) / 2


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
