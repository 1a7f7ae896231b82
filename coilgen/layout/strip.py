"""A tail as it lies on the board: outline, terminals at its end, the window at contact fingers.

The tail runs south here; the copper of the winding's part of the board is told.
"""

import math
from functools import cached_property

from coilgen.design.board import Board, Terminals
from coilgen.design.capability import Rules
from coilgen.design.tail import Tail
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.closed import rectangle
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.notched import circle_with_strip, filleted
from coilgen.geometry.path import Path
from coilgen.layout.coil import Finger, TailStrip
from coilgen.layout.edge import Stroked, edge, stepped
from coilgen.layout.lengths import ALONG, QUARTERS
from coilgen.units import in_mm

_CORNER = 0.5e-3
"""Radius of the tail's outer corners, m, where its width has room; common practice, no source."""
_PITCHES_BESIDE = 1
"""Of contact fingers, from the outer one's middle to the tail's edge; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A tail with room for its leads and terminals.

    board: as it was asked for. copper: of the winding's part. leads: width of all that run down it, m. gap:
    between pieces of copper. order: the terminal of each finger, from hand (-1: the west) on.
    """

    board: Board
    tail: Tail
    terminals: Terminals
    rules: Rules
    copper: Stroked
    leads: float
    gap: float
    order: tuple[int, ...]
    hand: int = -1

    @property
    def fingers(self) -> bool:
        """Whether terminals are contact fingers."""
        return self.terminals.kind == "contact-fingers"

    @property
    def margin(self) -> float:
        """From copper to the board's edge, m."""
        return self.rules.limit("copper_to_edge")

    @property
    def terminal_gap(self) -> float:
        """Round a terminal's pad: its mask opening must not bare other copper."""
        return max(self.gap, self.rules.limit("mask_opening"))

    @property
    def middle(self) -> float:
        """x of the tail's middle line."""
        return self.tail.offset * ALONG[self.tail.side]

    @cached_property
    def head(self) -> Path:
        """The winding's part of the board."""
        found = edge(_turned(self.board, self.tail), self.copper, self.margin)
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

    @property
    def count(self) -> int:
        """Of fingers, or of pads."""
        return len(self.order) if self.fingers else len(set(self.order) - {0})

    @cached_property
    def needed(self) -> float:
        """Least width: that of leads or of terminals, with margins."""
        row = (self.count - 1) * self.terminals.pitch + self.terminals.pad
        return max(self.leads, row) + 2 * self.margin

    @cached_property
    def width(self) -> float:
        """As asked, or what is needed; DesignError for less than that."""
        asked = self.tail.width
        if asked is None:
            beside = (self.count + 2 * _PITCHES_BESIDE - 1) * self.terminals.pitch
            return stepped(max(self.needed, beside if self.fingers else 0.0))
        if asked < self.needed - 1e-9:
            what = "contact fingers" if self.fingers else "leads and pads"
            says = (
                f"{in_mm(asked)} is narrower than its {what} and the shop's {in_mm(self.margin)} of board "
                f"beside them: give at least {in_mm(up(self.needed))}, or leave it out"
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
        return self.rules.limit("coverlay_hold") or self.gap

    @property
    def foot(self) -> float:
        """y where leads reach terminals: the roots' middle of fingers, the pads' middle."""
        if self.fingers:
            return self.cover + self.held + self.terminals.pad / 2
        return self.tip + self.terminals.pad / 2

    def row(self, lead_width: float, half: float) -> float:
        """y of the lowest row of leads of a width on their way to terminals; half: of what is in it, m."""
        terminal = max(self.terminals.pad, lead_width) / 2
        return self.foot + terminal + self.terminal_gap + half

    def refuse_short(self, straight: float, deepest: float, lead_width: float) -> None:
        """DesignError for a tail that is too short for what stands at its end.

        straight: y down to which leads keep to their tracks; deepest: where they come from.
        """
        needed = straight - self.end
        least = max(needed, needed + self.begin - deepest + lead_width)
        if self.tail.length < least - 1e-9:
            says = (
                f"{in_mm(self.tail.length)} has no room for the terminals at its end: give at least "
                f"{in_mm(up(least))}"
            )
            raise DesignError.at("tail.length", says)

    def x(self, place: int) -> float:
        """Of a finger or pad, counted from 0 from the hand on."""
        return self.middle - self.hand * (place - (self.count - 1) / 2) * self.terminals.pitch

    def fingers_of(self, terminal: int) -> tuple[Finger, ...]:
        """Contact fingers of a terminal, or idle ones (0), in their order from the hand on."""
        if not self.fingers:
            return ()
        return tuple(self._finger(k) for k, named in enumerate(self.order) if named == terminal)

    def _finger(self, place: int) -> Finger:
        pad, root = self.terminals.pad, self.foot
        tip = self.tip + pad / 2
        at = complex(self.x(place), (root + tip) / 2)
        return Finger(at=at, span=complex(0.0, tip - root), width=pad, number=place + 1)

    def laid(self, straight: float) -> TailStrip:
        """The tail as it lies on the board; DesignError where it misses the winding's part."""
        half = self.width / 2
        return TailStrip(
            origin=complex(self.middle, self.begin),
            out=-1j,
            length=self.tail.length,
            width=self.width,
            head=self.head,
            outline=self._outline(half),
            terminals_from=self.begin - straight,
            window=self._window(half) if self.fingers else None,
            idle_fingers=self.fingers_of(0),
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
        board = self.board
        aside = abs(self.middle - (low + high).real / 2) + half
        if board.outline == "round":
            centre, radius = (low + high) / 2, (high.real - low.real) / 2
            self._refuse_aside(aside, radius, 2 * aside)
            return circle_with_strip(centre, radius, strip, self.end, root, corner)
        cut = board.corner_radius
        self._refuse_aside(aside + root, (high.real - low.real) / 2 - cut, 2 * (aside + root + cut))
        ends = [complex(strip[0], self.begin), complex(strip[0], self.end)]
        ends += [complex(strip[1], self.end), complex(strip[1], self.begin)]
        corners = [low, *ends, complex(high.real, low.imag), high, complex(low.real, high.imag)]
        return filleted(corners, [cut, root, corner, corner, root, cut, cut, cut])

    def _refuse_aside(self, needed: float, room: float, least: float) -> None:
        """needed, room: from the middle of the board's side, m. least: of the side that has the room."""
        if needed <= room + 1e-12:
            return
        across = "width" if self.tail.side in ("north", "south") else "height"
        side = across if self.board.outline == "rectangle" else "size"
        wide = in_mm(self.width) if self.tail.width else f"left out, it is {in_mm(self.width)}, which"
        says = (
            f"{wide} with its rounded roots reaches {in_mm(up(needed - room))} past the side of the board "
            f"that it leaves: give board.{side} at least {in_mm(up(least))}, or make the tail narrower, or "
            "its offset or root_radius smaller"
        )
        raise DesignError.at("tail.width", says)


def _turned(board: Board, tail: Tail) -> Board:
    """The board's table as it is where the tail runs south."""
    quarters = QUARTERS[tail.side]
    offset = Isometry(quarters=-quarters).point(board.centre)
    sides = (board.height, board.width) if quarters % 2 else (board.width, board.height)
    place = (offset.real, offset.imag) if board.offset else None
    return board.unchecked(offset=place, width=sides[0], height=sides[1])


def up(length: float) -> float:
    """To the next hundredth of a millimetre."""
    return math.ceil(length * 1e5 - 1e-6) / 1e5
