"""The leads between the winding and its terminals, outside the winding; the terminals stand in the south."""

from dataclasses import replace
from itertools import pairwise

from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment, joined, polyline
from coilgen.geometry.point import Point
from coilgen.layout.coil import Trace
from coilgen.layout.lengths import Lengths


@dataclass(frozen=True, kw_only=True)
class Lead:
    """A lead from its landing beside the winding out to a terminal.

    way: from the landing to the terminal, or to the first of the vias by which it changes to the top for a
    surface pad; vias: empty where it need not; rise: on the top from one of them to the pad. All in m.
    """

    way: tuple[Point, ...]
    vias: tuple[Point, ...] = ()
    rise: tuple[Point, ...] = ()

    @property
    def terminal(self) -> Point:
        """Where it ends."""
        return self.rise[-1] if self.vias else self.way[-1]

    @property
    def way_out(self) -> Point:
        """Where it leaves the winding, or its vias, for its terminal."""
        return self.vias[0] if self.vias else self.way[0]

    def run(self, points: list[Point]) -> tuple[Segment, ...]:
        """From points beside the winding past the landing to the terminal, or through the vias."""
        return (*polyline([*points, *self.way]), *_row(self.vias))

    @property
    def pad_run(self) -> Path:
        """On the top: from the last via back through the row to the one it rises from, and to the pad."""
        last_to_rise = self.vias[self.vias.index(self.rise[0]) :][::-1]
        return joined(_row(last_to_rise), polyline(self.rise))


def _row(points: tuple[Point, ...]) -> tuple[Line, ...]:
    return tuple(Line(start, end) for start, end in pairwise(points))


@dataclass(frozen=True)
class TerminalRows:
    """Where vias of leads and the terminals stand south of the winding, whose copper ends at `outside`, m."""

    lengths: Lengths
    outside: float
    with_vias: bool

    @property
    def via_row(self) -> float:
        """Distance of the leads' vias from the centre."""
        m, drill = self.lengths, self.lengths.design.via.drill
        row = self.outside + m.gap + m.via_half
        return max(row, m.outer_row + drill + m.hole_gap) if m.outer_changes else row

    @property
    def beside(self) -> float:
        """Level of the outermost copper that leads pass on their way to terminals."""
        return self.via_row + self.lengths.via_half if self.with_vias else self.outside

    @property
    def pad_row(self) -> float:
        """Distance of the terminals; DesignError when the design asks for less than the leads need."""
        m, asked = self.lengths, self.lengths.design.terminals.distance
        nearest = max(self.beside + m.terminal_gap + m.terminal_half, self._by_holes)
        if asked is None:
            return nearest
        if asked < nearest - LARGEST_GAP:
            raise DesignError.at(
                "terminals.distance",
                f"{asked * 1e3:.6g} mm puts the terminals into the winding's leads; "
                f"give at least {nearest * 1e3:.3f} mm or leave it out",
            )
        return asked

    @property
    def _by_holes(self) -> float:
        """Least distance that keeps the terminals' holes from the vias'."""
        m = self.lengths
        if not m.design.terminals.drill or not (m.outer_changes or self.with_vias):
            return 0.0
        vias = self.via_row if self.with_vias else m.outer_row
        return vias + (m.design.terminals.drill + m.design.via.drill) / 2 + m.hole_gap

    def lead(self, hand: int, landing: Point, *, vias: bool) -> Lead:
        """The lead to the terminal in the west (hand -1) or in the east (1); or to its track down a tail."""
        m = self.lengths
        if m.tracks is None:
            terminals = m.design.terminals
            half_pitch, pad = terminals.pitch / 2, terminals.pad / 2
            end = complex(hand * half_pitch, -self.pad_row)
        else:
            half_pitch, pad = abs(m.tracks[1] - m.tracks[0]) / 2, None
            end = complex(m.tracks[hand > 0], -self._tail_row(hand, m.tracks))
        if not vias:
            return Lead(way=self._way(landing, end, pad))
        first = complex(landing.real + hand * self._aside(half_pitch - abs(landing.real)), -self.via_row)
        row = tuple(first + hand * k * m.via_step for k in range(m.design.via.count))
        # In the west layers in parallel begin at the last via, and one of them passes the row on the top.
        rises_at = row[-1] if hand < 0 else first
        return Lead(way=self._way(landing, first, None), vias=row, rise=self._way(rises_at, end, pad))

    def _aside(self, wanted: float) -> float:
        """How far aside of its landing a lead's first via stands: as wanted, or just clear of the lead."""
        half, m = self.lengths.design.via.pad / 2, self.lengths
        return half + m.width / 2 + m.gap if self._beside(wanted, half) else max(wanted, 0.0)

    def _way(self, start: Point, end: Point, pad: float | None) -> tuple[Point, ...]:
        """Out from a start to the level of an end, then aside to it; aslant to a pad there of that half size
        that a lead straight out would be too near to."""
        if pad is not None and self._beside(abs(end.real - start.real), pad):
            return start, end
        return start, complex(start.real, end.imag), end

    def _beside(self, aside: float, half: float) -> bool:
        """Whether a lead that runs out so far aside of a pad of a half size leaves too small a gap."""
        m = self.lengths
        return -LARGEST_GAP < aside - half - m.width / 2 < m.gap - LARGEST_GAP

    def _tail_row(self, hand: int, tracks: tuple[float, float]) -> float:
        """Where a lead turns into its track down the tail.

        The one that goes the farther way, beneath the other, does so a lead's pitch farther out.
        """
        m = self.lengths
        wider = max(m.width, m.lead_width)
        row = self.beside + m.gap + wider / 2
        farther = (tracks[0] + tracks[1]) * hand < -LARGEST_GAP
        return row + (wider + m.gap if farther else 0.0)


@dataclass(frozen=True, kw_only=True)
class LeadRoom:
    """Where a lead may have a width of its own: beyond a level, m south, and not between two x.

    apart: none where there is one lead only. pad: the terminal's diameter, within which no width shows.
    beside: between which distances aside of its terminal an upright lead would leave a gap under the spacing.
    """

    pad: float
    level: float
    apart: tuple[float, float] | None
    beside: tuple[float, float]

    def wide_until(self, line: Line, terminal: Point) -> Point:
        """How far along a line from a terminal, level or upright, there is room."""
        ahead = line.end - line.start
        if abs(ahead.real) <= LARGEST_GAP:
            inside = self.apart is not None and self.apart[0] < line.start.real < self.apart[1]
            near = self.beside[0] < abs(line.start.real - terminal.real) < self.beside[1] - LARGEST_GAP
            return line.start if inside or near else complex(line.start.real, min(line.end.imag, -self.level))
        if self.apart is None:
            return line.end
        west, east = self.apart
        x = max(line.end.real, east) if ahead.real < 0 else min(line.end.real, west)
        return complex(x, line.start.imag)


def widened(trace: Trace, width: float, room: LeadRoom, *, from_start: bool) -> tuple[Trace, ...]:
    """A trace and its lead, in current order, where the lead has room for its width at its terminal.

    from_start: whether the trace begins at its terminal.
    """
    path = trace.path if from_start else trace.path.reversed()
    wide, rest = _cut(path, room)
    if sum(line.length for line in wide) <= room.pad / 2 or not rest:
        return (trace,)
    lead = replace(trace, path=Path(tuple(wide)), width=width, is_lead=True)
    kept = replace(trace, path=Path(tuple(rest)))
    if from_start:
        return lead, kept
    return tuple(replace(each, path=each.path.reversed()) for each in (kept, lead))


def _cut(path: Path, room: LeadRoom) -> tuple[list[Segment], list[Segment]]:
    """What has room at the start of a path, up to its second line, and the rest."""
    wide: list[Segment] = []
    segments = list(path.segments)
    while segments and isinstance(segments[0], Line) and _straight(segments[0]):
        line = segments[0]
        until = room.wide_until(line, path.start)
        beyond = (until - line.start).real * (line.end - line.start).real
        beyond += (until - line.start).imag * (line.end - line.start).imag
        if beyond > LARGEST_GAP * line.length:
            wide.append(Line(line.start, until))
        else:
            until = line.start
        if abs(until - line.end) > LARGEST_GAP:
            segments[0] = Line(until, line.end)
            break
        segments.pop(0)
    return wide, segments


def _straight(line: Line) -> bool:
    """Whether a line runs level or upright."""
    way = line.end - line.start
    return min(abs(way.real), abs(way.imag)) <= LARGEST_GAP
