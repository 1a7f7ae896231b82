"""What was asked for: one frozen model for each table of the design file, SI inside, every value resolved."""

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    Field,
    GetJsonSchemaHandler,
    StrictStr,
    ValidationInfo,
    field_validator,
)
from pydantic_core import CoreSchema

from coilgen.design.board import Board, Pocket, Terminals, Via
from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.capability import Rules
from coilgen.design.drive import Drive, Probe
from coilgen.design.keys import (
    SI,
    Json,
    Refused,
    Table,
    filled,
    optional,
    si_of,
)
from coilgen.design.mounting import BasePlate, Mounting
from coilgen.design.stacking import Stand, fits
from coilgen.design.stackup import Stackup, default_name, with_layers
from coilgen.design.winding import Winding
from coilgen.errors import DesignError, Fault, shown
from coilgen.units import in_mm


def _name(given: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", given):
        raise ValueError(
            f"{shown(given)} names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _"
        )
    return given


MOST_CORES = 20
"""Each is in every other's field: the work grows with their square."""


class Design(Table):
    """A whole design file, every default filled in. Lengths in m, temperatures in degC, the rest in SI."""

    name: Annotated[StrictStr, AfterValidator(_name)] = Field(
        description="the design's name, used in file names",
        json_schema_extra={"pattern": "^[A-Za-z0-9_-]{1,64}$"},
    )
    note: StrictStr = Field(default="", description="free text, repeated in the files")
    winding: Winding
    board: Board = Field(default_factory=dict, validate_default=True)
    rules: Rules = Field(default_factory=dict, validate_default=True)
    pocket: Pocket | None = None
    via: Via = Field(default_factory=dict, validate_default=True)
    terminals: Terminals = Field(default_factory=dict, validate_default=True)
    drive: Drive = Field(default_factory=dict, validate_default=True)
    probe: Probe = Field(default_factory=dict, validate_default=True)
    core: tuple[Core, ...] = optional("soft cores, all mounted together; those of one face are stacked", ())
    magnet: Magnet | None = None
    target: Target | None = None
    mounting: Mounting = Field(default_factory=dict, validate_default=True)
    variant: "tuple[Variant, ...]" = optional("named changes of this design, compared side by side", ())

    @property
    def stand(self) -> Stand:
        """Where cores, magnet and target stand."""
        return Stand(cores=self.core, thickness=self.board.stackup.thickness)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was rounded or has no effect, in sentences for the report."""
        return self.winding.notes + (self.pocket.notes if self.pocket else ())

    def resolved(self) -> dict[str, Any]:
        """Every value as plain lists, numbers and text, SI: for JSON. Of variants the names."""
        names = [variant.name for variant in self.variant]
        return {**self.model_dump(mode="json", exclude={"variant"}), "variant": names}

    @field_validator("board", mode="before")
    @classmethod
    def _board(cls, given: object, info: ValidationInfo) -> object:
        winding: Winding | None = info.data.get("winding")
        if winding is None:
            return given
        outline = "round" if winding.shape == "round" else "square"
        return filled(given, {"stackup": default_name(winding.copper_layers), "outline": outline})

    @field_validator("board", mode="after")
    @classmethod
    def _roomy(cls, board: Board, info: ValidationInfo) -> Board:
        winding: Winding | None = info.data.get("winding")
        faults = [] if winding is None else [*_layers(winding, board.stackup), *_covers(winding, board)]
        if faults:
            raise DesignError(faults)
        return board

    @field_validator("rules", mode="before")
    @classmethod
    def _shop(cls, given: object, info: ValidationInfo) -> object:
        board: Board | None = info.data.get("board")
        return given if board is None else filled(given, {"shop": _default_shop(board.stackup)})

    @field_validator("pocket", mode="before")
    @classmethod
    def _cut(cls, given: object, info: ValidationInfo) -> object:
        rules: Rules | None = info.data.get("rules")
        if rules is None or not isinstance(given, Mapping) or given.get("shape", "round") == "round":
            return given
        size, radius = si_of(given, "size", "length"), rules.pocket_corner_radius
        if "corner_radius" not in given and size is not None and radius > size / 2:
            says = (
                f"{in_mm(size)} is too small for corners of {in_mm(radius)}, the shop's least; "
                f"give {in_mm(2 * radius)} or more, or make it round"
            )
            return {**given, "size": Refused(says)}
        return filled(given, {"corner_radius": SI(radius)})

    @field_validator("pocket", mode="after")
    @classmethod
    def _inside(cls, pocket: Pocket | None, info: ValidationInfo) -> Pocket | None:
        winding: Winding | None = info.data.get("winding")
        if pocket is not None and winding is not None and pocket.size >= winding.inner_size:
            raise DesignError.at(
                "pocket.size",
                f"{in_mm(pocket.size)} does not fit the winding's inner_size, {in_mm(winding.inner_size)}; "
                "make the pocket smaller, or the winding larger or with fewer turns",
            )
        return pocket

    @field_validator("via", mode="before")
    @classmethod
    def _via(cls, given: object, info: ValidationInfo) -> object:
        rules: Rules | None = info.data.get("rules")
        if rules is None:
            return given
        drill = si_of(given, "drill", "length") or max(rules.drill_diameter, 3e-4)
        return filled(given, {"drill": SI(drill), "pad": SI(round(drill + 2 * rules.annular_ring, 12))})

    @field_validator("terminals", mode="before")
    @classmethod
    def _terminals(cls, given: object, info: ValidationInfo) -> object:
        board: Board | None = info.data.get("board")
        single = board is not None and board.stackup.layers == 1
        usual = filled(given, {"kind": "surface-pad" if single else "plated-hole"})
        if not isinstance(usual, Mapping):
            return given
        drill = si_of(usual, "drill", "length") or (1e-3 if usual["kind"] == "plated-hole" else 0.0)
        return filled(usual, {"drill": SI(drill), "pad": SI(max(1.8e-3, round(drill + 0.8e-3, 12)))})

    @field_validator("terminals", mode="after")
    @classmethod
    def _reachable(cls, terminals: Terminals, info: ValidationInfo) -> Terminals:
        board: Board | None = info.data.get("board")
        if board is not None and board.stackup.layers == 1 and terminals.kind == "plated-hole":
            raise DesignError.at(
                "terminals.kind",
                f'stack-up {board.stackup.name} has one copper layer and plates no holes; use "surface-pad"',
            )
        return terminals

    @field_validator("core", mode="before")
    @classmethod
    def _pressed(cls, given: object, info: ValidationInfo) -> object:
        """A core in the pocket fills it unless it says otherwise."""
        if not isinstance(given, list | tuple):
            raise ValueError(
                f"{shown(given)} is no list of tables; write each core as [[core]], in double brackets"
            )
        if len(given) > MOST_CORES:
            raise ValueError(f"{len(given)} given; up to {MOST_CORES} are allowed")
        usual = _pressed_in(info.data.get("board"), info.data)
        return tuple(
            _fill_pocket(each, usual) if isinstance(each, Mapping) and each.get("place") == "pocket" else each
            for each in given
        )

    @field_validator("core", mode="after")
    @classmethod
    def _placed(cls, cores: tuple[Core, ...], info: ValidationInfo) -> tuple[Core, ...]:
        board: Board | None = info.data.get("board")
        if board is None or "pocket" not in info.data:
            return cores
        faults = [
            fault
            for number, core in enumerate(cores, start=1)
            for fault in _in_pocket(core, info.data["pocket"], number)
        ]
        faults += Stand(cores=cores, thickness=board.stackup.thickness).faults()
        if faults:
            raise DesignError(faults)
        return cores

    @field_validator("magnet", mode="after")
    @classmethod
    def _stuck(cls, magnet: Magnet | None, info: ValidationInfo) -> Magnet | None:
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

    @field_validator("target", mode="after")
    @classmethod
    def _apart(cls, target: Target | None, info: ValidationInfo) -> Target | None:
        magnet: Magnet | None = info.data.get("magnet")
        if target is not None and magnet is not None and magnet.place == target.place:
            raise DesignError.at(
                "target.place", f'"{target.place}" is the magnet\'s side too; put them on different sides'
            )
        return target

    @field_validator("mounting", mode="after")
    @classmethod
    def _free_face(cls, mounting: Mounting, info: ValidationInfo) -> Mounting:
        plate, board = mounting.base_plate, info.data.get("board")
        if plate is not None and board is not None:
            stand = Stand(cores=info.data.get("core", ()), thickness=board.stackup.thickness)
            faults = [
                *_raised_off(plate, stand),
                *_beside_magnet(plate, info.data.get("magnet")),
                *_in_gap(plate, info.data),
            ]
            if faults:
                raise DesignError(faults)
        return mounting


class Variant(Table):
    """A design with some of its keys changed."""

    name: StrictStr
    design: Design

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        """As it is written: any keys of the design, none of them needed."""
        tables: Json = {name: {"description": "changes of it"} for name in VARIED}
        name = {"type": "string", "minLength": 1, "maxLength": 64, "description": "what it is called"}
        keys = {
            "type": "array",
            "items": {"type": "string"},
            "description": "keys of the design left out",
        }
        return {
            "type": "object",
            "properties": {"name": name, "without": keys, **tables},
            "required": ["name"],
            "additionalProperties": False,
        }


Design.model_rebuild()

VARIED = tuple(key for key in Design.model_fields if key not in ("name", "variant"))
"""Keys of a design that a variant may hold."""


def _pressed_in(board: Board | None, read: Mapping[str, object]) -> Mapping[str, object]:
    """Lengths of a core that fills the pocket. A faulty table tells its own faults, and none here."""
    thickness = SI(1e-3 if board is None else round(board.stackup.thickness, 12))
    pocket = read.get("pocket")
    if isinstance(pocket, Pocket):
        return {"thickness": thickness, "diameter": SI(pocket.size)}
    if "pocket" not in read:
        return {"thickness": thickness, "diameter": SI(1e-3)}
    says = 'not given; place = "pocket" takes it from a [pocket] table: add one, or put the core on a face'
    return {"thickness": thickness, "diameter": Refused(says)}


def _fill_pocket(given: Mapping[str, object], usual: Mapping[str, object]) -> object:
    round_form = given.get("form", "rod") in ("rod", "disc", "ring")
    return filled(given, usual if round_form else {"thickness": usual["thickness"]})


def _in_pocket(core: Core, pocket: Pocket | None, number: int) -> list[Fault]:
    if core.place != "pocket":
        return []
    if pocket is None:
        says = '"pocket" needs a [pocket] table; add one, or put the core on a face'
        return [Fault(key=f"core {number}.place", says=says)]
    if fits(core, pocket.shape, pocket.size):
        return []
    says = f"{in_mm(max(core.size))} does not go into the pocket of {in_mm(pocket.size)}; make it smaller"
    key = "width" if core.width is not None else "diameter"
    return [Fault(key=f"core {number}.{key}", says=says)]


def _raised_off(plate: BasePlate, stand: Stand) -> list[Fault]:
    """A core on the base plate's face, or out of the pocket there, keeps the plate off the board."""
    key = "mounting.base_plate.place"
    if plate.place in [core.place for core in stand.cores]:
        return [Fault(key=key, says=f'"{plate.place}" carries a core already; use the other face')]
    out = abs(stand.face(plate.place) - Stand(cores=(), thickness=stand.thickness).face(plate.place))
    if out <= 1e-9:
        return []
    says = (
        f'"{plate.place}" has a core {in_mm(out)} out of it; use the other face, or shorten or shift the core'
    )
    return [Fault(key=key, says=says)]


def _beside_magnet(plate: BasePlate, magnet: object) -> Iterator[Fault]:
    """One body only takes a face's heat."""
    if isinstance(magnet, Magnet) and magnet.contact is not None and magnet.place == plate.place:
        says = f'"{plate.place}" has a magnet stuck to it (magnet.contact); use the other face'
        yield Fault(key="mounting.base_plate.place", says=says)


def _in_gap(plate: BasePlate, read: Mapping[str, object]) -> Iterator[Fault]:
    """A base plate between the board and the magnet or target needs room."""
    for name in ("magnet", "target"):
        body = read.get(name)
        if not isinstance(body, Magnet | Target) or body.place != plate.place or plate.thickness < body.gap:
            continue
        says = f"{in_mm(plate.thickness)} stands in the {name}'s gap of {in_mm(body.gap)}"
        yield Fault(key="mounting.base_plate.thickness", says=f"{says}; use the other face or widen that gap")


def _layers(winding: Winding, stackup: Stackup) -> list[Fault]:
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


def _covers(winding: Winding, board: Board) -> list[Fault]:
    """Outlines that the winding's copper would cross whatever the shop."""
    return [
        Fault(
            key=f"board.{key}",
            says=f"{in_mm(side)} is not over the winding's {in_mm(winding.outer_size)}; enlarge the board",
        )
        for key, side in (("size", board.size), ("width", board.width), ("height", board.height))
        if side is not None and side <= winding.outer_size
    ]


def _default_shop(stackup: Stackup) -> str:
    """Flex boards go to the flex shop, copper over 52 um (one and a half ounces) to the heavy one."""
    if stackup.flexible:
        return "flex-standard"
    return "heavy-copper" if max(stackup.copper) > 52e-6 else "rigid-standard"
