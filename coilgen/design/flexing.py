"""How tail, terminals, stiffeners and bends of one design must agree."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from coilgen.design.board import Board, Terminals
from coilgen.design.bodies import Core
from coilgen.design.keys import SI, si_of
from coilgen.design.stacking import Stand
from coilgen.design.stackup import Stackup
from coilgen.design.tail import Bend, Stiffener, Tail
from coilgen.errors import Fault
from coilgen.units import in_mm

if TYPE_CHECKING:
    from coilgen.design.design import Design

OPEN_COILS = (
    'leads terminals of coils that are joined; set array.coils to "series" or "parallel", tell the coils as '
    "[[winding]], or leave [tail] out"
)
WITHIN_THE_RING = (
    '"inside" leaves terminals within the ring, with no way to the tail; use "outside", or leave it out'
)
_ONE_ABOVE = (
    '"above" is for the two leads of one winding, and those of several run side by side: leave it out or '
    'use "beside"'
)
BENT_FLAT = (
    "The tail is reckoned flat: bending it leaves resistance as it is, and changes inductance and field by "
    "what its leads do where they then run."
)
FINGER_PITCH = 1e-3
"""m; common practice for flat connectors, no source."""
FINGER_SHARE = 0.7
"""Of the pitch, a finger's width; common practice for flat connectors, no source."""


def at_its_end(tail: Tail, given: Mapping[str, object]) -> Mapping[str, object]:
    """The terminals' table with the tail's side, where it tells none."""
    return {"side": tail.side, **given}


def as_fingers(given: Mapping[str, object]) -> Mapping[str, object]:
    """The table of contact fingers with what it leaves out."""
    pad = si_of(given, "pad", "length") or 0.0
    pitch = si_of(given, "pitch", "length") or max(FINGER_PITCH, round(pad / FINGER_SHARE, 12))
    usual = {"pitch": SI(pitch), "pad": SI(round(FINGER_SHARE * pitch, 12)), "drill": SI(0.0)}
    return {**usual, **given}


def ends_fault(terminals: Terminals, tail: Tail | None, *, one: bool) -> list[Fault]:
    """Terminals that do not stand at a tail's end; one: whether they are of one winding."""
    if tail is None:
        return list(_tailless(terminals))
    found = list(_crossing(terminals.fingers)) if one and terminals.fingers is not None else []
    if terminals.side != tail.side:
        says = f'"{terminals.side}" is not the side of the tail at whose end they stand, "{tail.side}"'
        found.append(Fault(key="terminals.side", says=f"{says}; leave it out"))
    if terminals.distance is not None:
        says = "given besides a tail, at whose end the terminals stand; leave it out and set tail.length"
        found.append(Fault(key="terminals.distance", says=says))
    return found


def _crossing(fingers: Sequence[int]) -> Iterator[Fault]:
    """Fingers of one winding in an order that its leads do not come in."""
    joined = [terminal for terminal in fingers if terminal]
    if joined != sorted(joined) or set(joined) != {1, 2}:
        says = (
            f"{list(fingers)} would make leads cross; those of terminal 1 stand together, then those of "
            "2, as [1, 1, 2, 2] (for the reverse change winding.direction)"
        )
        yield Fault(key="terminals.fingers", says=says)


def shared_faults(tail: Tail, terminals: Terminals, count: int) -> Iterator[Fault]:
    """What of a tail with so many terminals of several windings, or of an array, cannot be."""
    if tail.leads == "above":
        yield Fault(key="tail.leads", says=_ONE_ABOVE)
    fingers = terminals.fingers
    if fingers is None:
        if terminals.count is not None and terminals.count < count:
            says = f"{terminals.count} fingers are too few for {count} terminals; give {count} or more"
            yield Fault(key="terminals.count", says=says)
        return
    absent = [str(number) for number in range(1, count + 1) if number not in fingers]
    if max(fingers, default=0) > count:
        says = f"{list(fingers)} names terminal {max(fingers)}, and there are {count}; name each of them"
        yield Fault(key="terminals.fingers", says=says)
    elif absent:
        says = (
            f"{list(fingers)} has no finger of terminal {', '.join(absent)}; name each of {count} terminals"
        )
        yield Fault(key="terminals.fingers", says=says)


def pins(own: "Design", lead_width: float | None) -> Terminals:
    """Where leads of one of several windings begin their way to a tail, in place of terminals: plated holes
    of a via's size, which leave room for a lead's width, m."""
    via, rules = own.via, own.rules
    gap = max(own.winding.trace_spacing, rules.limit("trace_spacing"))
    pad = max(via.pad, lead_width or own.winding.trace_width)
    plated = own.board.stackup.layers > 1
    return own.terminals.unchecked(
        kind="plated-hole" if plated else "surface-pad",
        drill=via.drill if plated else 0.0,
        pad=pad,
        pitch=max(pad + gap, via.drill + rules.limit("hole_to_hole")),
        distance=None,
        lead_width=None,
    )


def _tailless(terminals: Terminals) -> Iterator[Fault]:
    if terminals.kind == "contact-fingers":
        says = '"contact-fingers" stand at the end of a tail; add a [tail] table, or use another kind'
        yield Fault(key="terminals.kind", says=says)


def stiffener_faults(stiffeners: Sequence[Stiffener], read: Mapping[str, object]) -> list[Fault]:
    """Stiffeners that have nothing to lie beneath."""
    found = []
    board, terminals, tail = read.get("board"), read.get("terminals"), read.get("tail")
    for number, each in enumerate(stiffeners, start=1):
        if isinstance(board, Board) and not board.stackup.flexible:
            says = f"stack-up {board.stackup.name} is stiff already; use a flexible one or leave it out"
            found.append(Fault(key=f"stiffener {number}", says=says))
        elif isinstance(board, Board) and board.outline == "none":
            says = 'has no board to lie on; give board.outline another word than "none"'
            found.append(Fault(key=f"stiffener {number}", says=says))
        if each.beneath == "terminals" and tail is None:
            says = '"terminals" are those at a tail\'s end; add a [tail] table, or give a rectangle'
            found.append(Fault(key=f"stiffener {number}.beneath", says=says))
        if each.beneath == "terminals" and _fingers(terminals) and each.place == "top":
            says = '"top" would cover the contact fingers; use "bottom"'
            found.append(Fault(key=f"stiffener {number}.place", says=says))
        if isinstance(tail, Tail) and each.length is not None and each.length > tail.length:
            says = f"{in_mm(each.length)} is over the tail's {in_mm(tail.length)}; shorten it"
            found.append(Fault(key=f"stiffener {number}.length", says=says))
    return found


def stand_of(cores: tuple[Core, ...], stackup: Stackup, stiffeners: Sequence[Stiffener]) -> Stand:
    """Where bodies stand at the coil: on stiffeners where these lie beneath its centre."""
    heights = {
        place: sum(each.height for each in stiffeners if each.place == place and each.central)
        for place in ("top", "bottom")
    }
    return Stand(cores=cores, thickness=stackup.thickness, above=heights["top"], below=heights["bottom"])


def _fingers(terminals: object) -> bool:
    return isinstance(terminals, Terminals) and terminals.kind == "contact-fingers"


def bend_faults(bends: Sequence[Bend], read: Mapping[str, object]) -> list[Fault]:
    """Bends of what does not bend, and beyond the tail."""
    board, tail = read.get("board"), read.get("tail")
    found = []
    for number, bend in enumerate(bends, start=1):
        if not isinstance(tail, Tail):
            says = "bends a tail; add a [tail] table, or leave it out"
            found.append(Fault(key=f"bend {number}", says=says))
        elif isinstance(board, Board) and not board.stackup.flexible:
            says = f"stack-up {board.stackup.name} does not bend; use a flexible one or leave it out"
            found.append(Fault(key=f"bend {number}", says=says))
        elif isinstance(board, Board):
            found += _beyond(bend, number, tail, board)
    return found


def _beyond(bend: Bend, number: int, tail: Tail, board: Board) -> Iterator[Fault]:
    half = bend.length(board.stackup.finished_thickness) / 2
    if half <= bend.at <= tail.length - half:
        return
    if 2 * half > tail.length:
        says = (
            f"{in_mm(bend.radius)} takes {in_mm(2 * half)} of tail, of which there are {in_mm(tail.length)}"
        )
        yield Fault(key=f"bend {number}.radius", says=f"{says}; lengthen the tail or lower it")
        return
    says = (
        f"{in_mm(bend.at)} puts {in_mm(2 * half)} of bent board beyond the tail of {in_mm(tail.length)}; "
        f"give {in_mm(half)} to {in_mm(tail.length - half)}"
    )
    yield Fault(key=f"bend {number}.at", says=says)
