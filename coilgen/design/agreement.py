"""How the tables of one design must agree: each held against those that come before it."""

from collections.abc import Iterator, Mapping

from pydantic import ValidationInfo

from coilgen.design.board import Board, Pocket, Terminals
from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.capability import Rules
from coilgen.design.flexing import bend_faults, ends_fault, stand_of, stiffener_faults
from coilgen.design.keys import pair
from coilgen.design.mounting import BasePlate, Mounting
from coilgen.design.stacking import Stand, fits
from coilgen.design.stackup import Stackup, with_layers
from coilgen.design.tail import Bend, Stiffener, Tail
from coilgen.design.winding import SeveralWindings, Winding
from coilgen.errors import DesignError, Fault
from coilgen.units import in_mm, size_in_mm


def single(info: ValidationInfo) -> Winding | None:
    """The one winding of a design that has no faults so far; None where there are several."""
    winding: Winding | None = info.data.get("winding")
    return None if isinstance(winding, SeveralWindings) else winding


def board_holds_winding(board: Board, info: ValidationInfo) -> Board:
    """The board where it has layers and room for the winding; DesignError where not, as in all of these."""
    winding = single(info)
    faults = [] if winding is None else [*layers_fit(winding, board.stackup), *outline_covers(winding, board)]
    if faults:
        raise DesignError(faults)
    return board


def pocket_in_winding(pocket: Pocket | None, info: ValidationInfo) -> Pocket | None:
    """The pocket where it lies in the winding's opening."""
    winding = single(info)
    if pocket is not None and winding is not None and not holds_pocket(winding, pocket):
        raise DesignError.at(
            "pocket.outer_radius" if pocket.ring else "pocket.size",
            f"{pocket.told} does not fit the winding's inner_size, {size_in_mm(winding.inner_size)}; "
            "make the pocket smaller, or the winding larger or with fewer turns",
        )
    return pocket


def tail_on_a_board(tail: Tail | None, info: ValidationInfo) -> Tail | None:
    """A tail of a board that there is."""
    board: Board | None = info.data.get("board")
    if tail is not None and board is not None and board.outline == "none":
        raise DesignError.at("tail", 'has no board to leave; give board.outline another word than "none"')
    return tail


def terminals_in_reach(terminals: Terminals, info: ValidationInfo) -> Terminals:
    """Terminals that the board can carry, at the end of the tail where it has one."""
    board: Board | None = info.data.get("board")
    if board is not None and board.stackup.layers == 1 and terminals.kind == "plated-hole":
        raise DesignError.at(
            "terminals.kind",
            f'stack-up {board.stackup.name} has one copper layer and plates no holes; use "surface-pad"',
        )
    one = not isinstance(info.data.get("winding"), SeveralWindings)
    faults = [] if "tail" not in info.data else ends_fault(terminals, info.data["tail"], one=one)
    if faults:
        raise DesignError(faults)
    rules: Rules | None = info.data.get("rules")
    fingers = terminals.kind == "contact-fingers"
    if rules is not None and not fingers and terminals.pad - 2 * rules.coverlay_hold <= terminals.drill:
        raise DesignError.at("terminals.pad", all_held(terminals, rules.coverlay_hold))
    return terminals


def stiffeners_on_flex(stiffeners: tuple[Stiffener, ...], info: ValidationInfo) -> tuple[Stiffener, ...]:
    """Stiffeners beneath something that bends."""
    if "tail" in info.data and (faults := stiffener_faults(stiffeners, info.data)):
        raise DesignError(faults)
    return stiffeners


def bends_of_tail(bends: tuple[Bend, ...], info: ValidationInfo) -> tuple[Bend, ...]:
    """Bends that lie on the tail."""
    if "tail" in info.data and (faults := bend_faults(bends, info.data)):
        raise DesignError(faults)
    return bends


def cores_in_place(cores: tuple[Core, ...], info: ValidationInfo) -> tuple[Core, ...]:
    """Cores that stand where they are told, clear of one another."""
    board: Board | None = info.data.get("board")
    if board is None or "pocket" not in info.data:
        return cores
    faults = [
        fault
        for number, core in enumerate(cores, start=1)
        for fault in in_pocket(core, info.data["pocket"], number)
    ]
    faults += stand_of(cores, board.stackup, info.data.get("stiffener", ())).faults()
    if faults:
        raise DesignError(faults)
    return cores


def magnet_on_bare_face(magnet: Magnet | None, info: ValidationInfo) -> Magnet | None:
    """A magnet stuck to a face that carries nothing else."""
    cores: tuple[Core, ...] = info.data.get("core", ())
    if magnet is None or magnet.contact is None:
        return magnet
    if magnet.place in [core.place for core in cores]:
        raise DesignError.at(
            "magnet.contact",
            f'"{magnet.contact}" sticks it to the {magnet.place}, which carries a core; leave it out, or '
            "put one of them on the other face",
        )
    return magnet


def target_beside_no_magnet(target: Target | None, info: ValidationInfo) -> Target | None:
    """A target on another side than the magnet's."""
    magnet: Magnet | None = info.data.get("magnet")
    if target is not None and magnet is not None and magnet.place == target.place:
        raise DesignError.at(
            "target.place", f'"{target.place}" is the magnet\'s side too; put them on different sides'
        )
    return target


def plate_on_free_face(mounting: Mounting, info: ValidationInfo) -> Mounting:
    """A base plate on a face that is free for it."""
    plate, board = mounting.base_plate, info.data.get("board")
    if plate is not None and board is not None:
        stand = stand_of(info.data.get("core", ()), board.stackup, info.data.get("stiffener", ()))
        faults = [
            *raised_off(plate, stand),
            *beside_magnet(plate, info.data.get("magnet")),
            *in_gap(plate, info.data),
        ]
        if faults:
            raise DesignError(faults)
    return mounting


def all_held(terminals: Terminals, hold: float) -> str:
    """What is wrong with a pad whose edge the coverlay holds until nothing of it is left to solder."""
    return (
        f"{in_mm(terminals.pad)} leaves nothing to solder: coverlay holds {in_mm(hold)} of its edge; "
        f"use more than {in_mm(terminals.drill + 2 * hold)}, or lower rules.coverlay_hold"
    )


def in_pocket(core: Core, pocket: Pocket | None, number: int) -> list[Fault]:
    """A core that stands in a pocket that is not there, or too small for it."""
    if core.place != "pocket":
        return []
    if pocket is None:
        says = '"pocket" needs a [pocket] table; add one, or put the core on a face'
        return [Fault(key=f"core {number}.place", says=says)]
    if fits(core, pocket):
        return []
    says = f"{in_mm(max(core.size))} does not go into the pocket of {pocket.told}; make it smaller"
    key = "width" if core.width is not None else "diameter"
    return [Fault(key=f"core {number}.{key}", says=says)]


def raised_off(plate: BasePlate, stand: Stand) -> list[Fault]:
    """A core on the base plate's face, or out of the pocket there, keeps the plate off the board."""
    key = "mounting.base_plate.place"
    if plate.place in [core.place for core in stand.cores]:
        return [Fault(key=key, says=f'"{plate.place}" carries a core already; use the other face')]
    out = abs(stand.face(plate.place) - stand.bare(plate.place))
    if out <= 1e-9:
        return []
    says = (
        f'"{plate.place}" has a core {in_mm(out)} out of it; use the other face, or shorten or shift the core'
    )
    return [Fault(key=key, says=says)]


def beside_magnet(plate: BasePlate, magnet: object) -> Iterator[Fault]:
    """One body only takes a face's heat."""
    if isinstance(magnet, Magnet) and magnet.contact is not None and magnet.place == plate.place:
        says = f'"{plate.place}" has a magnet stuck to it (magnet.contact); use the other face'
        yield Fault(key="mounting.base_plate.place", says=says)


def in_gap(plate: BasePlate, read: Mapping[str, object]) -> Iterator[Fault]:
    """A base plate between the board and the magnet or target needs room."""
    for name in ("magnet", "target"):
        body = read.get(name)
        if not isinstance(body, Magnet | Target) or body.place != plate.place or plate.thickness < body.gap:
            continue
        says = f"{in_mm(plate.thickness)} stands in the {name}'s gap of {in_mm(body.gap)}"
        yield Fault(key="mounting.base_plate.thickness", says=f"{says}; use the other face or widen that gap")


def holds_pocket(winding: Winding, pocket: Pocket) -> bool:
    """Whether a pocket's sizes are under those of the winding's opening; the rest is for rules."""
    if winding.ring and pocket.ring:
        low, high = winding.ring - winding.opening / 2, winding.ring + winding.opening / 2
        assert pocket.inner_radius is not None and pocket.outer_radius is not None
        return low < pocket.inner_radius and pocket.outer_radius < high
    if winding.ring or pocket.ring:
        return pocket.least < winding.opening
    return all(own < room for own, room in zip(pocket.sizes, pair(winding.inner_size), strict=True))


def layers_fit(winding: Winding, stackup: Stackup) -> list[Fault]:
    """More wound layers than the stack-up has."""
    if winding.layers <= stackup.layers:
        return []
    fitting = with_layers(winding.layers, flexible=stackup.flexible) or with_layers(
        winding.layers, flexible=False
    )
    says = (
        f"{winding.layers} layers do not fit stack-up {stackup.name}, which has {stackup.layers}; "
        f"lower it or use one of {', '.join(fitting)}"
    )
    return [Fault(key="winding.layers", says=says)]


def outline_covers(winding: Winding, board: Board) -> list[Fault]:
    """Outlines that the winding's copper would cross whatever the shop."""
    across, up = (min(winding.outer),) * 2 if winding.ring else winding.outer
    return [
        Fault(
            key=f"board.{key}",
            says=f"{in_mm(side)} is not over the winding's {in_mm(least)}; enlarge the board",
        )
        for key, side, least in (
            ("size", board.size, max(across, up)),
            ("width", board.width, across),
            ("height", board.height, up),
        )
        if side is not None and side <= least
    ]
