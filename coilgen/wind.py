"""Winds a design's coil: one shape's spiral stacked on all layers, joined by vias, led to its terminals.

Odd layers wind inward and even layers outward, each counter-clockwise, so that every layer's current
circulates in the same sense. All is laid out with the terminals in the south and a counter-clockwise
current; a clockwise coil is the mirror image of that, other sides are quarter turns of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from coilgen.coil import Coil, Terminal, Trace, Via
from coilgen.design import Design
from coilgen.errors import DesignError, Fault
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment, joined, polyline
from coilgen.geometry.point import Point
from coilgen.measures import Measures
from coilgen.places import Place, Places, places
from coilgen.shape import Anchor, Shape

_MIRROR = Isometry(mirrored=True)
_QUARTERS = {"south": 0, "east": 1, "north": 2, "west": 3}


def wind(design: Design, shape: Shape) -> Coil:
    """The coil of a design; DesignError when something of it has no room."""
    layout = _Layout(Measures(design, shape))
    coil = Coil(
        traces=tuple(layout.traces()),
        vias=tuple(layout.vias()),
        terminals=(layout.entry_terminal, layout.exit_terminal),
        pocket=layout.measures.pocket,
        turns=design.winding.turns * design.winding.layers,
        says=tuple(_remarks(layout)),
    )
    return _moved(coil, Isometry(design.winding.direction == "clockwise", _QUARTERS[design.terminals.side]))


@dataclass(frozen=True)
class _Layout:
    measures: Measures

    @cached_property
    def places(self) -> Places:
        return places(self.measures)

    def traces(self) -> Iterable[Trace]:
        m = self.measures
        for layer in range(1, m.layers + 1):
            yield self._trace(layer, self._winding_run(layer))
        if m.bridge is not None:
            yield self._trace(m.bridge, self._bridge_run())
        if self.exit_vias:
            yield self._trace(1, self._pad_run())

    def vias(self) -> Iterable[Via]:
        m = self.measures
        changes = m.layers - 1 if m.bridge is None else m.layers
        for layer in range(1, changes + 1):
            for point in self.places.changes[layer].points:
                yield self._via(point, layer, layer + 1)
        for point in self.exit_vias:
            yield self._via(point, self.last_layer, 1)

    @property
    def last_layer(self) -> int:
        """The layer on which the current leaves the winding."""
        return self.measures.bridge or self.measures.layers

    @cached_property
    def entry_terminal(self) -> Terminal:
        pad = self.measures.design.terminals
        return self._terminal(1, complex(-pad.pitch / 2, -self.pad_row), 1)

    @cached_property
    def exit_terminal(self) -> Terminal:
        m, pad = self.measures, self.measures.design.terminals
        if self.places.exit is None:
            return self._terminal(2, self.places.changes[-1].points[0], m.layers)
        return self._terminal(
            2, complex(pad.pitch / 2, -self.pad_row), 1 if self.exit_vias else self.last_layer
        )

    @cached_property
    def exit_vias(self) -> tuple[Point, ...]:
        """Where the last lead comes up to a surface pad on the top."""
        m, pad = self.measures, self.measures.design.terminals
        if self.places.exit is None or pad.kind == "plated-hole" or self.last_layer == 1:
            return ()
        at = complex(
            max(pad.pitch / 2, self.places.exit.points[0].real),
            -(self._outside + m.gap + m.via_half),
        )
        return tuple(at + k * m.via_step for k in range(m.design.via.count))

    @cached_property
    def pad_row(self) -> float:
        """Distance of the terminals' row from the centre, m."""
        m, pad = self.measures, self.measures.design.terminals
        edge = self._outside
        if self.exit_vias:
            edge += m.gap + 2 * m.via_half
        nearest = edge + m.gap + m.terminal_half
        if pad.distance is None:
            return nearest
        if pad.distance < nearest - LARGEST_GAP:
            raise DesignError([_too_near(pad.distance, nearest)])
        return pad.distance

    @cached_property
    def _outside(self) -> float:
        """Apothem of the outermost copper of the winding, its layer changes and the leads around it."""
        m = self.measures
        edge = m.first + m.wobble + m.width / 2
        if m.outer_changes:
            edge = m.outer_row + m.outer_half
        if self._leads_around:
            edge = max(edge, self._lead_row + m.width / 2)
        return edge

    @cached_property
    def _leads_around(self) -> bool:
        """Whether the last, outward layer ends away from the way out to its terminal."""
        way_out, end = self.places.exit, self.places.changes[-1]
        return self.measures.layers % 2 == 0 and way_out is not None and end.points != way_out.points

    @cached_property
    def _lead_row(self) -> float:
        """Apothem of a lead around the winding: outside its layer changes."""
        m = self.measures
        return m.outer_row + (m.via_half + m.gap + m.width / 2 if m.outer_changes else 0.0)

    def _winding_run(self, layer: int) -> Path:
        before, after = self.places.changes[layer - 1], self.places.changes[layer]
        spiral = self._spiral(layer, before.last, after.first)
        lead_in = self._entry(spiral.start) if layer == 1 else self._from_row(before, spiral.start)
        return joined(lead_in, spiral.segments, self._onward(layer, spiral.end, after))

    def _spiral(self, layer: int, start: Anchor, end: Anchor) -> Path:
        """Counter-clockwise from foot to foot.

        An outward spiral is the mirror image of an inward one, reversed.
        """
        m = self.measures
        if layer % 2:
            return m.shape.spiral(m.first, m.pitch, start, end, m.corner)
        inward = m.shape.spiral(m.first, m.pitch, end.mirrored(), start.mirrored(), m.corner)
        return inward.moved(_MIRROR).reversed()

    def _entry(self, foot: Point) -> tuple[Segment, ...]:
        return polyline([*self._lane(self.places.changes[0])[::-1], foot])

    def _lane(self, landing: Place) -> list[Point]:
        """From a landing to its terminal: straight out, then along the row of the terminals."""
        at = landing.points[0]
        terminal = complex(
            (-1 if at.real < 0 else 1) * self.measures.design.terminals.pitch / 2, -self.pad_row
        )
        return [at, complex(at.real, terminal.imag), terminal]

    def _onward(self, layer: int, foot: Point, place: Place) -> tuple[Segment, ...]:
        """From the end of a layer's spiral to the next layer, or to the last terminal."""
        m = self.measures
        if layer < m.layers or m.layers % 2:
            return self._to_row(foot, place)
        if not self._leads_around:
            return self._way_out([foot, place.points[0]])
        return self._around(foot, place.first, self._lead_row)

    def _bridge_run(self) -> Path:
        """Under the winding on an unwound layer, half way between its edges where it must go around."""
        m = self.measures
        place = self.places.changes[-1]
        middle = (m.first + min(m.last(steps) for steps in self.places.steps)) / 2
        row = self._row_segments(place)
        return joined(row, self._around(place.last.at, place.last, middle))

    def _around(self, start: Point, anchor: Anchor, apothem: float) -> tuple[Segment, ...]:
        """From a point out to an apothem, round to the way out the shorter way, and on to the terminal."""
        m = self.measures
        landing = self._exit_from(anchor)
        loop = m.shape.loop(apothem, anchor, landing)
        if not loop:
            return self._way_out([start, landing.at])
        return (*polyline([start, loop[0].start]), *loop, *self._way_out([loop[-1].end, landing.at]))

    def _exit_from(self, anchor: Anchor) -> Anchor:
        """The way out, its side counted on to the whole turn nearest to an anchor.

        Half a turn goes forward.
        """
        m = self.measures
        assert self.places.exit is not None
        turns = anchor.side / m.shape.sides
        return replace(self.places.exit.first, side=m.shape.sides * int(turns + 0.5 + LARGEST_GAP))

    def _way_out(self, points: list[Point]) -> tuple[Segment, ...]:
        assert self.places.exit is not None
        lane = self._lane(self.places.exit)
        if not self.exit_vias:
            return polyline([*points, *lane])
        level = complex(lane[0].real, self.exit_vias[0].imag)
        return self._through_vias([*points, lane[0], level])

    def _through_vias(self, points: list[Point]) -> tuple[Segment, ...]:
        lead = polyline([*points, self.exit_vias[0]])
        row = tuple(Line(start, end) for start, end in pairwise(self.exit_vias))
        return (*lead, *row)

    def _pad_run(self) -> Path:
        """On the top, from the vias of the last lead to its surface pad."""
        vias = self.exit_vias[::-1]
        row = tuple(Line(start, end) for start, end in pairwise(vias))
        at = self.exit_terminal.at
        return joined(row, polyline([vias[-1], complex(vias[-1].real, at.imag), at]))

    def _to_row(self, foot: Point, place: Place) -> tuple[Segment, ...]:
        return (Line(foot, place.points[0]), *self._row_segments(place))

    def _from_row(self, place: Place, foot: Point) -> tuple[Segment, ...]:
        return (*self._row_segments(place), Line(place.points[-1], foot))

    def _row_segments(self, place: Place) -> tuple[Segment, ...]:
        """Through parallel vias, from centre to centre along their row."""
        shape = self.measures.shape
        apothem = self._apothem(place)
        return tuple(
            segment
            for start, end in pairwise(place.points)
            for segment in shape.loop(apothem, Anchor(place.side, start), Anchor(place.side, end))
        )

    def _apothem(self, place: Place) -> float:
        side = self.measures.shape.place(place.side, 0.0, 1.0)
        point = place.points[0]
        return abs(point) if self.measures.wobble else point.real * side.real + point.imag * side.imag

    def _trace(self, layer: int, path: Path) -> Trace:
        return Trace(layer=layer, path=path, width=self.measures.width)

    def _via(self, at: Point, layer: int, onto: int) -> Via:
        via = self.measures.design.via
        return Via(at=at, drill=via.drill, pad=via.pad, joins=(layer, onto))

    def _terminal(self, number: int, at: Point, layer: int) -> Terminal:
        pad = self.measures.design.terminals
        drill = pad.drill if pad.kind == "plated-hole" else 0.0
        return Terminal(number=number, at=at, pad=pad.pad, drill=drill, layer=layer)


def _too_near(given: float, nearest: float) -> Fault:
    return Fault(
        key="terminals.distance",
        says=f"{given * 1e3:.6g} mm puts the terminals into the winding's leads; "
        f"give at least {nearest * 1e3:.3f} mm or leave it out",
    )


def _remarks(layout: _Layout) -> Iterable[str]:
    m = layout.measures
    if m.bridge is not None:
        yield (
            f"An odd number of wound layers ends inside the winding: copper layer {m.bridge}, "
            "otherwise unwound, leads it out to terminal 2."
        )
    if m.ends_inside:
        yield (
            "An odd number of wound layers ends inside the winding, and no copper layer is left to lead "
            "it out: terminal 2 is a pad inside the winding; solder a wire across the coil, insulated from it."
        )
    if layout._leads_around:
        yield (
            f"{m.turns:g} turns on {m.layers} layers end away from the terminals: "
            "a lead on the last layer goes round the winding to terminal 2."
        )


def _moved(coil: Coil, isometry: Isometry) -> Coil:
    first, second = (replace(each, at=isometry.point(each.at)) for each in coil.terminals)
    return replace(
        coil,
        traces=tuple(replace(trace, path=trace.path.moved(isometry)) for trace in coil.traces),
        vias=tuple(replace(via, at=isometry.point(via.at)) for via in coil.vias),
        terminals=(first, second),
        pocket=None if coil.pocket is None else _counterclockwise(coil.pocket.moved(isometry)),
    )


def _counterclockwise(path: Path) -> Path:
    return path if path.swept_area > 0 else path.reversed()
