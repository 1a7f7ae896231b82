"""Leads of several windings, or of an array's joined coils, down one tail, and their terminals at its end.

All run on the top: from a pin, a plated hole where the winding's end is on another layer, straight out to a
road round all copper, along it, down the tail and to a finger or pad, none across another.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from coilgen.design.design import Design
from coilgen.design.tail import Tail
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.distance import distances, pieces
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment, joined, polyline
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Finger, TailStrip, Terminal, Trace
from coilgen.layout.edge import Stroked, extent_of, radius_of
from coilgen.layout.lengths import ALONG, QUARTERS
from coilgen.layout.road import Port, Road, Round, Square, levels, order, runs
from coilgen.layout.strip import Strip


@dataclass(frozen=True, kw_only=True)
class End:
    """An end of a net that goes down the tail: its terminal's number, its net, its place and way out.

    told: for people, whose it is. key: of the design file, that turns it.
    """

    number: int
    net: str
    at: Point
    way: Point
    told: str
    key: str


@dataclass(frozen=True, kw_only=True)
class Led:
    """A lead down the tail: from its end to a taper as wide as its finger or pad allows; its terminal."""

    traces: tuple[Trace, ...]
    terminal: Terminal


@dataclass(frozen=True, kw_only=True)
class SharedTail:
    """Leads by the terminal's number, and the tail."""

    leads: dict[int, Led]
    strip: TailStrip


def shared_tail(design: Design, coil: Coil, groups: Sequence[Sequence[End]], gap: float) -> SharedTail:
    """The tail of a board whose copper lies in place.

    groups: ends that are led side by side, as those of a winding. gap: between pieces of copper, m.
    DesignError for what has no way or no room.
    """
    assert design.tail is not None, "only a design with a tail gets one"
    turn = Isometry(quarters=-QUARTERS[design.tail.side])
    turned = [[_turned(end, turn) for end in group] for group in groups]
    made = _Leads(design, coil.moved(turn), turned, gap)
    return made.found(Isometry(quarters=QUARTERS[design.tail.side]))


def _turned(end: End, turn: Isometry) -> End:
    return replace(end, at=turn.point(end.at), way=turn.point(end.way) - turn.point(0j))


@dataclass(frozen=True)
class _Leads:
    design: Design
    coil: Coil
    groups: Sequence[Sequence[End]]
    gap: float

    @property
    def width(self) -> float:
        widths = [trace.width for trace in self.coil.traces]
        return self.design.terminals.lead_width or max(widths)

    @property
    def apart(self) -> float:
        """Of leads on the road and on their way to terminals, from middle to middle, m."""
        return self.width + self.gap

    @property
    def track_step(self) -> float:
        return self.width + (self._tail.lead_spacing or self.gap)

    @property
    def stub(self) -> float:
        """Width at the tail's end: no wider than a finger or pad."""
        return min(self.width, self.design.terminals.pad)

    @cached_property
    def copper(self) -> Stroked:
        found: list[tuple[Path | Point, float]] = [(t.path, t.width / 2) for t in self.coil.traces]
        return [*found, *((via.at, max(via.pad, self.width) / 2) for via in self.coil.vias)]

    @cached_property
    def road(self) -> Road:
        """The nearest level: a gap off all copper, and as wide as the tracks."""
        off = self.gap + self.width / 2
        aside = max(abs(x - self._middle) for x in self.tracks) + self.apart
        if self.design.board.outline == "round":
            centre = self._turn.point(self.design.board.centre)
            least = abs(self._middle - centre.real) + aside
            radius = max(radius_of(self.copper, centre), least)
            return Round(centre=centre, radius=radius).wider(off)
        low, high = extent_of(self.copper)
        low = complex(min(low.real, self._middle - aside), low.imag)
        high = complex(max(high.real, self._middle + aside), high.imag)
        return Square(low=low, high=high).wider(off)

    @cached_property
    def ordered(self) -> list[tuple[float, End]]:
        """Ends with their places on the road, from its north on."""
        ports = [[Port(at=end.at, way=end.way) for end in group] for group in self.groups]
        return [(place, self.groups[group][k]) for place, group, k in order(self.road, ports)]

    @cached_property
    def tracks(self) -> tuple[float, ...]:
        """x of each lead down the tail, in their order."""
        count, step = sum(map(len, self.groups)), self.track_step
        return tuple(self._middle + (k - (count - 1) / 2) * step for k in range(count))

    @property
    def _middle(self) -> float:
        return self._tail.offset * ALONG[self._tail.side]

    @property
    def _tail(self) -> Tail:
        assert self.design.tail is not None, "only a design with a tail gets one"
        return self.design.tail

    @property
    def _turn(self) -> Isometry:
        """From the board's frame to this one."""
        return Isometry(quarters=-QUARTERS[self._tail.side])

    @cached_property
    def runs(self) -> list[tuple[Segment, ...]]:
        ports = [Port(at=end.at, way=end.way) for _, end in self.ordered]
        places = [place for place, _ in self.ordered]
        return runs(self.road, ports, places, self.tracks, self.apart)

    @cached_property
    def strip(self) -> Strip:
        """The tail, whose leads' order the fingers have."""
        design = self.design
        led: list[tuple[Path | Point, float]] = [(Path(run), self.width / 2) for run in self.runs if run]
        reached = [end.number for _, end in self.ordered]
        return Strip(
            board=design.board,
            tail=self._tail,
            terminals=design.terminals,
            rules=design.rules,
            copper=[*self.copper, *led],
            leads=self.width + self.tracks[-1] - self.tracks[0],
            gap=self.gap,
            order=self._fingers(reached),
        )

    def _fingers(self, reached: Sequence[int]) -> tuple[int, ...]:
        """The terminal of each finger or pad; DesignError for an order in which leads would cross."""
        terminals = self.design.terminals
        if terminals.kind != "contact-fingers":
            return tuple(reached)
        fingers = terminals.dealt(reached)
        if [each for each in dict.fromkeys(fingers) if each] != list(reached):
            says = (
                f"{list(fingers)} would make leads cross: seen with the tail's end down, they come from the "
                f"left in the order of terminals {', '.join(map(str, reached))}; give fingers in that order, "
                "or leave it out"
            )
            raise DesignError.at("terminals.fingers", says)
        return fingers

    def _own(self, number: int, x: float) -> tuple[Finger, ...]:
        """A terminal's fingers from the outer one that is nearer to its lead's track on."""
        own = self.strip.fingers_of(number)
        nearer = bool(own) and abs(own[-1].at.real - x) < abs(own[0].at.real - x)
        return own[::-1] if nearer else own

    @cached_property
    def targets(self) -> tuple[float, ...]:
        """x of the finger or pad that each lead reaches."""
        return tuple(
            own[0].at.real if (own := self._own(end.number, x)) else self.strip.x(k)
            for k, ((_, end), x) in enumerate(zip(self.ordered, self.tracks, strict=True))
        )

    @cached_property
    def rows(self) -> tuple[float, ...]:
        """y where each lead leaves its track for its terminal."""
        lowest = self.strip.row(self.width, self.width / 2)
        own = levels(self.tracks, self.targets, self.apart)
        return tuple(lowest + (max(own) - level) * self.apart for level in own)

    def found(self, back: Isometry) -> SharedTail:
        """Everything where it lies on the board."""
        self._refuse_in_the_way()
        strip = self.strip
        straight = max(self.rows) + self.apart
        deepest = min(self.road.wider(self._deepest * self.apart).over(x).imag for x in self.tracks)
        strip.refuse_short(straight, deepest, self.width)
        leads = {
            end.number: Led(
                traces=tuple(replace(trace, path=trace.path.moved(back)) for trace in self._lead(k)),
                terminal=self._terminal(k, end).moved(back),
            )
            for k, (_, end) in enumerate(self.ordered)
        }
        return SharedTail(leads=leads, strip=strip.laid(straight).moved(back))

    @property
    def _deepest(self) -> int:
        ends = [self.road.place(self.road.over(x)) for x in self.tracks]
        return max(levels([place for place, _ in self.ordered], ends, self.apart))

    def _lead(self, k: int) -> Iterator[Trace]:
        """From its end to its row above the terminal, and on to that."""
        run, x, row, target = self.runs[k], self.tracks[k], self.rows[k], self.targets[k]
        _, end = self.ordered[k]
        left = run[-1].end if run else end.at
        down = joined(run, (Line(left, complex(x, row)),))
        yield Trace(layer=1, path=down, width=self.width, net=end.net, is_lead=True)
        last = [complex(x, row), complex(target, row), complex(target, self.strip.foot)]
        yield Trace(layer=1, path=Path(polyline(last)), width=self.stub, net=end.net, is_lead=True)

    def _terminal(self, k: int, end: End) -> Terminal:
        told, x = self.design.terminals, self.targets[k]
        own = self._own(end.number, self.tracks[k])
        return Terminal(
            number=end.number,
            at=own[0].at if own else complex(x, self.strip.foot),
            pad=told.pad,
            drill=told.drill,
            layer=1,
            net=end.net,
            fingers=own,
        )

    def _refuse_in_the_way(self) -> None:
        """DesignError for a lead whose straight way out to the road is another winding's."""
        bodies: list[tuple[Segment | Point, float, str]] = [
            (segment, trace.width, trace.net)
            for trace in self.coil.traces
            if trace.layer == 1
            for segment in trace.path.segments
        ]
        bodies += [(via.at, via.pad, via.net) for via in self.coil.vias]
        for (_, end), run in zip(self.ordered, self.runs, strict=True):
            others = [(body, width) for body, width, net in bodies if net != end.net]
            if not run or not others:
                continue
            way = pieces([run[0]] * len(others))
            apart = distances(way, pieces([body for body, _ in others])).value
            free = apart - np.array([width for _, width in others]) / 2 - self.width / 2
            if free.min() < self.gap - 1e-9:
                says = (
                    f"{end.told} has no free way to the board's edge: straight out from its winding it meets "
                    "another one's copper; turn the winding so that its terminals face the edge, or move it"
                )
                raise DesignError.at(end.key, says)
