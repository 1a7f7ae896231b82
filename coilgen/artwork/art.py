"""What is made: copper, holes, mask openings, legend and profile of the board."""

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from coilgen.design.design import Design
from coilgen.design.tail import Stiffener
from coilgen.errors import DesignError, Fault
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import capsule, rectangle, rounded
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import NET, Coil, Terminal, Trace
from coilgen.layout.edge import edge, extent_of

NO_NET = ""
"""Of copper that is joined to nothing."""


@dataclass(frozen=True, kw_only=True)
class Pad:
    """A pad on one copper layer; terminal is its number or None for a via's pad.

    span: 0 for a round pad; of an oblong one from the centre of one round end to that of the other.

    use: of pads that a panel has besides its coils, marks to align by, pads and plates of coupons.
    """

    layer: int
    at: Point
    diameter: float
    terminal: int | None
    net: str = NET
    use: Literal["coil", "fiducial", "test", "plate"] = "coil"
    span: Point = 0j

    @property
    def ends(self) -> tuple[Point, ...]:
        """Where its round ends are centred, the one that a lead reaches first: two of an oblong pad."""
        return (self.at - self.span / 2, self.at + self.span / 2) if self.span else (self.at,)

    @property
    def size(self) -> tuple[float, float]:
        """Over its copper in x and in y, m; an oblong pad lies along one of them."""
        return abs(self.span.real) + self.diameter, abs(self.span.imag) + self.diameter

    @property
    def area(self) -> float:
        """Of its copper, m2."""
        return math.pi / 4 * self.diameter**2 + abs(self.span) * self.diameter

    def moved(self, isometry: Isometry) -> "Pad":
        """The image of the pad."""
        span = isometry.point(self.span) - isometry.point(0j) if self.span else 0j
        return replace(self, at=isometry.point(self.at), span=span)

    @property
    def path(self) -> Path:
        """Its edge, counter-clockwise."""
        if not self.span:
            return Path((Arc(self.at, self.diameter / 2, 0.0, math.tau),))
        return capsule(self.at - self.span / 2, self.at + self.span / 2, self.diameter)


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A drilled round hole through the board; terminal is its number or None for a via.

    net: of a plated hole; "" for one that is joined to nothing.
    """

    at: Point
    diameter: float
    plated: bool
    terminal: int | None
    net: str = NET

    @property
    def role(self) -> str:
        """The design's table that it comes from: "via", "terminals", or "hole" for shafts and screws."""
        if self.terminal is not None:
            return "terminals"
        return "via" if self.plated and self.net != NO_NET else "hole"

    @property
    def diameter_key(self) -> str:
        """The design's key of its diameter."""
        return f"{self.role}.{'diameter' if self.role == 'hole' else 'drill'}"


@dataclass(frozen=True, kw_only=True)
class Opening:
    """An opening in the solder mask or coverlay; side is "top" or "bottom".

    window: the closed path of one that is not round; its diameter is then 0.
    """

    side: str
    at: Point
    diameter: float
    window: Path | None = None

    @property
    def path(self) -> Path:
        """Its edge."""
        return self.window or Path((Arc(self.at, self.diameter / 2, 0.0, math.tau),))

    def moved(self, isometry: Isometry) -> "Opening":
        """The image of the opening."""
        window = None if self.window is None else self.window.moved(isometry)
        return replace(self, at=isometry.point(self.at), window=window)


@dataclass(frozen=True, kw_only=True)
class StiffSheet:
    """A stiffener on a face, "top" or "bottom": its closed edge, material, thickness and adhesive's, m."""

    side: str
    path: Path
    material: str
    thickness: float
    adhesive: float

    def moved(self, isometry: Isometry) -> "StiffSheet":
        """The image of the sheet."""
        return replace(self, path=self.path.moved(isometry))


@dataclass(frozen=True, kw_only=True)
class BendLine:
    """The middle of a bend, straight across the tail: from edge to edge; along: half of what is bent, m."""

    path: Path
    along: Point
    says: str

    def moved(self, isometry: Isometry) -> "BendLine":
        """The image of the line."""
        along = isometry.point(self.along) - isometry.point(0j)
        return replace(self, path=self.path.moved(isometry), along=along)

    @property
    def corners(self) -> tuple[Point, ...]:
        """Of the strip that is bent, counter-clockwise or clockwise."""
        first, last = self.path.start, self.path.end
        return first - self.along, last - self.along, last + self.along, first + self.along


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A printed line of the top legend."""

    path: Path
    width: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Art:
    """Everything the fab makes. Traces are stroked with a round tool: round ends, round outer corners.

    copper_layers: of the stack-up, wound or not. outline and pockets are closed paths, counter-clockwise; no
    outline is None.
    """

    copper_layers: int
    traces: tuple[Trace, ...]
    pads: tuple[Pad, ...]
    holes: tuple[Hole, ...]
    openings: tuple[Opening, ...]
    legend: tuple[Stroke, ...]
    outline: Path | None
    pockets: tuple[Path, ...]
    stiffeners: tuple[StiffSheet, ...] = ()
    bends: tuple[BendLine, ...] = ()

    def traces_on(self, layer: int) -> tuple[Trace, ...]:
        """Traces of one copper layer, in current order."""
        return tuple(trace for trace in self.traces if trace.layer == layer)

    def pads_on(self, layer: int) -> tuple[Pad, ...]:
        """Pads of one copper layer."""
        return tuple(pad for pad in self.pads if pad.layer == layer)

    def moved(self, isometry: Isometry) -> "Art":
        """The image of the art."""
        return replace(
            self,
            traces=tuple(replace(each, path=each.path.moved(isometry)) for each in self.traces),
            pads=tuple(each.moved(isometry) for each in self.pads),
            holes=tuple(replace(each, at=isometry.point(each.at)) for each in self.holes),
            openings=tuple(each.moved(isometry) for each in self.openings),
            legend=tuple(replace(each, path=each.path.moved(isometry)) for each in self.legend),
            outline=None if self.outline is None else self.outline.moved(isometry),
            pockets=tuple(each.moved(isometry) for each in self.pockets),
            stiffeners=tuple(each.moved(isometry) for each in self.stiffeners),
            bends=tuple(each.moved(isometry) for each in self.bends),
        )

    def pads_at(self, side: str) -> tuple[Pad, ...]:
        """Pads on the "top" or "bottom" face; a board of one copper layer has none on the bottom."""
        if side == "top":
            return self.pads_on(1)
        return self.pads_on(self.copper_layers) if self.copper_layers > 1 else ()

    def __repr__(self) -> str:
        return (
            f"<Art: {self.copper_layers} copper layers, {len(self.traces)} traces, {len(self.holes)} holes>"
        )


PAST_TERMINALS = 2e-3
"""By which a stiffener goes on past what stands at a tail's end, m; common practice, no source."""


def art(design: Design, coil: Coil) -> Art:
    """The art of a coil without its legend.

    Every via has a pad on every layer and is covered by mask unless the order leaves it open; terminals are
    left open, on flexible boards but for the pad's edge, which the coverlay holds.
    """
    bare = _bare(design, coil)
    flexed = replace(
        bare, stiffeners=tuple(_stiffeners(design, coil, bare)), bends=tuple(_bends(design, coil))
    )
    whole = replace(flexed, outline=coil.tail.outline if coil.tail else _about(design, bare))
    if whole.stiffeners and whole.outline is not None:
        _refuse_off(whole.stiffeners, whole.outline, whole.pockets)
    return whole


def _refuse_off(sheets: Iterable[StiffSheet], edge: Path, pockets: tuple[Path, ...]) -> None:
    """DesignError for stiffeners of which nothing lies on the board."""
    from coilgen.geometry.region import overlaps

    low, high = extent(edge)
    reach = ", ".join(f"{each * 1e3:.6g}" for each in (low.real, low.imag, high.real, high.imag))
    beside = f"lies beside the board, which reaches over [{reach}]; give corners on it"
    over = "lies over the pocket alone, where there is no board to stiffen; give corners beyond the pocket"
    found = [
        Fault(
            key=f"stiffener {number}.beneath", says=over if overlaps(sheet.path, None, edge, ()) else beside
        )
        for number, sheet in enumerate(sheets, start=1)
        if not overlaps(sheet.path, None, edge, pockets)
    ]
    if found:
        raise DesignError(found)


def _bare(design: Design, coil: Coil) -> Art:
    """The art without what is outside its copper."""
    layers = design.board.stackup.layers
    return Art(
        copper_layers=layers,
        traces=coil.traces,
        pads=(*_pads(coil, layers), *_rings(design)),
        holes=(*_holes(coil), *_further(design)),
        openings=tuple(_openings(coil, layers, design)),
        legend=(),
        outline=None,
        pockets=coil.pockets,
    )


def _about(design: Design, bare: Art) -> Path | None:
    """The edge of a board without a tail."""
    return edge(design.board, _stroked(bare), design.rules.limit("copper_to_edge"))


def _pads(coil: Coil, layers: int) -> Iterable[Pad]:
    for terminal in coil.terminals:
        for layer in () if terminal.fingers else _pad_layers(terminal, layers):
            yield Pad(
                layer=layer,
                at=terminal.at,
                diameter=terminal.pad,
                terminal=terminal.number,
                net=terminal.net,
            )
    yield from _fingers(coil)
    for via in coil.vias:
        for layer in range(1, layers + 1):
            yield Pad(layer=layer, at=via.at, diameter=via.pad, terminal=None, net=via.net)


def _fingers(coil: Coil) -> Iterable[Pad]:
    """Contact fingers, and under the coverlay the bars between those of one terminal."""
    for terminal in coil.terminals:
        for finger in terminal.fingers:
            yield Pad(
                layer=terminal.layer,
                at=finger.at,
                diameter=terminal.pad,
                terminal=terminal.number,
                net=terminal.net,
                span=finger.span,
            )
        for one, other in pairwise(terminal.fingers):
            start, end = (each.at - each.span / 2 for each in (one, other))
            yield Pad(
                layer=terminal.layer,
                at=(start + end) / 2,
                diameter=terminal.pad,
                terminal=terminal.number,
                net=terminal.net,
                span=end - start,
            )
    for finger in coil.tail.idle_fingers if coil.tail else ():
        yield Pad(layer=1, at=finger.at, diameter=finger.width, terminal=None, net=NO_NET, span=finger.span)


def _pad_layers(terminal: Terminal, layers: int) -> Iterable[int]:
    return range(1, layers + 1) if terminal.drill else (terminal.layer,)


def _rings(design: Design) -> Iterable[Pad]:
    """Copper round plated holes that belong to no net."""
    ring = design.rules.limit("annular_ring")
    for hole in design.hole if ring else ():
        for layer in range(1, design.board.stackup.layers + 1) if hole.plated else ():
            yield Pad(
                layer=layer,
                at=complex(*hole.at),
                diameter=hole.diameter + 2 * ring,
                terminal=None,
                net=NO_NET,
            )


def _further(design: Design) -> Iterable[Hole]:
    """Holes for shafts, screws and pins, which belong to no net."""
    for hole in design.hole:
        yield Hole(
            at=complex(*hole.at), diameter=hole.diameter, plated=hole.plated, terminal=None, net=NO_NET
        )


def _holes(coil: Coil) -> Iterable[Hole]:
    for via in coil.vias:
        yield Hole(at=via.at, diameter=via.drill, plated=True, terminal=None, net=via.net)
    for terminal in coil.terminals:
        if terminal.drill:
            yield Hole(
                at=terminal.at,
                diameter=terminal.drill,
                plated=True,
                terminal=terminal.number,
                net=terminal.net,
            )


def _openings(coil: Coil, layers: int, design: Design) -> Iterable[Opening]:
    past, hold = design.rules.limit("mask_opening"), design.rules.limit("coverlay_hold")
    sides = {1: "top"} if layers == 1 else {1: "top", layers: "bottom"}
    for layer, side in sides.items():
        for terminal in coil.terminals:
            if layer in _pad_layers(terminal, layers) and not terminal.fingers:
                diameter = terminal.pad + 2 * (-hold if hold else past)
                yield Opening(side=side, at=terminal.at, diameter=diameter)
        for via in coil.vias if design.order.vias == "open" else ():
            yield Opening(side=side, at=via.at, diameter=via.pad + 2 * past)
    if coil.tail is not None and coil.tail.window is not None:
        middle = coil.tail.window.segments[0].start / 2 + coil.tail.window.segments[2].start / 2
        yield Opening(side="top", at=middle, diameter=0.0, window=coil.tail.window)


def _stiffeners(design: Design, coil: Coil, bare: Art) -> Iterable[StiffSheet]:
    for each in design.stiffener:
        yield StiffSheet(
            side=each.place,
            path=_stiffened(each, coil, lambda: _about(design, bare)),
            material=each.material,
            thickness=each.thickness,
            adhesive=each.adhesive,
        )


def _stiffened(stiffener: Stiffener, coil: Coil, board_edge: Callable[[], Path | None]) -> Path:
    """What a stiffener covers: a rectangle, the winding's part of the board, or the end of its tail."""
    if isinstance(stiffener.beneath, tuple):
        left, low, right, high = stiffener.beneath
        middle = complex(left + right, low + high) / 2
        return rectangle(right - left, high - low).moved(Isometry(shift=middle))
    if stiffener.beneath == "winding":
        head = coil.tail.head if coil.tail else board_edge()
        assert head is not None, "a board with a stiffener has an edge"
        return head
    assert coil.tail is not None, "terminals with a stiffener of their own stand at a tail's end"
    tail = coil.tail
    length = stiffener.length or min(tail.length, tail.length - tail.terminals_from + PAST_TERMINALS)
    begin, half = tail.length - length, tail.width / 2
    corners = [tail.at(begin, -half), tail.at(tail.length, -half), tail.at(tail.length, half)]
    return rounded([*corners, tail.at(begin, half)], 0.0)


def _bends(design: Design, coil: Coil) -> Iterable[BendLine]:
    thickness = design.board.stackup.finished_thickness
    for number, bend in enumerate(design.bend, start=1):
        assert coil.tail is not None, "only a tail is bent"
        half = coil.tail.width / 2
        yield BendLine(
            path=Path((Line(coil.tail.at(bend.at, -half), coil.tail.at(bend.at, half)),)),
            along=coil.tail.out * bend.length(thickness) / 2,
            says=bend.told(number),
        )


def copper_extent(art: Art) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle that holds all copper, m."""
    return extent_of(_stroked(art))


def _stroked(art: Art) -> list[tuple[Path | Point, float]]:
    """All copper as paths and points with half their width."""
    traces: list[tuple[Path | Point, float]] = [(trace.path, trace.width / 2) for trace in art.traces]
    return traces + [(end, pad.diameter / 2) for pad in art.pads for end in pad.ends]
