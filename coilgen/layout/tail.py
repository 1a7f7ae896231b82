"""The tail of a board: its outline, leads down it, terminals at its end. The tail runs south here.

A coil comes wound, its leads ending beside the winding; terminal 1 in the west of a counter-clockwise coil.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

from coilgen.design.board import Board, Terminals
from coilgen.design.tail import Tail
from coilgen.errors import DesignError
from coilgen.geometry.closed import rectangle
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.notched import circle_with_strip, filleted
from coilgen.geometry.path import Path, polyline
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Finger, TailStrip, Terminal, Trace, Via
from coilgen.layout.edge import edge, stepped
from coilgen.layout.lengths import ALONG, QUARTERS, Lengths
from coilgen.units import in_mm

_CORNER = 0.5e-3
"""Radius of the tail's outer corners, m, where its width has room; common practice, no source."""
_PITCHES_BESIDE = 1
"""Of contact fingers, from the outer one's middle to the tail's edge; common practice, no source."""


def with_tail(lengths: Lengths, coil: Coil, *, changes: bool) -> Coil:
    """The coil led down its tail. changes: whether the second lead comes up to the top at the tail's end."""
    made = _Tail(lengths, coil, changes)
    made.refuse_without_room()
    first, last = made.lead(0), made.lead(1)
    return replace(
        coil,
        traces=(replace(first[0], path=first[0].path.reversed()), *coil.traces, *last),
        vias=(*coil.vias, *made.vias),
        terminals=(made.terminal(0), made.terminal(1)),
        parallel=tuple(index + 1 for index in coil.parallel),
        tail=made.strip,
    )


@dataclass(frozen=True)
class _Tail:
    lengths: Lengths
    coil: Coil
    changes: bool

    @property
    def tail(self) -> Tail:
        assert self.lengths.design.tail is not None, "only a design with a tail gets one"
        return self.lengths.design.tail

    @property
    def terminals(self) -> Terminals:
        return self.lengths.design.terminals

    @property
    def fingers(self) -> bool:
        return self.terminals.kind == "contact-fingers"

    @property
    def margin(self) -> float:
        return self.lengths.design.rules.limit("copper_to_edge")

    @property
    def lead_width(self) -> float:
        return self.lengths.lead_width

    @property
    def middle(self) -> float:
        """x of the tail's middle line."""
        return self.tail.offset * ALONG[self.tail.side]

    @property
    def hand(self) -> int:
        """-1 where terminal 1 is in the west."""
        return 1 if self.lengths.design.winding.direction == "clockwise" else -1

    @cached_property
    def head(self) -> Path:
        """The winding's part of the board."""
        board = _turned(self.lengths.design.board, self.tail)
        copper: list[tuple[Path | Point, float]] = [
            (trace.path, max(trace.width, self.lead_width) / 2) for trace in self.coil.traces
        ]
        copper += [(via.at, via.pad / 2) for via in self.coil.vias]
        found = edge(board, copper, self.margin)
        assert found is not None, "a board without an outline has no tail"
        return found

    @cached_property
    def begin(self) -> float:
        """y of the head's edge."""
        return extent(self.head)[0].imag

    @property
    def end(self) -> float:
        """y of the tail's end."""
        return self.begin - self.tail.length

    @cached_property
    def needed(self) -> float:
        """Least width: that of leads or of terminals, with margins."""
        leads = self.lead_width
        tracks = self.lengths.tracks
        if tracks is not None:
            leads += abs(tracks[1] - tracks[0])
        pitches = (self.terminals.count_of_fingers - 1) if self.fingers else 1
        return max(leads, pitches * self.terminals.pitch + self.terminals.pad) + 2 * self.margin

    @cached_property
    def width(self) -> float:
        """As asked, or what is needed; DesignError for less than that."""
        asked = self.tail.width
        if asked is None:
            beside = (self.terminals.count_of_fingers + 2 * _PITCHES_BESIDE - 1) * self.terminals.pitch
            return stepped(max(self.needed, beside if self.fingers else 0.0))
        if asked < self.needed - 1e-9:
            what = "contact fingers" if self.fingers else "leads and pads"
            says = (
                f"{in_mm(asked)} is narrower than its {what} and the shop's {in_mm(self.margin)} of board "
                f"beside them: give at least {in_mm(_up(self.needed))}, or leave it out"
            )
            raise DesignError.at("tail.width", says)
        return asked

    @property
    def tip(self) -> float:
        """y of the copper's end."""
        return self.end + self.margin

    @property
    def cover(self) -> float:
        """y of the coverlay's edge at contact fingers."""
        return self.tip + self.terminals.finger_length

    @property
    def held(self) -> float:
        """How far a finger goes on under the coverlay, to the middle of its round end, m."""
        return self.lengths.design.rules.limit("coverlay_hold") or self.lengths.gap

    @property
    def foot(self) -> float:
        """y where leads reach terminals: the roots' middle of fingers, the pads' middle."""
        if self.fingers:
            return self.cover + self.held + self.terminals.pad / 2
        return self.tip + self.terminals.pad / 2

    @property
    def row(self) -> float:
        """y where leads leave their tracks for their terminals."""
        half = max(self.terminals.pad, self.lead_width) / 2
        own = max(self.lead_width / 2, self.lengths.via_half if self.changes else 0.0)
        return self.foot + half + max(self.lengths.gap, self.lengths.terminal_gap) + own

    @property
    def first_row(self) -> float:
        """y where the first of them does: past vias that the other comes up by."""
        if not self.changes:
            return self.row
        return self.row + self.lengths.via_half + self.lengths.gap + self.lead_width / 2

    @property
    def slant(self) -> float:
        """y where a lead that comes up leaves its track, aslant, for its vias."""
        if not self.changes:
            return self.row
        return self.row + abs(self._row[0].real - self.coil.terminals[1].at.real)

    @property
    def straight(self) -> float:
        """y down to which leads keep to their tracks."""
        return max(self.first_row, self.slant)

    def refuse_without_room(self) -> None:
        """DesignError for a tail that is too short, or that misses the winding's part of the board."""
        deepest = min(terminal.at.imag for terminal in self.coil.terminals)
        needed = self.straight - self.end
        least = max(needed, needed + self.begin - deepest + self.lead_width)
        if self.tail.length < least - 1e-9:
            says = (
                f"{in_mm(self.tail.length)} has no room for the terminals at its end: give at least "
                f"{in_mm(_up(least))}"
            )
            raise DesignError.at("tail.length", says)

    def lead(self, which: int) -> tuple[Trace, ...]:
        """Down the tail to terminal 1 (0) or 2 (1); with a part on the top for a lead that comes up."""
        start, x = self.coil.terminals[which].at, self._reached(which).real
        layer, net = self.coil.terminals[which].layer, self.coil.terminals[which].net
        row = self.row if which else self.first_row
        aside, foot, track = complex(x, row), complex(x, self.foot), complex(start.real, row)

        def trace(layer: int, *points: Point) -> Trace:
            return Trace(
                layer=layer, path=Path(polyline(points)), width=self.lead_width, net=net, is_lead=True
            )

        if which and self.changes:
            last, slant = self.coil.traces[-1].layer, complex(start.real, self.slant)
            return trace(last, start, slant, *self._row), trace(1, *self._row[::-1], foot)
        return (trace(layer, start, track, aside, foot),)

    @property
    def _row(self) -> tuple[Point, ...]:
        """Parallel vias of a lead that comes up, outward from above its terminal."""
        first = complex(self._reached(1).real, self.row)
        step = -self.hand * self.lengths.via_step
        return tuple(first + k * step for k in range(self.lengths.design.via.count))

    @property
    def vias(self) -> tuple[Via, ...]:
        if not self.changes:
            return ()
        via, last = self.lengths.design.via, self.coil.traces[-1].layer
        net = self.coil.terminals[1].net
        return tuple(Via(at=at, drill=via.drill, pad=via.pad, joins=(last, 1), net=net) for at in self._row)

    def terminal(self, which: int) -> Terminal:
        """Terminal 1 (0) or 2 (1) at the tail's end."""
        wound, own = self.coil.terminals[which], self._own(which)
        layer = 1 if self.terminals.kind != "plated-hole" else wound.layer
        at = own[0].at if own else complex(self._reached(which).real, self.foot)
        return replace(wound, at=at, layer=layer, fingers=own)

    def _reached(self, which: int) -> Point:
        """The finger or pad that a lead ends at."""
        if self.fingers:
            return self._own(which)[0].at
        return complex(self.middle + (-1, 1)[which] * -self.hand * self.terminals.pitch / 2, self.foot)

    def _own(self, which: int) -> tuple[Finger, ...]:
        """Of a terminal: first the finger nearest to the tail's middle, or the farthest where vias are."""
        if not self.fingers:
            return ()
        named = zip(self._all_fingers, self.terminals.finger_terminals, strict=True)
        own = [finger for finger, terminal in named if terminal == which + 1]
        far = -1 if which and self.changes else 1
        return tuple(sorted(own, key=lambda finger: far * abs(finger.at.real - self.middle)))

    @cached_property
    def _all_fingers(self) -> tuple[Finger, ...]:
        count, pad, root = self.terminals.count_of_fingers, self.terminals.pad, self.foot
        tip = self.tip + pad / 2
        return tuple(
            Finger(
                at=complex(
                    self.middle - self.hand * (k - (count - 1) / 2) * self.terminals.pitch, (root + tip) / 2
                ),
                span=complex(0.0, tip - root),
                width=pad,
                number=k + 1,
            )
            for k in range(count)
        )

    @property
    def _idle(self) -> tuple[Finger, ...]:
        if not self.fingers:
            return ()
        named = zip(self._all_fingers, self.terminals.finger_terminals, strict=True)
        return tuple(finger for finger, terminal in named if not terminal)

    @property
    def strip(self) -> TailStrip:
        """The tail as it lies on the board."""
        half = self.width / 2
        return TailStrip(
            origin=complex(self.middle, self.begin),
            out=-1j,
            length=self.tail.length,
            width=self.width,
            head=self.head,
            outline=self._outline(half),
            terminals_from=self.begin - self.straight,
            window=self._window(half) if self.fingers else None,
            idle_fingers=self._idle,
        )

    def _window(self, half: float) -> Path:
        """From the coverlay's edge to beyond the tail's end, over its whole width."""
        low, high = self.end - self.margin, self.cover
        middle = complex(self.middle, (low + high) / 2)
        return rectangle(2 * (half + self.margin), high - low).moved(Isometry(shift=middle))

    def _outline(self, half: float) -> Path:
        """Of head and tail; DesignError where the tail is too far aside to leave the head."""
        low, high = extent(self.head)
        root, corner = self.tail.root_radius, min(_CORNER, half)
        strip = self.middle - half, self.middle + half
        board = self.lengths.design.board
        if board.outline == "round":
            centre, radius = (low + high) / 2, (high.real - low.real) / 2
            self._refuse_aside(abs(self.middle - centre.real) + half, radius)
            return circle_with_strip(centre, radius, strip, self.end, root, corner)
        straight = (high.real - low.real) / 2 - board.corner_radius
        self._refuse_aside(abs(self.middle - (low + high).real / 2) + half + root, straight)
        ends = [complex(strip[0], self.begin), complex(strip[0], self.end)]
        ends += [complex(strip[1], self.end), complex(strip[1], self.begin)]
        corners = [low, *ends, complex(high.real, low.imag), high, complex(low.real, high.imag)]
        cut = board.corner_radius
        return filleted(corners, [cut, root, corner, corner, root, cut, cut, cut])

    def _refuse_aside(self, needed: float, room: float) -> None:
        if needed <= room:
            return
        over = in_mm(_up(needed - room))
        says = (
            f"{in_mm(self.width)} with its rounded roots reaches {over} past the side of the board that it "
            "leaves: make the board larger, tail.offset or tail.root_radius smaller, or the tail narrower"
        )
        raise DesignError.at("tail.width" if self.tail.width is not None else "tail.offset", says)


def _turned(board: Board, tail: Tail) -> Board:
    """The board's table as it is where the tail runs south."""
    quarters = QUARTERS[tail.side]
    offset = Isometry(quarters=-quarters).point(board.centre)
    sides = (board.height, board.width) if quarters % 2 else (board.width, board.height)
    place = (offset.real, offset.imag) if board.offset else None
    return board.unchecked(offset=place, width=sides[0], height=sides[1])


def _up(length: float) -> float:
    """To the next hundredth of a millimetre."""
    return math.ceil(length * 1e5 - 1e-6) / 1e5
