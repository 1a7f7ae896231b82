"""Copper that joins the coils of an array: phases in series or parallel, star point, delta, terminals."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import count, pairwise

from coilgen.design.design import Design
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Terminal, Trace, Via
from coilgen.layout.joint_channel import Channel
from coilgen.layout.joint_parts import Barrel, Joints, Node, Piece, Spot, net_of
from coilgen.layout.joint_room import refuse_without_room_for_joints
from coilgen.layout.joint_ways import Ways
from coilgen.layout.shared_tail import End, shared_tail


def joints(design: Design, coils: Sequence[Coil]) -> Joints:
    """What joins the coils of an array where they lie; DesignError where there is no way or no room."""
    ways = Ways(design, coils)
    refuse_without_room_for_joints(ways)
    found = _Laid(ways).joints()
    return found if design.tail is None else _led(ways, found)


def _led(ways: Ways, found: Joints) -> Joints:
    """Joints whose terminals stand at a tail's end; DesignError where leads have no way to it."""
    design, coils = ways.design, ways.coils
    board = merged(joined(coils, found, [net_of(design, k) for k in range(len(coils))]), found)
    ends = [
        End(
            number=each.number,
            net=each.net,
            at=each.at,
            way=ways.channels[-1].way(each.at),
            told=f"terminal {each.number}",
            key="tail",
        )
        for each in found.terminals
    ]
    tail = shared_tail(design, board, [ends], ways.gap)
    pieces, place, numbers = [], dict(found.place), count(max(_numbers(found), default=0) + 1)
    reached = {end: number for number, end in found.place.items()}
    for piece in found.pieces:
        pieces.append(piece)
        number = reached.get(piece.end, 0)
        for trace in tail.leads[number].traces if number else ():
            start, place[number] = place[number], next(numbers)
            pieces.append(Piece(start=start, end=place[number], trace=trace))
    terminals = tuple(tail.leads[each.number].terminal for each in found.terminals)
    return replace(found, pieces=tuple(pieces), place=place, terminals=terminals, strip=tail.strip)


def _numbers(found: Joints) -> Iterator[int]:
    """Of all places that are no pins."""
    for piece in found.pieces:
        yield from (spot for spot in (piece.start, piece.end) if isinstance(spot, int))


@dataclass
class _Laid:
    """Joints while they are laid out along their ways."""

    ways: Ways
    pieces: list[Piece] = field(default_factory=list)
    barrels: list[Barrel] = field(default_factory=list)
    terminals: list[Terminal] = field(default_factory=list)
    place: dict[int, Spot] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._numbers = count()

    @cached_property
    def _bottom(self) -> int:
        return self.ways.design.board.stackup.layers

    def joints(self) -> Joints:
        """All nodes of the array."""
        for node in self.ways.nodes:
            if self.ways.neighbours(node):
                self._bend(node)
            else:
                self._joined(node)
        design, coils = self.ways.design, self.ways.coils
        return Joints(
            nodes=self.ways.nodes,
            pins=tuple(
                _pin(design, k, coil.terminals[end].at) for k, coil in enumerate(coils) for end in (0, 1)
            ),
            barrels=tuple(self.barrels),
            pieces=tuple(self.pieces),
            terminals=tuple(sorted(self.terminals, key=lambda each: each.number)),
            place=self.place,
        )

    def _bend(self, node: Node) -> None:
        """Two neighbouring pins: out, along and back, on the top."""
        (row,) = self.ways.rows_of(node)
        line, (first, last) = self.ways.channels[row], self.ways.pins_at(node, row)
        start, end = line.span([self.ways.along[first], self.ways.along[last]])
        out = self.ways.out(0)
        path = Path(
            (
                Line(line.at(start, 0.0), line.at(start, out)),
                line.run(start, end, out),
                Line(line.at(end, out), line.at(end, 0.0)),
            )
        )
        self.pieces.append(Piece(start=first, end=last, trace=self._trace(1, path, node)))

    def _joined(self, node: Node) -> None:
        """Spurs of all pins of a node, a track in each channel, its trunk, and the way to its terminal."""
        on_trunk: list[tuple[Spot, Point]] = []
        for row in self.ways.rows_of(node):
            on_trunk += self._in_channel(node, row)
        if node.terminal is not None and self.ways.ends_on_trunk(node):
            on_trunk.append(self._terminal(node, node.terminal))
        for (start, one), (end, other) in pairwise(on_trunk):
            self._straight(node, 1, (start, one), (end, other))

    def _in_channel(self, node: Node, row: int) -> list[tuple[Spot, Point]]:
        """Spurs and track of a node in one channel; where they meet its trunk, if it has one."""
        line, pins = self.ways.channels[row], self.ways.pins_at(node, row)
        span = line.span(self.ways.places(node, row))
        along = {pin: line.following(self.ways.along[pin], span) for pin in pins}
        track = self.ways.tracks.get((node, row))
        if track is None:
            (pin,) = pins
            self._to_terminal(node, row, along[pin], (pin, line.at(along[pin], 0.0)))
            return []
        out = self.ways.out(track)
        on_track: list[tuple[float, Spot]] = []
        for pin in pins:
            top, bottom = self._via(node, line.at(along[pin], out))
            self._straight(node, 1, (pin, line.at(along[pin], 0.0)), (top, line.at(along[pin], out)))
            on_track.append((along[pin], bottom))
            self._to_terminal(node, row, along[pin], (top, line.at(along[pin], out)))
        met: list[tuple[Spot, Point]] = []
        if node in self.ways.trunks:
            at = line.at(self.ways.trunks[node], out)
            top, bottom = self._via(node, at)
            on_track.insert(0, (self.ways.trunks[node], bottom))
            met.append((top, at))
        self._track(node, line, out, on_track)
        return met

    def _track(self, node: Node, line: Channel, out: float, places: Sequence[tuple[float, Spot]]) -> None:
        """Along the bottom from place to place."""
        for (one, start), (other, end) in pairwise(places):
            run = Path((line.run(one, other, out),))
            self.pieces.append(Piece(start=start, end=end, trace=self._trace(self._bottom, run, node)))

    def _to_terminal(self, node: Node, row: int, along: float, start: tuple[Spot, Point]) -> None:
        """On from a pin or its via to the node's terminal, where that stands there."""
        line, last = self.ways.channels[row], len(self.ways.channels) - 1
        at = self.ways.terminal_places.get(node)
        if node.terminal is None or at is None or row != last or not line.same(at, along):
            return
        if node.terminal not in self.place:
            self._straight(node, 1, start, self._terminal(node, node.terminal, along))

    def _terminal(self, node: Node, number: int, along: float | None = None) -> tuple[Spot, Point]:
        """A terminal of the board, and where it stands."""
        told, ways = self.ways.design.terminals, self.ways
        at = ways.channels[-1].at(ways.terminal_places[node] if along is None else along, ways.terminal_out)
        self.terminals.append(
            Terminal(number=number, at=at, pad=told.pad, drill=told.drill, layer=1, net=node.net)
        )
        self.place[number] = next(self._numbers)
        return self.place[number], at

    def _straight(self, node: Node, layer: int, start: tuple[Spot, Point], end: tuple[Spot, Point]) -> None:
        path = Path((Line(start[1], end[1]),))
        self.pieces.append(Piece(start=start[0], end=end[0], trace=self._trace(layer, path, node)))

    def _trace(self, layer: int, path: Path, node: Node) -> Trace:
        return Trace(layer=layer, path=path, width=self.ways.width, net=node.net)

    def _via(self, node: Node, at: Point) -> tuple[Spot, Spot]:
        """A via, by its places on the top and on the bottom."""
        via, top, bottom = self.ways.design.via, next(self._numbers), next(self._numbers)
        barrel = Via(at=at, drill=via.drill, pad=via.pad, joins=(1, self._bottom), net=node.net)
        self.barrels.append(Barrel(top=top, bottom=bottom, via=barrel))
        return top, bottom


def _pin(design: Design, coil: int, at: Point) -> Via:
    """Where a coil's lead ends."""
    layers = tuple(range(1, design.board.stackup.layers + 1))
    return Via(at=at, drill=design.via.drill, pad=design.via.pad, joins=layers, net=net_of(design, coil))


def joined(coils: Sequence[Coil], joints: Joints, nets: Sequence[str]) -> tuple[Coil, ...]:
    """Each coil with its leads ending in pins in place of terminals, on the net that it is part of."""
    return tuple(
        replace(
            coil,
            traces=tuple(replace(trace, net=net) for trace in coil.traces),
            vias=(*(replace(via, net=net) for via in coil.vias), *joints.pins[2 * k : 2 * k + 2]),
            terminals=(),
        )
        for k, (coil, net) in enumerate(zip(coils, nets, strict=True))
    )


def merged(coils: Sequence[Coil], joints: Joints) -> Coil:
    """Coils and what joins them as one: the coils' traces first, coil by coil."""
    return Coil(
        traces=(
            *(trace for coil in coils for trace in coil.traces),
            *(piece.trace for piece in joints.pieces),
        ),
        vias=(*(via for coil in coils for via in coil.vias), *(each.via for each in joints.barrels)),
        terminals=joints.terminals,
        pockets=tuple(dict.fromkeys(pocket for coil in coils for pocket in coil.pockets)),
        turns=sum(coil.turns for coil in coils),
        says=coils[0].says,
        tail=joints.strip,
    )
