"""Copper that joins the coils of an array: phases in series or parallel, star point, delta, terminals.

Each coil's leads end in two plated holes, its pins, all in one row along the ring or the row of coils. Beyond
them lies a channel: spurs run straight out of the pins on the top layer, tracks along the row on the bottom
layer, a via where a spur meets its track. Spurs keep apart as the pins do and tracks keep apart by their
places, so nothing crosses. Two neighbouring pins are joined on the top layer alone.
"""

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from coilgen.design.design import Design
from coilgen.design.phases import LETTERS
from coilgen.errors import DesignError
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Terminal, Trace, Via
from coilgen.units import in_mm

START, END = 0, 1
_NEAR = 1e-7
"""m, within which places along the row are one."""


@dataclass(frozen=True, order=True)
class Pin:
    """One end of a coil's winding: the coil, from 0, and START or END by the sense of its current."""

    coil: int
    end: int


@dataclass(frozen=True, kw_only=True)
class Node:
    """Pins that copper joins, and the number of the board's terminal that goes with them, if one does."""

    pins: tuple[Pin, ...]
    terminal: int | None
    net: str


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A run of a joint's copper between two of its places: pins, and numbers of further places."""

    start: "Pin | int"
    end: "Pin | int"
    trace: Trace


@dataclass(frozen=True, kw_only=True)
class Joints:
    """All that joins the coils of an array.

    pins: where each is, as vias of the coils' leads. vias: those of tracks. place: of the board's terminal of
    a number, among the places that pieces run between.
    """

    nodes: tuple[Node, ...]
    pins: tuple[Via, ...]
    vias: tuple[Via, ...]
    pieces: tuple[Piece, ...]
    terminals: tuple[Terminal, ...]
    place: dict[int, "Pin | int"]


def net_of(design: Design, coil: int) -> str:
    """The net of a coil: of its phase, or of all phases that are joined."""
    array = design.array
    assert array is not None
    if array.connection == "open":
        return LETTERS[design.windings[coil].phase]
    return LETTERS[: array.phase_count]


def nodes_of(design: Design) -> tuple[Node, ...]:
    """Which pins are joined, from phase A on; terminals count with the phases."""
    array = design.array
    assert array is not None
    found: list[Node] = []
    firsts: list[tuple[Pin, ...]] = []
    lasts: list[tuple[Pin, ...]] = []
    for phase in range(array.phase_count):
        own = [k for k, each in enumerate(design.windings) if each.phase == phase]
        net = net_of(design, own[0])
        if array.coils == "parallel":
            firsts.append(tuple(Pin(k, START) for k in own))
            lasts.append(tuple(Pin(k, END) for k in own))
            continue
        firsts.append((Pin(own[0], START),))
        lasts.append((Pin(own[-1], END),))
        found += [
            Node(pins=(Pin(one, END), Pin(other, START)), terminal=None, net=net)
            for one, other in pairwise(own)
        ]
    net = net_of(design, 0)
    for phase, (first, last) in enumerate(zip(firsts, lasts, strict=True)):
        if array.connection == "open":
            own_net = net_of(design, first[0].coil)
            found.append(Node(pins=first, terminal=2 * phase + 1, net=own_net))
            found.append(Node(pins=last, terminal=2 * phase + 2, net=own_net))
        elif array.connection == "star":
            found.append(Node(pins=first, terminal=phase + 1, net=net))
        else:
            found.append(Node(pins=(*lasts[phase - 1], *first), terminal=phase + 1, net=net))
    if array.connection == "star":
        found.append(Node(pins=tuple(pin for last in lasts for pin in last), terminal=None, net=net))
    return tuple(found)


@dataclass(frozen=True)
class Channel:
    """Places beside a ring or a row of coils: along it, m on a row and rad on a ring, and out of it, m.

    pins: distance of their row from the ring's centre or the row's middle line, m. outward: 1, or -1 where
    the channel lies within the ring or above the row.
    """

    ring: bool
    pins: float
    outward: int

    def at(self, along: float, out: float) -> Point:
        """The place so far along, and so far beyond the pins."""
        away = self.pins + self.outward * out
        return cmath.rect(away, along) if self.ring else complex(along, -away)

    def along(self, at: Point) -> float:
        """Of a place, on a ring from 0 to a whole turn."""
        return cmath.phase(at) % math.tau if self.ring else at.real

    def run(self, start: float, end: float, out: float) -> Segment:
        """Along the row from one place to another beyond it."""
        if self.ring:
            return Arc(0j, self.pins + self.outward * out, start, end - start)
        return Line(self.at(start, out), self.at(end, out))

    def length(self, along: float, out: float) -> float:
        """Of a step along the row, m."""
        return along * (self.pins + self.outward * out) if self.ring else along


@dataclass(frozen=True)
class _Router:
    design: Design
    coils: Sequence[Coil]

    @cached_property
    def width(self) -> float:
        array = self.design.array
        assert array is not None
        return array.joint_width or self.design.windings[0].design.winding.trace_width

    @cached_property
    def gap(self) -> float:
        own = self.design.windings[0].design
        return max(own.winding.trace_spacing, own.rules.limit("trace_spacing"))

    @cached_property
    def half(self) -> float:
        """Half of the copper's size across a via on a track."""
        return max(self.design.via.pad, self.width) / 2

    @cached_property
    def step(self) -> float:
        """From track to track, and from the pins to the first."""
        holes = self.design.via.drill + self.design.rules.limit("hole_to_hole")
        return max(2 * self.half + self.gap, holes)

    @cached_property
    def channel(self) -> Channel:
        array = self.design.array
        assert array is not None
        inside = array.joints in ("inside", "above")
        away = [self._away(terminal.at) for coil in self.coils for terminal in coil.terminals]
        if array.arrangement == "ring":
            return Channel(True, away[0], -1 if inside else 1)
        return Channel(False, away[0], -1 if inside else 1)

    def _away(self, at: Point) -> float:
        array = self.design.array
        return abs(at) if array is not None and array.arrangement == "ring" else -at.imag

    @cached_property
    def places(self) -> dict[Pin, float]:
        """How far along the row each pin is."""
        return {
            Pin(k, end): self.channel.along(coil.terminals[self._terminal(k, end)].at)
            for k, coil in enumerate(self.coils)
            for end in (START, END)
        }

    def _terminal(self, coil: int, end: int) -> int:
        return end if self.design.windings[coil].sense > 0 else 1 - end

    def span(self, node: Node) -> tuple[float, float]:
        """The shortest stretch along the row that holds a node's pins; on a ring its end may pass a turn."""
        along = sorted(self.places[pin] for pin in node.pins)
        if not self.channel.ring:
            return along[0], along[-1]
        gaps = [
            after - before for before, after in zip(along, [*along[1:], along[0] + math.tau], strict=True)
        ]
        widest = gaps.index(max(gaps))
        start = along[(widest + 1) % len(along)]
        return start, start + math.tau - gaps[widest]

    def within(self, at: float, span: tuple[float, float], margin: float = 0.0) -> bool:
        """Whether a place lies in a stretch, or so near to it."""
        start, end = span[0] - margin, span[1] + margin
        return start <= at <= end or (self.channel.ring and (at - start) % math.tau <= end - start)

    def neighbours(self, node: Node) -> bool:
        """Whether a node is two pins with none between, which need no track of their own."""
        if len(node.pins) != 2 or node.terminal is not None:
            return False
        span = self.span(node)
        return not any(self.within(along, span) for pin, along in self.places.items() if pin not in node.pins)

    @cached_property
    def tracks(self) -> dict[Node, int]:
        """Which track each node runs on, from 0: the nearest to the pins that is free all along its span."""
        taken: list[list[tuple[float, float]]] = []
        found: dict[Node, int] = {}
        margin = self.step / max(self.channel.length(1.0, 0.0), _NEAR) if self.channel.ring else self.step
        margin = 2 * margin if self.channel.outward < 0 else margin
        wanted = [node for node in self.nodes if len(node.pins) > 1 and not self.neighbours(node)]
        for node in sorted(wanted, key=lambda node: self.span(node)):
            span = self.span(node)
            for track, spans in enumerate([*taken, []]):
                if not any(self._meet(span, other, margin) for other in spans):
                    found[node] = track
                    break
            if found[node] == len(taken):
                taken.append([])
            taken[found[node]].append(span)
        return found

    def _meet(self, one: tuple[float, float], other: tuple[float, float], margin: float) -> bool:
        return self.within(one[0], other, margin) or self.within(other[0], one, margin)

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        return nodes_of(self.design)

    def out(self, track: int) -> float:
        """How far beyond the pins a track lies."""
        return (track + 1) * self.step

    @cached_property
    def rows(self) -> int:
        """Places for tracks that are needed; joints of neighbours take the first."""
        near = any(self.neighbours(node) for node in self.nodes)
        return max([int(near), *(track + 1 for track in self.tracks.values())])

    @cached_property
    def terminal_out(self) -> float:
        """How far beyond the pins the board's terminals stand."""
        terminals, rules = self.design.terminals, self.design.rules
        clear = max(self.gap, rules.limit("mask_opening"))
        holes = (self.design.via.drill + terminals.drill) / 2 + rules.limit("hole_to_hole")
        beyond = self.half + clear + max(terminals.pad, self.width) / 2
        return self.rows * self.step + max(beyond, holes if terminals.drill else 0.0)

    @cached_property
    def terminal_pins(self) -> dict[Node, Pin]:
        """Which of a node's pins its terminal stands at: the farthest from those of other terminals."""
        chosen: dict[Node, Pin] = {}
        for node in sorted(self.nodes, key=lambda node: len(node.pins)):
            if node.terminal is None:
                continue
            others = [self.places[pin] for pin in chosen.values()]
            chosen[node] = max(node.pins, key=lambda pin: self._lonely(self.places[pin], others))
        return chosen

    def _lonely(self, at: float, others: Iterable[float]) -> float:
        apart = [abs(at - other) for other in others]
        if self.channel.ring:
            apart = [min(each, math.tau - each) for each in apart]
        return round(min(apart, default=0.0), 9)

    def joints(self) -> Joints:
        pieces: list[Piece] = []
        vias: list[Via] = []
        terminals: list[Terminal] = []
        place: dict[int, Pin | int] = {}
        for node in self.nodes:
            if self.neighbours(node):
                pieces.append(self._bend(node))
                continue
            branches = self._branches(node, first=-1 - 100 * len(place) - 1000 * len(pieces))
            pieces += branches.pieces
            vias += branches.vias
            if node.terminal is not None:
                terminals.append(self._terminal_of(node))
                place[node.terminal] = branches.terminal
        return Joints(
            nodes=self.nodes,
            pins=tuple(
                self._pin_via(k, coil, end) for k, coil in enumerate(self.coils) for end in (START, END)
            ),
            vias=tuple(vias),
            pieces=tuple(pieces),
            terminals=tuple(sorted(terminals, key=lambda each: each.number)),
            place=place,
        )

    def _pin_via(self, k: int, coil: Coil, end: int) -> Via:
        terminal = coil.terminals[end]
        layers = range(1, self.design.board.stackup.layers + 1)
        via = self.design.via
        return Via(
            at=terminal.at, drill=via.drill, pad=via.pad, joins=tuple(layers), net=net_of(self.design, k)
        )

    def _bend(self, node: Node) -> Piece:
        """Two neighbouring pins: out, along and back, on the top."""
        start, end = self.span(node)
        first, last = sorted(node.pins, key=lambda pin: not self._same(self.places[pin], start))
        out = self.out(0)
        path = Path(
            (
                Line(self.channel.at(start, 0.0), self.channel.at(start, out)),
                self.channel.run(start, end, out),
                Line(self.channel.at(end, out), self.channel.at(end, 0.0)),
            )
        )
        return Piece(start=first, end=last, trace=self._trace(1, path, node.net))

    def _same(self, one: float, other: float) -> bool:
        return (
            abs(cmath.phase(cmath.rect(1.0, one - other))) < _NEAR
            if self.channel.ring
            else abs(one - other) < _NEAR
        )

    def _trace(self, layer: int, path: Path, net: str) -> Trace:
        return Trace(layer=layer, path=path, width=self.width, net=net)

    def _branches(self, node: Node, first: int) -> "_Branches":
        """Spurs of all pins of a node, its track from via to via, and the way out to its terminal."""
        out = self.out(self.tracks[node]) if node in self.tracks else None
        at_terminal = self.terminal_pins.get(node)
        found = _Branches(pieces=[], vias=[], terminal=first)
        start, _ = self.span(node)
        along = {
            pin: start + (self.places[pin] - start) % math.tau if self.channel.ring else self.places[pin]
            for pin in node.pins
        }
        ordered = sorted(
            node.pins, key=lambda pin: along[pin] if abs(along[pin] - start - math.tau) > _NEAR else start
        )
        for number, pin in enumerate(ordered):
            here = first - 1 - number
            ends = [self.channel.at(along[pin], 0.0)]
            if out is not None:
                ends.append(self.channel.at(along[pin], out))
                found.pieces.append(self._spur(node, ends[-2:], pin, here))
                found.vias.append(self._via(ends[-1], node.net))
            if pin == at_terminal:
                ends.append(self.channel.at(along[pin], self.terminal_out))
                found.pieces.append(self._spur(node, ends[-2:], here if out is not None else pin, first))
        for number, (one, other) in enumerate(pairwise(ordered)):
            assert out is not None, "pins of a node meet on its track"
            run = Path((self.channel.run(along[one], along[other], out),))
            bottom = self.design.board.stackup.layers
            found.pieces.append(
                Piece(
                    start=first - 1 - number, end=first - 2 - number, trace=self._trace(bottom, run, node.net)
                )
            )
        return found

    def _spur(self, node: Node, ends: Sequence[Point], start: "Pin | int", end: int) -> Piece:
        return Piece(start=start, end=end, trace=self._trace(1, Path((Line(*ends),)), node.net))

    def _via(self, at: Point, net: str) -> Via:
        via = self.design.via
        return Via(at=at, drill=via.drill, pad=via.pad, joins=(1, self.design.board.stackup.layers), net=net)

    def _terminal_of(self, node: Node) -> Terminal:
        assert node.terminal is not None
        told = self.design.terminals
        return Terminal(
            number=node.terminal,
            at=self.channel.at(self.places[self.terminal_pins[node]], self.terminal_out),
            pad=told.pad,
            drill=told.drill,
            layer=1,
            net=node.net,
        )


@dataclass
class _Branches:
    pieces: list[Piece]
    vias: list[Via]
    terminal: int


def joints(design: Design, coils: Sequence[Coil]) -> Joints:
    """What joins the coils of an array where they lie; DesignError where there is no way or no room."""
    router = _Router(design, coils)
    _refuse_without_way(design, coils, router)
    return router.joints()


def _refuse_without_way(design: Design, coils: Sequence[Coil], router: _Router) -> None:
    assert design.array is not None
    if len(
        {terminal.layer for coil in coils for terminal in coil.terminals} - {1, design.board.stackup.layers}
    ) or any("inside the winding" in said for said in coils[0].says):
        says = (
            f'"{design.array.coils}" needs both ends of each coil outside of it, and these end inside: '
            "give the stack-up a copper layer more than is wound, or wind an even number of layers"
        )
        raise DesignError.at("array.coils", says)
    deepest = router.terminal_out + design.terminals.pad / 2
    if router.channel.outward < 0 and router.channel.ring and deepest > router.channel.pins:
        says = (
            f"joints and terminals take {in_mm(deepest)} within the ring of pins, which has a radius of "
            f"{in_mm(router.channel.pins)}: enlarge the ring, lower joint_width or pads, or route outside"
        )
        raise DesignError.at("array.joints", says)


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
        vias=(*(via for coil in coils for via in coil.vias), *joints.vias),
        terminals=joints.terminals,
        pockets=tuple(dict.fromkeys(pocket for coil in coils for pocket in coil.pockets)),
        turns=sum(coil.turns for coil in coils),
        says=coils[0].says,
    )
