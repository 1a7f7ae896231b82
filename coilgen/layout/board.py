"""The windings of a board: each wound by itself, put on its own layers, turned, and moved to its place."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from coilgen.design.design import Design
from coilgen.design.placing import PlacedWinding
from coilgen.errors import DesignError, Fault
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import Coil, Terminal
from coilgen.layout.joint_parts import net_of
from coilgen.layout.joints import joined, joints, merged
from coilgen.layout.wind import wind


def alone(design: Design) -> Coil:
    """The coil of a design of one winding, centred; DesignError when something of it has no room."""
    return wind(design)


def wound(design: Design) -> tuple[Coil, ...]:
    """Every winding of a board by itself, centred and unturned, on its own copper layers, as its own net.

    Terminals of winding k are 2 k - 1 and 2 k. DesignError with what has no room, of all windings.
    """
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
        return together(coils)
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
