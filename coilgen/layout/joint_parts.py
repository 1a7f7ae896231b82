"""What joins the coils of an array: which pins belong together, and the copper between them."""

from dataclasses import dataclass
from itertools import pairwise

from coilgen.design.design import Design
from coilgen.design.phases import LETTERS
from coilgen.layout.coil import TailStrip, Terminal, Trace, Via

START, END = 0, 1


@dataclass(frozen=True, order=True)
class Pin:
    """One end of a coil's winding: the coil, from 0, and START or END by the sense of its current."""

    coil: int
    end: int


Spot = Pin | int
"""A place that copper of joints runs between: a pin, or the number of a further one."""


@dataclass(frozen=True, kw_only=True)
class Node:
    """Pins that copper joins, and the number of the board's terminal that goes with them, if one does."""

    pins: tuple[Pin, ...]
    terminal: int | None
    net: str


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A run of a joint's copper between two of its places, in the sense of its trace."""

    start: Spot
    end: Spot
    trace: Trace


@dataclass(frozen=True, kw_only=True)
class Barrel:
    """The plated hole between a place on the top and one on the bottom."""

    top: Spot
    bottom: Spot
    via: Via


@dataclass(frozen=True, kw_only=True)
class Joints:
    """All that joins the coils of an array, with leads down a tail where it has one.

    pins: where each is, as vias of the coils' leads. place: of the board's terminal of a number.
    """

    nodes: tuple[Node, ...]
    pins: tuple[Via, ...]
    barrels: tuple[Barrel, ...]
    pieces: tuple[Piece, ...]
    terminals: tuple[Terminal, ...]
    place: dict[int, Spot]
    strip: TailStrip | None = None


def net_of(design: Design, coil: int) -> str:
    """The net of a coil: of its phase, or of all phases that are joined."""
    array = design.array
    assert array is not None
    if array.connection == "open":
        return LETTERS[design.windings[coil].phase]
    return LETTERS[: array.phase_count]


def nodes_of(design: Design) -> tuple[Node, ...]:
    """Which pins are joined, from phase A on; terminals count with the phases."""
    array = design.array
    assert array is not None
    found: list[Node] = []
    firsts: list[tuple[Pin, ...]] = []
    lasts: list[tuple[Pin, ...]] = []
    for phase in range(array.phase_count):
        own = [k for k, each in enumerate(design.windings) if each.phase == phase]
        net = net_of(design, own[0])
        if array.coils == "parallel":
            firsts.append(tuple(Pin(k, START) for k in own))
            lasts.append(tuple(Pin(k, END) for k in own))
            continue
        firsts.append((Pin(own[0], START),))
        lasts.append((Pin(own[-1], END),))
        found += [
            Node(pins=(Pin(one, END), Pin(other, START)), terminal=None, net=net)
            for one, other in pairwise(own)
        ]
    net = net_of(design, 0)
    for phase, (first, last) in enumerate(zip(firsts, lasts, strict=True)):
        if array.connection == "open":
            own_net = net_of(design, first[0].coil)
            found.append(Node(pins=first, terminal=2 * phase + 1, net=own_net))
            found.append(Node(pins=last, terminal=2 * phase + 2, net=own_net))
        elif array.connection == "star":
            found.append(Node(pins=first, terminal=phase + 1, net=net))
        else:
            found.append(Node(pins=(*lasts[phase - 1], *first), terminal=phase + 1, net=net))
    if array.connection == "star":
        found.append(Node(pins=tuple(pin for last in lasts for pin in last), terminal=None, net=net))
    return tuple(found)
