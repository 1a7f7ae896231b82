"""The art of a coil: its pads, holes and openings, and what is outside its copper."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise

from coilgen.artwork.art import NO_NET, Art, BendLine, Hole, Opening, Pad, StiffSheet, stroked
from coilgen.design.design import Design
from coilgen.design.tail import Stiffener
from coilgen.errors import DesignError, Fault
from coilgen.geometry.closed import rectangle, rounded
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.layout.coil import Coil, Terminal
from coilgen.layout.edge import edge

_PAST_TERMINALS = 2e-3
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
    return edge(design.board, stroked(bare), design.rules.limit("copper_to_edge"))


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
    length = stiffener.length or min(tail.length, tail.length - tail.terminals_from + _PAST_TERMINALS)
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
