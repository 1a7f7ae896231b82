"""How the tables of one design must agree: what fills the pocket, what covers what."""

from collections.abc import Iterator, Mapping

from coilgen.design.board import Board, Pocket, Terminals
from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.keys import SI, Refused, filled, pair
from coilgen.design.mounting import BasePlate
from coilgen.design.stacking import Stand, fits
from coilgen.design.stackup import Stackup, with_layers
from coilgen.design.winding import Winding
from coilgen.errors import Fault
from coilgen.units import in_mm


def usual_pad(drill: float, ring: float) -> SI | Refused:
    """Diameter of a via's pad that is not given."""
    if ring > 0:
        return SI(round(drill + 2 * ring, 12))
    return Refused(
        f"not given, and rules.annular_ring leaves no copper round a drill of {in_mm(drill)}; give one"
    )


def all_held(terminals: Terminals, hold: float) -> str:
    """What is wrong with a pad whose edge the coverlay holds until nothing of it is left to solder."""
    return (
        f"{in_mm(terminals.pad)} leaves nothing to solder: coverlay holds {in_mm(hold)} of its edge; "
        f"use more than {in_mm(terminals.drill + 2 * hold)}, or lower rules.coverlay_hold"
    )


def pressed_in(board: Board | None, read: Mapping[str, object]) -> Mapping[str, object]:
    """Lengths of a core that fills the pocket. A faulty table tells its own faults, and none here."""
    thickness = SI(1e-3 if board is None else round(board.stackup.thickness, 12))
    pocket = read.get("pocket")
    if isinstance(pocket, Pocket):
        width, depth = pocket.sizes
        across = {"width": SI(width), "depth": SI(depth)} if pocket.shape == "rectangular" else {}
        return {"thickness": thickness, "diameter": SI(pocket.least), **across}
    if "pocket" not in read:
        return {"thickness": thickness, "diameter": SI(1e-3)}
    says = 'not given; place = "pocket" takes it from a [pocket] table: add one, or put the core on a face'
    return {"thickness": thickness, "diameter": Refused(says)}


def fill_pocket(given: Mapping[str, object], usual: Mapping[str, object]) -> object:
    """A core in the pocket with the lengths it leaves out."""
    round_form = given.get("form", "rod") in ("rod", "disc", "ring")
    wanted = ("thickness", "diameter") if round_form else ("thickness", "width", "depth")
    return filled(given, {key: value for key, value in usual.items() if key in wanted})


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


def default_shop(stackup: Stackup) -> str:
    """Flex boards go to the flex shop, copper over 52 um (one and a half ounces) to the heavy one."""
    if stackup.flexible:
        return "flex-standard"
    return "heavy-copper" if max(stackup.copper) > 52e-6 else "rigid-standard"
