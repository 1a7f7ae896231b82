"""What was asked for: one frozen model for each table of the design file, SI inside, every value resolved."""

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    Field,
    GetJsonSchemaHandler,
    PrivateAttr,
    StrictStr,
    ValidationError,
    ValidationInfo,
    field_validator,
)
from pydantic_core import CoreSchema

from coilgen.design.agreement import (
    all_held,
    beside_magnet,
    default_shop,
    fill_pocket,
    holds_pocket,
    in_gap,
    in_pocket,
    layers_fit,
    outline_covers,
    pressed_in,
    raised_off,
    usual_pad,
)
from coilgen.design.arrays import (
    ONE_WINDING,
    Array,
    lacks_angle,
    of_one_coil,
    order_notes,
    placements,
    ring_faults,
    usual_outline,
    with_order,
    with_wedge_angle,
)
from coilgen.design.board import Board, Hole, Pocket, Terminals, Via
from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.calibration import WRITTEN, Calibration
from coilgen.design.capability import Rules
from coilgen.design.changes import Written, with_changes
from coilgen.design.drive import Drive, Probe
from coilgen.design.flexing import (
    BENT_FLAT,
    OPEN_COILS,
    WITHIN_THE_RING,
    as_fingers,
    at_its_end,
    bend_faults,
    ends_fault,
    pins,
    shared_faults,
    stand_of,
    stiffener_faults,
)
from coilgen.design.key_paths import STUDIES
from coilgen.design.keys import (
    SI,
    Json,
    Refused,
    Table,
    filled,
    in_si,
    optional,
    si_of,
)
from coilgen.design.mounting import Mounting
from coilgen.design.mover import IN_THE_WAY, IRON_IN_COILS, SIX_STEPS_ONLY, WITHOUT_ARRAY, Mover, mover_faults
from coilgen.design.optimizing import Search, SearchTable, searched
from coilgen.design.order import Order
from coilgen.design.phase_drive import of_coil
from coilgen.design.placing import (
    PlacedWinding,
    asked,
    layer_faults,
    placed,
    repeated,
    with_stackup,
)
from coilgen.design.stacking import Stand
from coilgen.design.stackup import default_name
from coilgen.design.sweeping import Axes, Axis, swept
from coilgen.design.tail import Bend, Stiffener, Tail
from coilgen.design.tolerance import Tolerance, usual
from coilgen.design.validation_messages import MOST_FAULTS, faults, first_of
from coilgen.design.variants import varied
from coilgen.design.winding import SeveralWindings, Winding
from coilgen.design.winding_sizes import sizes_of
from coilgen.errors import DesignError, Fault, shown
from coilgen.units import in_mm, size_in_mm


def _name(given: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", given):
        raise ValueError(
            f"{shown(given)} names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _"
        )
    return given


def _revision(given: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,16}", given):
        raise ValueError(
            f"{shown(given)} marks the board; use 1 to 16 of the letters A to Z, a to z, digits, - and _"
        )
    return given


_TOLD_IF_GIVEN = ("hole", "calibration", "array", "mover", "tail", "stiffener", "bend")
"""Tables that a resolved design leaves out where it has none."""
_SEARCHED = "[optimize] changes nothing by itself; `coilgen optimize` searches for the best board within it"
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
    array: Array | None = None
    mover: Mover | None = None
    board: Board = Field(default_factory=dict, validate_default=True)
    rules: Rules = Field(default_factory=dict, validate_default=True)
    pocket: Pocket | None = None
    hole: tuple[Hole, ...] = optional("further holes of the board", ())
    via: Via = Field(default_factory=dict, validate_default=True)
    tail: Tail | None = None
    terminals: Terminals = Field(default_factory=dict, validate_default=True)
    stiffener: tuple[Stiffener, ...] = optional("stiff sheets glued to a flexible board", ())
    bend: tuple[Bend, ...] = optional("where a tail is bent", ())
    drive: Drive = Field(default_factory=dict, validate_default=True)
    probe: Probe = Field(default_factory=dict, validate_default=True)
    core: tuple[Core, ...] = optional("soft cores, all mounted together; those of one face are stacked", ())
    magnet: Magnet | None = None
    target: Target | None = None
    mounting: Mounting = Field(default_factory=dict, validate_default=True)
    tolerance: Tolerance = Field(default_factory=dict, validate_default=True)
    revision: Annotated[StrictStr, AfterValidator(_revision)] = Field(
        default="A",
        description="of the board, told in the files for the fab; default A",
        json_schema_extra={"pattern": "^[A-Za-z0-9_-]{1,16}$"},
    )
    order: Order = Field(default_factory=dict, validate_default=True)
    variant: "tuple[Variant, ...]" = optional("named changes of this design, compared side by side", ())
    sweep: Annotated[tuple[Axis, ...], Axes()] = optional("keys to vary, each with its values", ())
    optimize: Annotated[Search | None, SearchTable()] = optional("what a search wants, and may vary", None)
    calibration: Annotated[Calibration | None, WRITTEN] = Field(
        default=None,
        description="file of `coilgen bench`, beside this one: figures of boards made like those",
    )

    _written: Written = PrivateAttr(default=Written({}))
    _windings: tuple[PlacedWinding, ...] = PrivateAttr(default=())

    @property
    def windings(self) -> tuple[PlacedWinding, ...]:
        """The windings where there are several, in file order; none where one is centred on the board."""
        return self._windings

    def with_windings(self, windings: Iterable[PlacedWinding]) -> "Design":
        """A copy with other windings that the caller knows to be sound."""
        copy = self.unchecked()
        copy._windings = tuple(windings)
        return copy

    @property
    def written(self) -> Mapping[str, object]:
        """The tables that the design was read from."""
        return self._written.tables

    @property
    def stand(self) -> Stand:
        """Where cores, magnet and target stand; cores of the pocket in each coil of an array."""
        stand = stand_of(self.core, self.board.stackup, self.stiffener)
        if self.array is None:
            return stand
        return replace(stand, pockets=tuple((each.centre, each.rotation) for each in self.windings))

    @property
    def notes(self) -> tuple[str, ...]:
        """What was rounded or has no effect, in sentences for the report."""
        if self.array is not None:
            own = self.windings[0].design.winding.notes
            order = order_notes(self.array, self.written.get("mover"))
            return (*own, *order, *self.board.notes, *self._told_flat)
        if self.windings:
            told = (f"{each.name}: {note}" for each in self.windings for note in each.design.winding.notes)
            return (*told, *self.board.notes, *self._told_flat)
        search = () if self.optimize is None else (_SEARCHED,)
        pocket = self.pocket.notes if self.pocket else ()
        return self.winding.notes + self.board.notes + pocket + self._told_flat + search

    @property
    def _told_flat(self) -> tuple[str, ...]:
        return (BENT_FLAT,) if self.bend else ()

    @classmethod
    def from_tables(cls, given: Mapping[str, object]) -> "Design":
        """The design that a parsed file's tables describe. DesignError carries the first faults found."""
        base = {key: value for key, value in given.items() if key not in STUDIES}
        variants, found = varied(base, given.get("variant", ()), VARIED)
        axes, of_sweep = swept(cls, base, given["sweep"]) if "sweep" in given else ((), [])
        search, of_search = searched(cls, base, given["optimize"]) if "optimize" in given else (None, [])
        found += [*of_sweep, *of_search]
        design, faults_of_base = cls._valid(base)
        made = []
        for each in variants:
            if len(faults_of_base) + len(found) > MOST_FAULTS:
                break
            other, own = cls._valid(each.tables)
            found += [
                Fault(key=f"variant {each.number}.{fault.key}", says=fault.says)
                for fault in own
                if fault not in faults_of_base
            ]
            if other is not None:
                made.append(Variant(name=each.name, design=other))
        if design is None or found:
            raise DesignError(first_of((*faults_of_base, *found)))
        if made or axes or search:
            design = design.unchecked(variant=tuple(made), sweep=axes, optimize=search)
        design._written = Written(given)
        return design

    @classmethod
    def _valid(cls, given: Mapping[str, object]) -> "tuple[Design | None, tuple[Fault, ...]]":
        """The design of a file's tables without variants, or None and every fault in them."""
        design, told = cls._any(given)
        if design is not None and design.array is None:
            told = tuple(_without_array(design))
        return (None if told else design), told

    @classmethod
    def _any(cls, given: Mapping[str, object]) -> "tuple[Design | None, tuple[Fault, ...]]":
        """A design of one winding, of several, or of an array."""
        windings = given.get("winding")
        shared = {key: value for key, value in given.items() if key != "winding"}
        if isinstance(windings, list | tuple):
            if "array" in given:
                return None, (Fault(key="array", says=ONE_WINDING),)
            return cls._several(windings, shared)
        if "array" in given and isinstance(windings, Mapping):
            return cls._repeated(windings, shared)
        return cls._validated(given)

    @classmethod
    def _repeated(
        cls, winding: Mapping[str, object], shared: Mapping[str, object]
    ) -> "tuple[Design | None, tuple[Fault, ...]]":
        """A board of an array: one winding, a design by itself, at many places."""
        shared = with_stackup(shared, [winding], outline=usual_outline(shared["array"]))
        design, told = cls._validated({**shared, "winding": SeveralWindings.stand_in()})
        own, faults_of_own = cls._one_of(winding, shared, None if design is None else design.array)
        found = list(dict.fromkeys([*faults_of_own, *told]))
        if design is not None and own is not None and design.array is not None and not found:
            found = [*ring_faults(design.array, own), *layers_fit(own.winding, design.board.stackup)]
            found += _of_mover(design, design.array)
            found += _tail_of_array(design, design.array)
        if design is None or own is None or design.array is None or found:
            return None, first_of(found)
        array = with_order(design.array, shared.get("mover"))
        design = design.unchecked(array=array)
        design._windings = placements(array, _beside_mover(of_one_coil(array, own), design, array))
        design._written = Written({**shared, "winding": winding})
        return design, ()

    @classmethod
    def _one_of(
        cls, winding: Mapping[str, object], shared: Mapping[str, object], array: Array | None
    ) -> "tuple[Design | None, tuple[Fault, ...]]":
        """The own design of the coil that an array repeats; a wedge has its angle by their number."""
        if not lacks_angle(winding, array) or array is None:
            return cls._validated(repeated(winding, shared))
        narrow = {**winding, "angle": SI(0.9 * math.tau / (array.number or 1))}
        design, told = cls._validated(repeated(narrow, shared))
        if design is None:
            return design, told
        spacing = max(design.winding.trace_spacing, design.rules.limit("trace_spacing"))
        return cls._validated(repeated(with_wedge_angle(winding, array, spacing), shared))

    @classmethod
    def _validated(cls, given: Mapping[str, object]) -> "tuple[Design | None, tuple[Fault, ...]]":
        try:
            design = cls.model_validate(dict(given))
        except ValidationError as error:
            return None, faults(error, cls)
        design._written = Written(given)
        return design, ()

    @classmethod
    def _several(
        cls, given: Sequence[object], shared: Mapping[str, object]
    ) -> "tuple[Design | None, tuple[Fault, ...]]":
        """A board of several windings: each is a design by itself, and what they share is another."""
        shared = with_stackup(shared, given)
        found, told = asked(given, shared)
        windings = []
        for each in found:
            own, faults_of_own = cls._validated(each.tables)
            told += [each.told(fault) for fault in faults_of_own]
            if own is not None:
                windings.append(placed(each, own))
                told += layer_faults(windings[-1], each.number, own.board.stackup.layers)
        design, faults_of_board = cls._validated(
            {**_with_central_pocket(shared, windings), "winding": SeveralWindings.stand_in()}
        )
        told = list(dict.fromkeys([*told, *faults_of_board]))
        if design is not None and design.tail is not None:
            told += shared_faults(design.tail, design.terminals, 2 * len(given))
        if design is None or told:
            return None, first_of(told)
        design._windings = tuple(_toward_tail(each, design) for each in windings)
        design._written = Written({**shared, "winding": given})
        return design, ()

    @classmethod
    def from_resolved(cls, resolved: Mapping[str, Any]) -> "Design":
        """The design that `resolved` told, from SI: its own values or those read back from a JSON file.

        Variants, of which only the names are told, and what a sweep varies are left out. DesignError as for
        a design file.

        >>> from coilgen.design.reading import read_text
        >>> text = 'name = "a"\\n[winding]\\nshape = "round"\\nturns = 5\\ntrace_width = 0.2\\n'
        >>> design = read_text(text + "trace_spacing = 0.2\\nouter_size = 20")
        >>> Design.from_resolved(design.resolved()) == design
        True
        """
        return cls.from_tables({key: in_si(value) for key, value in resolved.items() if key not in STUDIES})

    def changed(self, changes: Mapping[str, object] | None = None, /, **more: object) -> "Design":
        """The design with other values of some keys, all read and checked anew.

        Keys are dotted, `"winding.turns"`, entries of lists count from 1, `"core.1.thickness"`; values are
        those of a design file, `0.2` or `"0.2 mm"`, None leaves a key out. Where all five numbers of the
        winding were given, `inner_size` follows the others. DesignError carries every fault found.
        """
        return type(self).from_tables(with_changes(self._written.tables, {**(changes or {}), **more}))

    def resolved(self) -> dict[str, Any]:
        """Every value as plain lists, numbers and text, SI: for JSON. Of variants the names."""
        left_out = {*STUDIES, *(("winding",) if self.windings else ())}
        left_out |= {key for key in _TOLD_IF_GIVEN if not getattr(self, key)}
        told = self.model_dump(mode="json", exclude=left_out)
        if self.array:
            first = {key: told.pop(key) for key in ("name", "note")}
            own = self.windings[0].design.resolved()
            told = {**first, "winding": own["winding"], **told}
        elif self.windings:
            first = {key: told.pop(key) for key in ("name", "note")}
            told = {**first, "winding": [each.resolved() for each in self.windings], **told}
        return {**told, "variant": [variant.name for variant in self.variant]}

    def __repr__(self) -> str:
        if self.array:
            return f"<Design {self.name}: {self.array.arrangement} of {len(self.windings)} coils>"
        if self.windings:
            return f"<Design {self.name}: {len(self.windings)} windings>"
        winding = self.winding
        layers = f"{winding.layers} layer{'s' if winding.layers > 1 else ''}"
        return f"<Design {self.name}: {winding.shape}, {layers}, {winding.turns:g} turns a layer>"

    __str__ = __repr__

    @field_validator("board", mode="before")
    @classmethod
    def _board(cls, given: object, info: ValidationInfo) -> object:
        winding = _single(info)
        if winding is None:
            return given
        outline = "round" if winding.shape == "round" else "square"
        return filled(given, {"stackup": default_name(winding.copper_layers), "outline": outline})

    @field_validator("board", mode="after")
    @classmethod
    def _roomy(cls, board: Board, info: ValidationInfo) -> Board:
        winding = _single(info)
        faults = (
            [] if winding is None else [*layers_fit(winding, board.stackup), *outline_covers(winding, board)]
        )
        if faults:
            raise DesignError(faults)
        return board

    @field_validator("rules", mode="before")
    @classmethod
    def _shop(cls, given: object, info: ValidationInfo) -> object:
        board: Board | None = info.data.get("board")
        return given if board is None else filled(given, {"shop": default_shop(board.stackup)})

    @field_validator("pocket", mode="before")
    @classmethod
    def _cut(cls, given: object, info: ValidationInfo) -> object:
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

    @field_validator("pocket", mode="after")
    @classmethod
    def _inside(cls, pocket: Pocket | None, info: ValidationInfo) -> Pocket | None:
        winding = _single(info)
        if pocket is not None and winding is not None and not holds_pocket(winding, pocket):
            raise DesignError.at(
                "pocket.outer_radius" if pocket.ring else "pocket.size",
                f"{pocket.told} does not fit the winding's inner_size, {size_in_mm(winding.inner_size)}; "
                "make the pocket smaller, or the winding larger or with fewer turns",
            )
        return pocket

    @field_validator("hole", mode="before")
    @classmethod
    def _holes(cls, given: object) -> object:
        return _listed(given, "hole")

    @field_validator("via", mode="before")
    @classmethod
    def _via(cls, given: object, info: ValidationInfo) -> object:
        rules: Rules | None = info.data.get("rules")
        if rules is None:
            return given
        drill = si_of(given, "drill", "length") or max(rules.drill_diameter, 3e-4)
        return filled(given, {"drill": SI(drill), "pad": usual_pad(drill, rules.annular_ring)})

    @field_validator("tail", mode="after")
    @classmethod
    def _on_a_board(cls, tail: Tail | None, info: ValidationInfo) -> Tail | None:
        board: Board | None = info.data.get("board")
        if tail is not None and board is not None and board.outline == "none":
            raise DesignError.at("tail", 'has no board to leave; give board.outline another word than "none"')
        return tail

    @field_validator("terminals", mode="before")
    @classmethod
    def _terminals(cls, given: object, info: ValidationInfo) -> object:
        board: Board | None = info.data.get("board")
        single = board is not None and board.stackup.layers == 1
        usual = filled(given, {"kind": "surface-pad" if single else "plated-hole"})
        if not isinstance(usual, Mapping):
            return given
        tail: Tail | None = info.data.get("tail")
        if tail is not None:
            usual = at_its_end(tail, usual)
        if usual["kind"] == "contact-fingers":
            return as_fingers(usual)
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
        one = not isinstance(info.data.get("winding"), SeveralWindings)
        faults = [] if "tail" not in info.data else ends_fault(terminals, info.data["tail"], one=one)
        if faults:
            raise DesignError(faults)
        rules: Rules | None = info.data.get("rules")
        fingers = terminals.kind == "contact-fingers"
        if rules is not None and not fingers and terminals.pad - 2 * rules.coverlay_hold <= terminals.drill:
            raise DesignError.at("terminals.pad", all_held(terminals, rules.coverlay_hold))
        return terminals

    @field_validator("stiffener", "bend", mode="before")
    @classmethod
    def _in_lists(cls, given: object, info: ValidationInfo) -> object:
        return _listed(given, str(info.field_name))

    @field_validator("stiffener", mode="after")
    @classmethod
    def _stiffened(cls, stiffeners: tuple[Stiffener, ...], info: ValidationInfo) -> tuple[Stiffener, ...]:
        if "tail" in info.data and (faults := stiffener_faults(stiffeners, info.data)):
            raise DesignError(faults)
        return stiffeners

    @field_validator("bend", mode="after")
    @classmethod
    def _bent(cls, bends: tuple[Bend, ...], info: ValidationInfo) -> tuple[Bend, ...]:
        if "tail" in info.data and (faults := bend_faults(bends, info.data)):
            raise DesignError(faults)
        return bends

    @field_validator("core", mode="before")
    @classmethod
    def _pressed(cls, given: object, info: ValidationInfo) -> object:
        """A core in the pocket fills it unless it says otherwise."""
        given = _listed(given, "core")
        if len(given) > MOST_CORES:
            raise ValueError(f"{len(given)} given; up to {MOST_CORES} are allowed")
        usual = pressed_in(info.data.get("board"), info.data)
        return tuple(
            fill_pocket(each, usual) if isinstance(each, Mapping) and each.get("place") == "pocket" else each
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
            for fault in in_pocket(core, info.data["pocket"], number)
        ]
        faults += stand_of(cores, board.stackup, info.data.get("stiffener", ())).faults()
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

    @field_validator("tolerance", mode="before")
    @classmethod
    def _tolerances(cls, given: object, info: ValidationInfo) -> object:
        read = info.data
        if any(name not in read for name in ("board", "rules", "core", "magnet", "target")):
            return given
        bodies = [body for body in (*read["core"], read["target"]) if body is not None]
        mover: Mover | None = read.get("mover")
        magnet = read["magnet"] if mover is None else mover.magnet
        return filled(given, usual(read["rules"].shop, read["board"].stackup, bodies, magnet))

    @field_validator("mounting", mode="after")
    @classmethod
    def _free_face(cls, mounting: Mounting, info: ValidationInfo) -> Mounting:
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


def _listed(given: object, name: str) -> list[object] | tuple[object, ...]:
    """A list of tables; ValueError for anything else."""
    if not isinstance(given, list | tuple):
        raise ValueError(
            f"{shown(given)} is no list of tables; write each {name} as [[{name}]], in double brackets"
        )
    return given


def _single(info: ValidationInfo) -> Winding | None:
    """The one winding of a design that has no faults so far; None where there are several."""
    winding: Winding | None = info.data.get("winding")
    return None if isinstance(winding, SeveralWindings) else winding


def _without_array(design: Design) -> Iterator[Fault]:
    """A mover, or what only a mover has, of a board without an array."""
    if design.mover is not None:
        yield Fault(key="mover", says=WITHOUT_ARRAY)
    drives = [("drive", design.drive)]
    drives += [(f"winding {k}.drive", each.design.drive) for k, each in enumerate(design.windings, start=1)]
    for key, drive in drives:
        if drive.waveform == "six-step" and design.mover is None:
            yield Fault(key=f"{key}.waveform", says=SIX_STEPS_ONLY)


def _tail_of_array(design: Design, array: Array) -> list[Fault]:
    """What of an array's tail cannot be."""
    if design.tail is None:
        return []
    if not array.joined:
        return [Fault(key="tail", says=OPEN_COILS)]
    if array.joints == "inside":
        return [Fault(key="array.joints", says=WITHIN_THE_RING)]
    count = array.phase_count * (2 if array.connection == "open" else 1)
    return list(shared_faults(design.tail, design.terminals, count))


def _toward_tail(winding: PlacedWinding, design: Design) -> PlacedWinding:
    """One of several windings, with pins in place of terminals where these stand at a tail's end."""
    if design.tail is None:
        return winding
    terminals = pins(winding.design, design.terminals.lead_width)
    return replace(winding, design=winding.design.unchecked(terminals=terminals), on_tail=True)


def _of_mover(design: Design, array: Array) -> list[Fault]:
    """What of an array's design does not go with its mover, or without one."""
    if design.mover is None:
        six_steps = design.drive.waveform == "six-step"
        return [Fault(key="drive.waveform", says=SIX_STEPS_ONLY)] if six_steps else []
    others = {"magnet": design.magnet, "target": design.target}
    between = [
        Fault(key=f"core {number}.place", says=IRON_IN_COILS)
        for number, core in enumerate(design.core, start=1)
        if core.place == "pocket"
    ]
    between += [
        Fault(key=f"core {number}.place", says=IN_THE_WAY.format(core.place))
        for number, core in enumerate(design.core, start=1)
        if core.place in design.mover.faces
    ]
    plate = design.mounting.base_plate
    return [
        *between,
        *mover_faults(design.mover, array.arrangement, array.phase_count, design.drive, plate, others),
    ]


def _beside_mover(coil: Design, design: Design, array: Array) -> Design:
    """A coil's own design, driven as warm as in its phase where a mover passes."""
    if design.mover is None or array.number is None:
        return coil
    own = array.number // array.phase_count
    in_series, in_parallel = (1, own) if array.coils == "parallel" else (own, 1)
    return coil.unchecked(
        drive=of_coil(design.drive, array.phase_count, array.connection, in_series, in_parallel)
    )


def _with_central_pocket(
    shared: Mapping[str, object], windings: Sequence[PlacedWinding]
) -> Mapping[str, object]:
    """The board's tables with the pocket of the winding at its centre, into which cores may go."""
    central = [each.design.pocket for each in windings if each.centre == 0 and each.design.pocket]
    kept = {key: value for key, value in shared.items() if key != "pocket"}
    return {**kept, "pocket": central[0]} if central else kept


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

VARIED = tuple(key for key in Design.model_fields if key not in ("name", "calibration", *STUDIES))
"""Keys of a design that a variant may hold; what a bench taught holds for all of them."""


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
