"""What a design file leaves out, filled in from the tables that come before."""

from collections.abc import Mapping

from pydantic import ValidationError, ValidationInfo

from coilgen.design.agreement import single
from coilgen.design.board import Board, Pocket
from coilgen.design.capability import Rules
from coilgen.design.flexing import as_fingers, at_its_end
from coilgen.design.keys import SI, Refused, filled, si_of
from coilgen.design.mover import Mover
from coilgen.design.stackup import Stackup, default_name
from coilgen.design.tail import Tail
from coilgen.design.tolerance import usual
from coilgen.design.winding_sizes import sizes_of
from coilgen.errors import shown
from coilgen.units import in_mm

MOST_CORES = 20
"""Each is in every other's field: the work grows with their square."""


def usual_board(given: object, info: ValidationInfo) -> object:
    """A board with a stack-up of as many layers as are wound, in the outline of the winding."""
    winding = single(info)
    if winding is None:
        return given
    outline = "round" if winding.shape == "round" else "square"
    return filled(given, {"stackup": default_name(winding.copper_layers), "outline": outline})


def usual_rules(given: object, info: ValidationInfo) -> object:
    """Rules of the shop that makes the board's stack-up."""
    board: Board | None = info.data.get("board")
    return given if board is None else filled(given, {"shop": default_shop(board.stackup)})


def pocket_with_corners(given: object, info: ValidationInfo) -> object:
    """A pocket with the corners that the shop can cut; refused where it has no room for them."""
    rules: Rules | None = info.data.get("rules")
    if rules is None or not isinstance(given, Mapping):
        return given
    if given.get("shape", "round") in ("round", "racetrack"):
        return given
    sizes, radius = sizes_of(given, "size"), rules.pocket_corner_radius
    size = None if sizes is None else min(sizes)
    if "corner_radius" not in given and size is not None and radius > size / 2:
        says = (
            f"{in_mm(size)} is too small for corners of {in_mm(radius)}, the shop's least; "
            f"give {in_mm(2 * radius)} or more, or make it round"
        )
        return {**given, "size": Refused(says)}
    if "corner_radius" not in given and given.get("shape") == "wedge":
        given = _with_room_for_corners(given, radius)
    return filled(given, {"corner_radius": SI(radius)})


def usual_via(given: object, info: ValidationInfo) -> object:
    """A via of the least drill that shop and habit take, and its pad."""
    rules: Rules | None = info.data.get("rules")
    if rules is None:
        return given
    drill = si_of(given, "drill", "length") or max(rules.drill_diameter, 3e-4)
    return filled(given, {"drill": SI(drill), "pad": usual_pad(drill, rules.annular_ring)})


def usual_terminals(given: object, info: ValidationInfo) -> object:
    """Terminals of the kind, drill and pad that go with the board and its tail."""
    board: Board | None = info.data.get("board")
    bare = board is not None and board.stackup.layers == 1
    usual = filled(given, {"kind": "surface-pad" if bare else "plated-hole"})
    if not isinstance(usual, Mapping):
        return given
    tail: Tail | None = info.data.get("tail")
    if tail is not None:
        usual = at_its_end(tail, usual)
    if usual["kind"] == "contact-fingers":
        return as_fingers(usual)
    drill = si_of(usual, "drill", "length") or (1e-3 if usual["kind"] == "plated-hole" else 0.0)
    return filled(usual, {"drill": SI(drill), "pad": SI(max(1.8e-3, round(drill + 0.8e-3, 12)))})


def cores_that_fill(given: object, info: ValidationInfo) -> object:
    """A core in the pocket fills it unless it says otherwise."""
    given = listed(given, info)
    if len(given) > MOST_CORES:
        raise ValueError(f"{len(given)} given; up to {MOST_CORES} are allowed")
    usual = pressed_in(info.data.get("board"), info.data)
    return tuple(
        fill_pocket(each, usual) if isinstance(each, Mapping) and each.get("place") == "pocket" else each
        for each in given
    )


def usual_tolerances(given: object, info: ValidationInfo) -> object:
    """Tolerances of the shop's, stack-up's and materials' rows."""
    read = info.data
    if any(name not in read for name in ("board", "rules", "core", "magnet", "target")):
        return given
    bodies = [body for body in (*read["core"], read["target"]) if body is not None]
    mover: Mover | None = read.get("mover")
    magnet = read["magnet"] if mover is None else mover.magnet
    return filled(given, usual(read["rules"].shop, read["board"].stackup, bodies, magnet))


def _with_room_for_corners(wedge: Mapping[str, object], radius: float) -> Mapping[str, object]:
    """A wedge's table as written; refused where the corners that it leaves to the shop, m, do not fit."""
    try:
        pocket = Pocket.model_validate({**wedge, "corner_radius": SI(0.0)})
    except ValidationError:
        return wedge  # its own faults are told when it is read
    if radius <= pocket.widest_corner:
        return wedge
    says = (
        f"not given; the default, the shop's least of {in_mm(radius)}, is over "
        f"{in_mm(pocket.widest_corner)}, the most that {pocket.told} has room for; make the wedge larger"
    )
    return {**wedge, "corner_radius": Refused(says)}


def listed(given: object, info: ValidationInfo) -> list[object] | tuple[object, ...]:
    """A list of tables; ValueError for anything else."""
    if not isinstance(given, list | tuple):
        name = info.field_name
        raise ValueError(
            f"{shown(given)} is no list of tables; write each {name} as [[{name}]], in double brackets"
        )
    return given


def usual_pad(drill: float, ring: float) -> SI | Refused:
    """Diameter of a via's pad that is not given."""
    if ring > 0:
        return SI(round(drill + 2 * ring, 12))
    return Refused(
        f"not given, and rules.annular_ring leaves no copper round a drill of {in_mm(drill)}; give one"
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


def default_shop(stackup: Stackup) -> str:
    """Flex boards go to the flex shop, copper over 52 um (one and a half ounces) to the heavy one."""
    if stackup.flexible:
        return "flex-standard"
    return "heavy-copper" if max(stackup.copper) > 52e-6 else "rigid-standard"
