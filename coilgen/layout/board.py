"""The windings of a board: each wound by itself, put on its own layers, turned, and moved to its place."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.design import Design
from coilgen.design.placing import PlacedWinding
from coilgen.errors import DesignError, Fault
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import LARGEST_GAP
from coilgen.layout.coil import Coil, TailStrip, Terminal, Via
from coilgen.layout.lengths import QUARTERS, Lengths
from coilgen.layout.shape import shape_named
from coilgen.layout.wind import wind

if TYPE_CHECKING:
    from coilgen.layout.shared_tail import End, SharedTail


def alone(design: Design) -> Coil:
    """The coil of a design of one winding, centred; DesignError when something of it has no room."""
    return wind(design)


def wound(design: Design) -> tuple[Coil, ...]:
    """Every winding of a board by itself, centred and unturned, on its own copper layers, as its own net.

    Terminals of winding k are 2 k - 1 and 2 k; leads down a tail are part of it. DesignError with what has no
    room, of all windings.
    """
    coils = _wound(design)
    return coils if design.tail is None or design.array is not None or not coils else _led(design, coils)[0]


def _wound(design: Design) -> tuple[Coil, ...]:
    """Without leads down a tail."""
    coils: list[Coil] = []
    faults: list[Fault] = []
    if design.array is not None:
        coil = alone(design.windings[0].design)
        layers = design.board.stackup.layers
        return tuple(_on_its_layers(each, coil, k, layers) for k, each in enumerate(design.windings, start=1))
    for number, each in enumerate(design.windings, start=1):
        try:
            coils.append(_on_its_layers(each, alone(each.design), number, design.board.stackup.layers))
        except DesignError as error:
            faults += [_of_winding(fault, each, number) for fault in error.faults]
    if faults:
        raise DesignError(faults)
    return tuple(coils)


def _led(design: Design, coils: Sequence[Coil]) -> tuple[tuple[Coil, ...], TailStrip]:
    """Windings by themselves, with their leads down the board's tail; the tail as it lies."""
    from coilgen.layout.shared_tail import shared_tail

    lies = in_place(design, coils)
    groups = [
        list(_ends(each, coil, k)) for k, (each, coil) in enumerate(zip(design.windings, lies, strict=True))
    ]
    pinned = [_pinned(coil) for coil in lies]
    found = shared_tail(design, together(pinned), groups, _gap(design))
    led = [_with_leads(coil, found) for coil in pinned]
    back = (Isometry.placed(each.rotation, each.centre).inverse() for each in design.windings)
    return tuple(coil.moved(away) for coil, away in zip(led, back, strict=True)), found.strip


def _gap(design: Design) -> float:
    """Between copper of any two windings, m."""
    own = [each.design.winding.trace_spacing for each in design.windings]
    return max(design.rules.limit("trace_spacing"), *own)


def _ends(placed: PlacedWinding, coil: Coil, index: int) -> "Iterator[End]":
    """Both ends of a winding, which look out where its terminals' side is."""
    from coilgen.layout.shared_tail import End

    if Lengths(placed.design, shape_named(placed.design.winding.shape)).ends_inside:
        says = (
            "ends inside its turns, and has no lead to the tail: wind an even number of layers in series, or "
            "take a stack-up with one copper layer more than are wound"
        )
        raise DesignError.at(f"winding {index + 1}", says)
    turn = Isometry.placed(placed.rotation, 0j)
    way = turn.point(Isometry(quarters=QUARTERS[placed.design.terminals.side]).point(-1j))
    for terminal in coil.terminals:
        told = f"terminal {terminal.number}, of {placed.name},"
        key = f"winding {index + 1}.rotation"
        yield End(number=terminal.number, net=terminal.net, at=terminal.at, way=way, told=told, key=key)


def _pinned(coil: Coil) -> Coil:
    """A winding whose ends come up to the top through plated holes, where they are on other layers."""
    pins = []
    for terminal in coil.terminals:
        layers = {
            trace.layer
            for trace in coil.traces
            if min(abs(trace.path.start - terminal.at), abs(trace.path.end - terminal.at)) <= LARGEST_GAP
        }
        if layers != {1}:
            joins = tuple(sorted({1, *layers}))
            pad = min(terminal.pad, coil.vias[0].pad) if coil.vias else terminal.pad
            pins.append(Via(at=terminal.at, drill=terminal.drill, pad=pad, joins=joins, net=terminal.net))
    return replace(coil, vias=(*coil.vias, *pins))


def _with_leads(coil: Coil, found: "SharedTail") -> Coil:
    first, last = (found.leads[terminal.number] for terminal in coil.terminals)
    begun = [replace(trace, path=trace.path.reversed()) for trace in reversed(first.traces)]
    return replace(
        coil,
        traces=(*begun, *coil.traces, *last.traces),
        terminals=(first.terminal, last.terminal),
        parallel=tuple(index + len(begun) for index in coil.parallel),
    )


def _of_winding(fault: Fault, placed: PlacedWinding, number: int) -> Fault:
    """By the key that the file has; one that all windings share is told with the winding that lacks room."""
    told = placed.origin.told(fault, number)
    return replace(told, says=f"{fault.says} (for {placed.name})") if told == fault else told


def _on_its_layers(placed: PlacedWinding, coil: Coil, number: int, layers: int) -> Coil:
    """What is led on a layer beyond the wound ones takes the first that the winding does not wind."""
    others = [layer for layer in range(1, layers + 1) if layer not in placed.copper_layers]
    order = (*placed.copper_layers, *others)
    return replace(
        coil,
        traces=tuple(replace(trace, layer=order[trace.layer - 1], net=placed.name) for trace in coil.traces),
        vias=tuple(
            replace(via, joins=tuple(order[layer - 1] for layer in via.joins), net=placed.name)
            for via in coil.vias
        ),
        terminals=tuple(
            _terminal(terminal, order, layers, number, placed.name) for terminal in coil.terminals
        ),
        says=tuple(
            re.sub(r"(?<=copper layer )\d+", lambda told: _layer(told, order), said) for said in coil.says
        ),
    )


def _layer(told: re.Match[str], order: Sequence[int]) -> str:
    return str(order[int(told.group()) - 1])


def _terminal(terminal: Terminal, order: Sequence[int], layers: int, winding: int, net: str) -> Terminal:
    layer = order[terminal.layer - 1]
    if not terminal.drill and layer not in (1, layers):
        raise DesignError.at(
            "terminals.kind", f'"surface-pad" would lie on inner layer {layer}; use "plated-hole"'
        )
    return replace(terminal, number=2 * winding - 2 + terminal.number, layer=layer, net=net)


def in_place(design: Design, coils: Iterable[Coil]) -> tuple[Coil, ...]:
    """The wound coils of a board where they lie on it."""
    return tuple(
        coil.moved(Isometry.placed(placed.rotation, placed.centre))
        for placed, coil in zip(design.windings, coils, strict=True)
    )


def as_one(design: Design, coils: Sequence[Coil]) -> Coil:
    """All copper of a board of several windings that lie in place, with what joins those of an array."""
    if design.array is None or not design.array.joined:
        strip = None if design.tail is None else _led(design, _wound(design))[1]
        return replace(together(coils), tail=strip)
    from coilgen.layout.joint_parts import net_of
    from coilgen.layout.joints import joined, joints, merged

    found = joints(design, coils)
    nets = [net_of(design, k) for k in range(len(coils))]
    return merged(joined(coils, found, nets), found)


def together(coils: Sequence[Coil]) -> Coil:
    """All copper of several coils as one: for what asks only where copper is, not how it is joined."""
    pockets = tuple(dict.fromkeys(pocket for coil in coils for pocket in coil.pockets))
    return Coil(
        traces=tuple(trace for coil in coils for trace in coil.traces),
        vias=tuple(via for coil in coils for via in coil.vias),
        terminals=tuple(terminal for coil in coils for terminal in coil.terminals),
        pockets=pockets,
        turns=sum(coil.turns for coil in coils),
        says=tuple(f"{coil.terminals[0].net}: {said}" for coil in coils for said in coil.says),
    )
