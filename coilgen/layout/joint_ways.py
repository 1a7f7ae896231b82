"""Where the joints of an array run: channels beside the coils, tracks in them, trunks beside a grid.

Each coil's leads end in two plated holes, its pins, all in one row along a ring, a row or each row of a grid.
Beyond them lies a channel: spurs run straight out of the pins on the top layer, tracks along the row on the
bottom layer, a via where a spur meets its track. Spurs keep apart as the pins do and tracks keep apart by
their places, so nothing crosses. Two neighbouring pins are joined on the top layer alone. What reaches over
several rows of a grid, or from an inner row to the terminals, runs on by a trunk in the west, on the top.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property, partial

from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.geometry.extent import extent
from coilgen.layout.coil import Coil
from coilgen.layout.joint_channel import Channel, Span, tracks
from coilgen.layout.joint_parts import END, START, Node, Pin, nodes_of


@dataclass(frozen=True)
class Ways:
    """The channels of an array and what runs in them. width: of joints, m; by default as the design says."""

    design: Design
    coils: Sequence[Coil]
    asked_width: float | None = None

    @cached_property
    def width(self) -> float:
        """Of joints, m."""
        array = self.design.array
        assert array is not None
        usual = self.design.windings[0].design.winding.trace_width
        return self.asked_width or array.joint_width or usual

    @cached_property
    def gap(self) -> float:
        """Between copper of two joints, m."""
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

    def out(self, track: int) -> float:
        """How far beyond the pins a track lies."""
        return (track + 1) * self.step

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        """Pins that are joined."""
        return nodes_of(self.design)

    @cached_property
    def channels(self) -> tuple[Channel, ...]:
        """One for a ring or a row, one for each row of a grid; beyond the last stand the terminals."""
        array = self.design.array
        assert array is not None
        ring, outward = array.arrangement == "ring", -1 if array.turned else 1
        firsts = [self.coils[row * self._columns].terminals[0].at for row in range(array.rows or 1)]
        found = [Channel(ring, abs(at) if ring else -at.imag, outward) for at in firsts]
        return tuple(found[::outward])

    @cached_property
    def _columns(self) -> int:
        array = self.design.array
        assert array is not None
        return array.columns or len(self.coils)

    def channel_of(self, pin: Pin) -> int:
        """Which channel a pin lies at."""
        row = pin.coil // self._columns
        return row if self.channels[0].outward > 0 else len(self.channels) - 1 - row

    @cached_property
    def along(self) -> dict[Pin, float]:
        """How far along its channel each pin is."""
        return {
            Pin(k, end): self.channels[0].along(coil.terminals[self._terminal(k, end)].at)
            for k, coil in enumerate(self.coils)
            for end in (START, END)
        }

    def _terminal(self, coil: int, end: int) -> int:
        return end if self.design.windings[coil].sense > 0 else 1 - end

    def pins_at(self, node: Node, channel: int) -> list[Pin]:
        """Pins of a node at a channel, as the channel runs."""
        found = [pin for pin in node.pins if self.channel_of(pin) == channel]
        if not found:
            return []
        line = self.channels[channel]
        span = line.span([self.along[pin] for pin in found])
        return sorted(found, key=lambda pin: line.following(self.along[pin], span))

    def rows_of(self, node: Node) -> list[int]:
        """Channels that a node has pins at."""
        return sorted({self.channel_of(pin) for pin in node.pins})

    def trunked(self, node: Node) -> bool:
        """Whether a node reaches over several channels, or from an inner one to its terminal."""
        rows = self.rows_of(node)
        return len(rows) > 1 or (node.terminal is not None and rows[-1] < len(self.channels) - 1)

    def ends_on_trunk(self, node: Node) -> bool:
        """Whether a node's terminal stands at the end of its trunk."""
        return node.terminal is not None and self.rows_of(node)[-1] < len(self.channels) - 1

    def neighbours(self, node: Node) -> bool:
        """Whether a node is two pins with none between, which need no track of their own."""
        if len(node.pins) != 2 or node.terminal is not None or self.trunked(node):
            return False
        (row,) = self.rows_of(node)
        line = self.channels[row]
        span = line.span([self.along[pin] for pin in node.pins])
        others = (pin for pin in self.along if self.channel_of(pin) == row and pin not in node.pins)
        return not any(line.within(self.along[pin], span) for pin in others)

    @cached_property
    def trunks(self) -> dict[Node, float]:
        """How far along each trunk runs, west of all coils; trunks of different rows may share a column."""
        last = len(self.channels) - 1
        wanted = [node for node in self.nodes if self.trunked(node)]
        if not wanted:
            return {}
        rows = {node: self.rows_of(node) for node in wanted}
        spans: dict[Node, Span] = {
            node: (each[0], last + 1 if self.ends_on_trunk(node) else each[-1]) for node, each in rows.items()
        }
        column = tracks(Channel(False, 0.0, 1), spans, lambda _: 0.5)
        found: dict[Node, float] = {}
        edge = self._west
        for number in range(max(column.values()) + 1):
            own = [node for node in wanted if column[node] == number]
            half = self._half_of_trunk(any(self.ends_on_trunk(node) for node in own))
            found |= dict.fromkeys(own, edge - self.gap - half)
            edge -= self.gap + 2 * half
        return found

    def _half_of_trunk(self, with_terminal: bool) -> float:
        """Half of the room across a trunk or the terminal at its end, the gap beside it left out."""
        terminals, rules = self.design.terminals, self.design.rules
        holes = (self.step - self.gap) / 2
        if not with_terminal:
            return holes
        clear = max(rules.limit("mask_opening"), (rules.limit("hole_to_hole") - self.gap) / 2, 0.0)
        return max(holes, terminals.pad / 2 + clear)

    @cached_property
    def _west(self) -> float:
        """West of all copper of coils, m, and of terminals at the first pins."""
        copper = (
            corner.real - trace.width / 2
            for coil in self.coils
            for trace in coil.traces
            for corner in extent(trace.path)
        )
        vias = (via.at.real - via.pad / 2 for coil in self.coils for via in coil.vias)
        margin = self.design.terminals.pad / 2 + self.design.rules.limit("mask_opening")
        return min(*copper, *vias, min(self.along.values()) - max(margin, self.half))

    def places(self, node: Node, channel: int) -> list[float]:
        """Where a node touches a channel: at its pins there, and at its trunk."""
        own = [self.along[pin] for pin in self.pins_at(node, channel)]
        return [*own, self.trunks[node]] if own and node in self.trunks else own

    @cached_property
    def tracks(self) -> dict[tuple[Node, int], int]:
        """Which track each node runs on in a channel, where it needs one there."""
        found: dict[tuple[Node, int], int] = {}
        for number, line in enumerate(self.channels):
            wanted = {node: self.places(node, number) for node in self.nodes if not self.neighbours(node)}
            spans = {node: line.span(places) for node, places in wanted.items() if len(places) > 1}
            own = tracks(line, spans, partial(self._along, line))
            found |= {(node, number): track for node, track in own.items()}
        return found

    def _along(self, line: Channel, track: int) -> float:
        """From place to place along a track."""
        return line.step(self.step, self.out(track))

    def rows(self, channel: int) -> int:
        """Places for tracks that are needed in a channel; joints of neighbours take the first."""
        near = any(self.neighbours(node) and self.rows_of(node) == [channel] for node in self.nodes)
        own = (track + 1 for (_, number), track in self.tracks.items() if number == channel)
        return max(int(near), *own, 0)

    def depth(self, channel: int) -> float:
        """How far a channel's copper reaches beyond the pins, with the gap to what follows, m."""
        rows = self.rows(channel)
        return rows * self.step + self.half + self.gap if rows else self.half + self.gap

    @cached_property
    def terminal_out(self) -> float:
        """How far beyond the last channel's pins the board's terminals stand."""
        terminals, rules = self.design.terminals, self.design.rules
        clear = max(self.gap, rules.limit("mask_opening"))
        holes = (self.design.via.drill + terminals.drill) / 2 + rules.limit("hole_to_hole")
        ends_here = self.design.tail is None
        pad = terminals.pad if ends_here else self.width
        beyond = self.half + clear + max(pad, self.width) / 2
        last = len(self.channels) - 1
        return self.rows(last) * self.step + max(beyond, holes if ends_here and terminals.drill else 0.0)

    @cached_property
    def terminal_places(self) -> dict[Node, float]:
        """How far along a node's terminal stands: at its trunk's end, or at the pin that is farthest from
        those of other terminals."""
        chosen = {node: at for node, at in self.trunks.items() if self.ends_on_trunk(node)}
        for node in sorted(self.nodes, key=lambda node: len(node.pins)):
            if node.terminal is None or node in chosen:
                continue
            others = list(chosen.values())
            pins = self.pins_at(node, len(self.channels) - 1)
            chosen[node] = max((self.along[pin] for pin in pins), key=lambda at: self._lonely(at, others))
        return chosen

    def _lonely(self, at: float, others: Iterable[float]) -> float:
        line = self.channels[-1]
        apart = [line.span([at, other]) for other in others]
        return round(min((end - start for start, end in apart), default=0.0), 9)
