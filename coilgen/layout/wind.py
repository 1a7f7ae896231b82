"""Winds a design's coil: one shape's spiral stacked on all layers, joined by vias, led to its terminals.

In series, odd layers wind inward and even layers outward; in parallel, all wind inward. All are travelled
counter-clockwise, so that every layer's current circulates in the same sense. The layout has the terminals in
the south and a counter-clockwise current; a clockwise coil is the mirror image of that, other sides are
quarter turns of it.
"""

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from itertools import accumulate

from coilgen.design.design import Design
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment, joined, polyline
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Terminal, Trace, Via
from coilgen.layout.landings.landing import Landing, LayerChanges
from coilgen.layout.landings.layer_changes import layer_changes
from coilgen.layout.leads import Lead, LeadRoom, TerminalRows, widened
from coilgen.layout.lengths import QUARTERS, Lengths
from coilgen.layout.outline import Anchor
from coilgen.layout.shape import shape_named

_BACK = 0.25
"""Of a turn: a lead goes back by less than that, and forward by up to the rest."""
_NO_WAY_OUT = (
    "has no lead from terminal 2, which is a pad inside the winding: wind an even number of layers in "
    "series, or take a stack-up with one copper layer more than are wound"
)
_SIDE_BY_SIDE = (
    "is of single leads, and every one of the layers in parallel has its own to a plated hole: leave it out, "
    'or use "surface-pad"'
)
_MIRROR = Isometry(mirrored=True)


def wind(design: Design) -> Coil:
    """The coil of a design; DesignError when something of it has no room."""
    layout = _Layout(Lengths(design, shape_named(design.winding.shape)))
    if design.tail is not None and layout.lengths.ends_inside:
        raise DesignError.at("tail", _NO_WAY_OUT)
    coil = Coil(
        traces=tuple(layout.traces()),
        vias=tuple(layout.vias()),
        terminals=(layout.entry_terminal, layout.exit_terminal),
        pockets=() if layout.lengths.pocket is None else (layout.lengths.pocket,),
        turns=design.winding.turns * layout.lengths.spirals,
        parallel=layout.side_by_side,
        says=tuple(_remarks(layout)),
    )
    mirrored, quarters = design.winding.direction == "clockwise", QUARTERS[design.terminals.side]
    if design.tail is None:
        return layout.with_wide_leads(coil).moved(Isometry(mirrored, quarters))
    from coilgen.layout.tail import with_tail

    led = with_tail(layout.lengths, coil.moved(Isometry(mirrored)), changes=layout.changes_is_lead)
    return led.moved(Isometry(quarters=quarters))


@dataclass(frozen=True)
class _Layout:
    lengths: Lengths

    @cached_property
    def layer_changes(self) -> LayerChanges:
        return layer_changes(self.lengths)

    def traces(self) -> Iterable[Trace]:
        m = self.lengths
        if self.entry.vias:
            yield self._trace(1, self.entry.pad_run.reversed())
        for layer in range(1, m.layers + 1):
            yield self._trace(layer, self._winding_run(layer))
        if m.bridge is not None:
            yield self._trace(m.bridge, self._bridge_run())
        if self.exit is not None and self.exit.vias:
            yield self._trace(1, self.exit.pad_run)

    def vias(self) -> Iterable[Via]:
        m = self.lengths
        wound = tuple(range(1, m.layers + 1))
        for point in self.entry.vias:
            yield self._via(point, wound)
        for passed in range(1, m.spirals if m.bridge is None else m.spirals + 1):
            joins = (*wound, m.bridge) if m.parallel and m.bridge else (passed, passed + 1)
            for point in self.layer_changes.changes[passed].points:
                yield self._via(point, joins)
        for point in self.exit.vias if self.exit else ():
            yield self._via(point, (self.last_layer, 1))

    @property
    def side_by_side(self) -> tuple[int, ...]:
        """Numbers of the traces of layers in parallel, which a lead of their own may go before."""
        begun = len(self.entry.vias) > 0
        return tuple(range(begun, begun + self.lengths.layers)) if self.lengths.parallel else ()

    def with_wide_leads(self, coil: Coil) -> Coil:
        """The coil whose leads widen toward their terminals, where they are to and have the room."""
        m = self.lengths
        asked, pad = m.design.terminals.lead_width, m.design.terminals.pad
        if asked is None or asked == m.width:
            return coil
        if m.parallel and not self._entry_vias:
            raise DesignError.at("terminals.lead_width", _SIDE_BY_SIDE)
        room = LeadRoom(
            pad=pad,
            level=self._rows.beside + m.gap + asked / 2,
            apart=self._apart((asked + m.gap) / 2),
            beside=((pad + asked) / 2, (pad + asked) / 2 + m.gap),
        )
        first = widened(coil.traces[0], asked, room, from_start=True)
        last = () if self.exit is None else widened(coil.traces[-1], asked, room, from_start=False)
        begun = len(first) > 1
        traces = [*(first or coil.traces[:1]), *coil.traces[1:]]
        traces[-1:] = last or traces[-1:]
        return replace(coil, traces=tuple(traces), parallel=tuple(index + begun for index in coil.parallel))

    def _apart(self, half: float) -> tuple[float, float] | None:
        """Between which x leads keep their width, m, so as to clear each other; None for a single lead."""
        if self.exit is None:
            return None
        middle = (self.entry.way_out.real + self.exit.way_out.real) / 2
        return middle - half, middle + half

    @property
    def last_layer(self) -> int:
        """The layer on which the current leaves the winding."""
        return self.lengths.bridge or self.lengths.layers

    @cached_property
    def entry_terminal(self) -> Terminal:
        return self._terminal(1, self.entry.terminal, 1)

    @cached_property
    def exit_terminal(self) -> Terminal:
        if self.exit is None:
            return self._terminal(2, self.layer_changes.changes[-1].points[0], self.lengths.spirals)
        return self._terminal(2, self.exit.terminal, 1 if self.exit.vias else self.last_layer)

    @cached_property
    def entry(self) -> Lead:
        return self._rows.lead(-1, self.layer_changes.changes[0].points[0], vias=self._entry_vias)

    @cached_property
    def exit(self) -> Lead | None:
        if self.layer_changes.exit is None:
            return None
        landing = self.layer_changes.exit.points[0]
        if self.leads_around:
            landing = self._loop(self.layer_changes.changes[-1].first, self._lead_row)[-1].end
        return self._rows.lead(1, landing, vias=self._exit_vias)

    @cached_property
    def _rows(self) -> TerminalRows:
        return TerminalRows(self.lengths, self._outside, self._entry_vias or self._exit_vias)

    @property
    def _entry_vias(self) -> bool:
        """Whether layers in parallel meet before their terminal, or before a tail."""
        design = self.lengths.design
        return self.lengths.parallel and (design.terminals.kind != "plated-hole" or design.tail is not None)

    @property
    def _exit_vias(self) -> bool:
        return self._rises and not self.changes_is_lead

    @property
    def _rises(self) -> bool:
        """Whether the current leaves on another layer than that of its terminal."""
        surface = self.lengths.design.terminals.kind != "plated-hole"
        return surface and self.layer_changes.exit is not None and self.last_layer != 1

    @property
    def changes_is_lead(self) -> bool:
        """Whether the lead that runs beneath the other comes up at the tail's end."""
        tail = self.lengths.design.tail
        return self._rises and tail is not None and tail.leads == "above"

    @cached_property
    def _outside(self) -> float:
        """Level of the outermost copper of the winding, its layer changes and the leads around it."""
        m = self.lengths
        edge = m.first + m.stray + m.width / 2
        if m.outer_changes:
            edge = m.outer_row + m.outer_half
        if self.leads_around:
            edge = max(edge, self._lead_row + m.width / 2)
        return edge

    @cached_property
    def leads_around(self) -> bool:
        """Whether the last, outward layer ends away from the way out to its terminal."""
        way_out, end = self.layer_changes.exit, self.layer_changes.changes[-1]
        return self.lengths.spirals % 2 == 0 and way_out is not None and end.points != way_out.points

    @property
    def part_of_a_turn(self) -> float:
        """By which the winding ends away from its terminals; 0 for whole turns."""
        total = self.lengths.spirals * self.lengths.turns
        return 0.0 if abs(total - round(total)) < LARGEST_GAP else total % 1.0

    @cached_property
    def _lead_row(self) -> float:
        """Level of a lead around the winding: outside its layer changes."""
        m = self.lengths
        return m.outer_row + (m.via_half + m.gap + m.width / 2 if m.outer_changes else 0.0)

    def _winding_run(self, layer: int) -> Path:
        """A layer's spiral with what leads to it and away."""
        passed = 1 if self.lengths.parallel else layer
        before, after = self.layer_changes.changes[passed - 1], self.layer_changes.changes[passed]
        spiral = self._spiral(passed)
        if passed == 1:
            lead_in: tuple[Segment, ...] = Path(self.entry.run([spiral.start])).reversed().segments
        else:
            lead_in = (*self._row_segments(before), Line(before.points[-1], spiral.start))
        return joined(lead_in, spiral.segments, self._onward(passed, spiral.end, after))

    def _spiral(self, passed: int) -> Path:
        """Counter-clockwise from foot to foot."""
        m = self.lengths
        inward = m.outline.spiral(*self.layer_changes.feet(passed), m.corner)
        return inward if passed % 2 else inward.moved(_MIRROR).reversed()

    def _onward(self, passed: int, foot: Point, place: Landing) -> tuple[Segment, ...]:
        """From the end of a spiral to the next one, or to the last terminal."""
        m = self.lengths
        if passed < m.spirals or m.spirals % 2 or self.exit is None:
            return (Line(foot, place.points[0]), *self._row_segments(place))
        if not self.leads_around:
            return self.exit.run([foot, place.points[0]])
        return self._around(self.exit, foot, place.first, self._lead_row)

    def _bridge_run(self) -> Path:
        """Under the winding on an unwound layer, where it must go around.

        Half way between its edges when that is a step aside; when a part of a turn leads away, below the
        innermost turn, so that what goes forward adds about the rest of that turn and what goes back takes
        no more than the part.
        """
        m = self.lengths
        assert self.exit is not None, "a bridge leads to an exit"
        place, inner = self.layer_changes.changes[-1], min(map(m.last, self.layer_changes.steps))
        level = inner if self.part_of_a_turn else (m.first + inner) / 2
        return joined(self._row_segments(place), self._around(self.exit, place.last.at, place.last, level))

    def _around(self, lead: Lead, start: Point, anchor: Anchor, level: float) -> tuple[Segment, ...]:
        """From a point out to a level, round to the way out, and on to the terminal."""
        loop = self._loop(anchor, level)
        if not loop:
            return lead.run([start])
        return (*polyline([start, loop[0].start]), *loop, *lead.run([loop[-1].end]))

    def _loop(self, anchor: Anchor, level: float) -> tuple[Segment, ...]:
        """From an anchor to the way out: after whole turns the shorter way, else forward.

        Forward is as the current goes round: a lead that goes back takes from the turns. It does so by less
        than a quarter of a turn, and where it would come round onto its own beginning.
        """
        assert self.layer_changes.exit is not None, "leads go round to a way out"
        outline = self.lengths.outline
        turns = int(anchor.side / outline.count + 0.5 + LARGEST_GAP)
        if self.part_of_a_turn:
            whole = int(self.lengths.spirals * self.lengths.turns)
            turns = whole + int(self.part_of_a_turn > _BACK - LARGEST_GAP)
        out = self.layer_changes.exit.points[0]
        loop = outline.loop(level, anchor, Anchor(outline.count * turns, out))
        if self._meets_its_beginning(loop):
            return outline.loop(level, anchor, Anchor(outline.count * (turns - 1), out))
        return loop

    def _meets_its_beginning(self, loop: tuple[Segment, ...]) -> bool:
        """Whether a loop comes too near to where it began, not merely round a corner beside it."""
        near = self.lengths.width + self.lengths.gap
        begun = accumulate((piece.length for piece in loop), initial=0.0)
        return any(
            walked > 2 * near and piece.distance(loop[0].start) < near
            for walked, piece in zip(begun, loop, strict=False)
        )

    def _row_segments(self, place: Landing) -> tuple[Segment, ...]:
        """Through parallel vias, from centre to centre along their row."""
        return self.lengths.outline.through(place.side, place.points)

    def _trace(self, layer: int, path: Path) -> Trace:
        return Trace(layer=layer, path=path, width=self.lengths.width)

    def _via(self, at: Point, joins: tuple[int, ...]) -> Via:
        via = self.lengths.design.via
        return Via(at=at, drill=via.drill, pad=via.pad, joins=joins)

    def _terminal(self, number: int, at: Point, layer: int) -> Terminal:
        pad = self.lengths.design.terminals
        if not pad.drill and self.lengths.parallel and self.lengths.ends_inside:
            raise DesignError.at(
                "terminals.kind",
                '"surface-pad" cannot join layers in parallel that all end inside; use "plated-hole" '
                "or a stack-up with one copper layer more than are wound",
            )
        return Terminal(number=number, at=at, pad=pad.pad, drill=pad.drill, layer=layer)


def _remarks(layout: _Layout) -> Iterable[str]:
    m = layout.lengths
    inside = "A winding of layers in parallel" if m.parallel else "An odd number of wound layers"
    if m.bridge is not None:
        yield (
            f"{inside} ends inside the winding: copper layer {m.bridge}, otherwise unwound, "
            "leads it out to terminal 2."
        )
    if m.ends_inside:
        yield (
            f"{inside} ends inside the winding, and no copper layer is left to lead it out: "
            "terminal 2 is a pad inside the winding; solder a wire across the coil, insulated from it."
        )
    if layout.leads_around:
        yield (
            f"{m.turns:g} turns on {m.layers} layers end away from the terminals: "
            "a lead on the last layer goes round the winding to terminal 2."
        )
    if m.bridge is not None and layout.part_of_a_turn:
        yield (
            f"{m.turns:g} turns end away from the terminals: the lead on copper layer {m.bridge} goes round "
            "below the innermost turn; effective_turns tells what the turns with their leads are worth."
        )
