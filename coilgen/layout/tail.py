"""One winding's leads down a tail, and its terminals at the tail's end. The tail runs south here.

A coil comes wound, its leads ending beside the winding; terminal 1 in the west of a counter-clockwise coil.
"""

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

from coilgen.design.board import Terminals
from coilgen.frozen import dataclass
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment, joined, polyline
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Finger, Terminal, Trace, Via
from coilgen.layout.lengths import Lengths
from coilgen.layout.strip import Strip


def with_tail(lengths: Lengths, coil: Coil, *, changes: bool) -> Coil:
    """The coil led down its tail. changes: whether the second lead comes up to the top at the tail's end."""
    made = _Tail(lengths, coil, changes)
    deepest = min(terminal.at.imag for terminal in coil.terminals)
    made.strip.refuse_short(made.straight, deepest, made.lead_width)
    first, last = made.lead(0), made.lead(1)
    return replace(
        coil,
        traces=(replace(first[0], path=first[0].path.reversed()), *coil.traces, *last),
        vias=(*coil.vias, *made.vias),
        terminals=(made.terminal(0), made.terminal(1)),
        parallel=tuple(index + 1 for index in coil.parallel),
        tail=made.strip.laid(made.straight),
    )


@dataclass(frozen=True)
class _Tail:
    lengths: Lengths
    coil: Coil
    changes: bool

    @property
    def terminals(self) -> Terminals:
        return self.lengths.design.terminals

    @property
    def lead_width(self) -> float:
        return self.lengths.lead_width

    @property
    def hand(self) -> int:
        """-1 where terminal 1 is in the west."""
        return 1 if self.lengths.design.winding.direction == "clockwise" else -1

    @cached_property
    def strip(self) -> Strip:
        """As wide as leads, terminals and the vias ask that a lead comes up by."""
        ways = [abs(at.real - self._bare.middle) for at in self._row] if self.changes else []
        across = 2 * max((way + self.lengths.via_half for way in ways), default=0.0)
        return replace(self._bare, leads=max(self._bare.leads, across))

    @cached_property
    def _bare(self) -> Strip:
        """The tail without these vias."""
        design, tracks = self.lengths.design, self.lengths.tracks
        assert design.tail is not None, "only a design with a tail gets one"
        assert tracks is not None, "leads run down a tail on tracks"
        copper: list[tuple[Path | Point, float]] = [
            (trace.path, max(trace.width, self.lead_width) / 2) for trace in self.coil.traces
        ]
        copper += [(via.at, via.pad / 2) for via in self.coil.vias]
        return Strip(
            board=design.board,
            tail=design.tail,
            terminals=self.terminals,
            rules=design.rules,
            copper=copper,
            leads=self.lead_width + abs(tracks[1] - tracks[0]),
            gap=self.lengths.gap,
            order=self.terminals.dealt(),
            hand=self.hand,
        )

    @property
    def row(self) -> float:
        """y where leads leave their tracks for their terminals."""
        own = max(self.lead_width / 2, self.lengths.via_half if self.changes else 0.0)
        return self._bare.row(self.lead_width, own)

    def turn(self, which: int) -> float:
        """y where lead 1 (0) or 2 (1) does: past vias that lead 2 comes up by, or past a finger's lead.

        A lead on its way to an inner finger comes near the other's track, which must have left it before.
        """
        if self.changes:
            return self.row + (
                0.0 if which else self.lengths.via_half + self.lengths.gap + self.lead_width / 2
            )
        room = self.lead_width + self.lengths.gap
        own_track, nearing = self.coil.terminals[which].at.real, self._reached(1 - which).real
        return self.row + (room if abs(nearing - own_track) < room else 0.0)

    @property
    def slant(self) -> float:
        """y where a lead that comes up leaves its track, aslant, for its vias."""
        if not self.changes:
            return self.row
        return self.row + abs(self._row[0].real - self.coil.terminals[1].at.real)

    @property
    def straight(self) -> float:
        """y down to which leads keep to their tracks."""
        return max(self.turn(0), self.turn(1), self.slant)

    def lead(self, which: int) -> tuple[Trace, ...]:
        """Down the tail to terminal 1 (0) or 2 (1); with a part on the top for a lead that comes up."""
        start, x = self.coil.terminals[which].at, self._reached(which).real
        layer, net = self.coil.terminals[which].layer, self.coil.terminals[which].net
        row = self.turn(which)
        aside, foot, track = complex(x, row), complex(x, self.strip.foot), complex(start.real, row)

        def trace(layer: int, *parts: Iterable[Segment]) -> Trace:
            return Trace(layer=layer, path=joined(*parts), width=self.lead_width, net=net, is_lead=True)

        if which and self.changes:
            last, slant, ways = self.coil.traces[-1].layer, complex(start.real, self.slant), self._row
            through = [Line(one, other) for one, other in pairwise(ways)]
            back = [line.reversed() for line in reversed(through)]
            return (
                trace(last, polyline([start, slant, ways[0]]), through),
                trace(1, back, polyline([ways[0], foot])),
            )
        return (trace(layer, polyline([start, track, aside, foot])),)

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
        at = own[0].at if own else complex(self._reached(which).real, self.strip.foot)
        return replace(wound, at=at, layer=layer, fingers=own)

    def _reached(self, which: int) -> Point:
        """The finger or pad that a lead ends at."""
        if self._bare.fingers:
            return self._own(which)[0].at
        return complex(self._bare.x(which), self._bare.foot)

    def _own(self, which: int) -> tuple[Finger, ...]:
        """Of a terminal: first the finger nearest to the tail's middle, or the farthest where vias are."""
        far = -1 if which and self.changes else 1
        own = self._bare.fingers_of(which + 1)
        return tuple(sorted(own, key=lambda finger: far * abs(finger.at.real - self._bare.middle)))
