"""What is made: copper, holes, mask openings, legend and profile of the board."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from coilgen.design.design import Design
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.layout.coil import NET, Coil, Terminal, Trace

NO_NET = ""
"""Of copper that is joined to nothing."""


@dataclass(frozen=True, kw_only=True)
class Pad:
    """A round pad on one copper layer; terminal is its number or None for a via's pad.

    use: of pads that a panel has besides its coils, marks to align by, pads and plates of coupons.
    """

    layer: int
    at: Point
    diameter: float
    terminal: int | None
    net: str = NET
    use: Literal["coil", "fiducial", "test", "plate"] = "coil"


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


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A round opening in the solder mask or coverlay; side is "top" or "bottom"."""

    side: str
    at: Point
    diameter: float


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
            pads=tuple(replace(each, at=isometry.point(each.at)) for each in self.pads),
            holes=tuple(replace(each, at=isometry.point(each.at)) for each in self.holes),
            openings=tuple(replace(each, at=isometry.point(each.at)) for each in self.openings),
            legend=tuple(replace(each, path=each.path.moved(isometry)) for each in self.legend),
            outline=None if self.outline is None else self.outline.moved(isometry),
            pockets=tuple(each.moved(isometry) for each in self.pockets),
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


OUTLINE_STEP = 0.5e-3
"""An outline whose size is left open is rounded up to this."""


def art(design: Design, coil: Coil) -> Art:
    """The art of a coil without its legend.

    Every via has a pad on every layer and is covered by mask unless the order leaves it open; terminals are
    left open, on flexible boards but for the pad's edge, which the coverlay holds.
    """
    layers = design.board.stackup.layers
    bare = Art(
        copper_layers=layers,
        traces=coil.traces,
        pads=(*_pads(coil, layers), *_rings(design)),
        holes=(*_holes(coil), *_further(design)),
        openings=tuple(_openings(coil, layers, design)),
        legend=(),
        outline=None,
        pockets=coil.pockets,
    )
    return replace(bare, outline=_outline(design, bare))


def _pads(coil: Coil, layers: int) -> Iterable[Pad]:
    for terminal in coil.terminals:
        for layer in _pad_layers(terminal, layers):
            yield Pad(
                layer=layer,
                at=terminal.at,
                diameter=terminal.pad,
                terminal=terminal.number,
                net=terminal.net,
            )
    for via in coil.vias:
        for layer in range(1, layers + 1):
            yield Pad(layer=layer, at=via.at, diameter=via.pad, terminal=None, net=via.net)


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
            if layer in _pad_layers(terminal, layers):
                diameter = terminal.pad + 2 * (-hold if hold else past)
                yield Opening(side=side, at=terminal.at, diameter=diameter)
        for via in coil.vias if design.order.vias == "open" else ():
            yield Opening(side=side, at=via.at, diameter=via.pad + 2 * past)


def _outline(design: Design, bare: Art) -> Path | None:
    """The board's edge about the coil's centre; a size left open is the least that keeps copper from it."""
    board, margin = design.board, design.rules.limit("copper_to_edge")
    if board.outline == "none":
        return None
    if board.outline == "round":
        return circle(board.size or _stepped(2 * (copper_radius(bare) + margin)))
    low, high = copper_extent(bare)
    across = 2 * max(-low.real, high.real) + 2 * margin
    up = 2 * max(-low.imag, high.imag) + 2 * margin
    if board.outline == "square":
        side = board.size or _stepped(max(across, up))
        return rectangle(side, side, board.corner_radius)
    return rectangle(board.width or _stepped(across), board.height or _stepped(up), board.corner_radius)


def _stepped(size: float) -> float:
    return math.ceil(size / OUTLINE_STEP - 1e-9) * OUTLINE_STEP


def copper_extent(art: Art) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle that holds all copper, m."""
    boxes = [(*extent(trace.path), trace.width / 2) for trace in art.traces]
    boxes += [(pad.at, pad.at, pad.diameter / 2) for pad in art.pads]
    return (
        complex(min(low.real - r for low, _, r in boxes), min(low.imag - r for low, _, r in boxes)),
        complex(max(high.real + r for _, high, r in boxes), max(high.imag + r for _, high, r in boxes)),
    )


def copper_radius(art: Art) -> float:
    """Radius of the circle about the coil's centre that holds all copper, m."""
    pads = [abs(pad.at) + pad.diameter / 2 for pad in art.pads]
    traces = [_farthest(segment) + trace.width / 2 for trace in art.traces for segment in trace.path.segments]
    return max(pads + traces)


def _farthest(segment: Segment) -> float:
    """The largest distance of a piece from the coil's centre, m."""
    ends = max(abs(segment.start), abs(segment.end))
    if isinstance(segment, Arc) and segment.centre and segment.faces(2 * segment.centre):
        return max(ends, abs(segment.centre) + segment.radius)
    return ends
