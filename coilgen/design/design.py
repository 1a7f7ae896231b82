"""What was asked for: one frozen model for each table of the design file, SI inside, every value resolved."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    Field,
    GetJsonSchemaHandler,
    PrivateAttr,
    StrictStr,
    ValidationError,
    field_validator,
)
from pydantic_core import CoreSchema

from coilgen.design.agreement import (
    bends_of_tail,
    board_holds_winding,
    cores_in_place,
    magnet_on_bare_face,
    plate_on_free_face,
    pocket_in_winding,
    stiffeners_on_flex,
    tail_on_a_board,
    target_beside_no_magnet,
    terminals_in_reach,
)
from coilgen.design.arrays import Array, order_notes
from coilgen.design.board import Board, Hole, Pocket, Terminals, Via
from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.calibration import WRITTEN, Calibration
from coilgen.design.capability import Rules
from coilgen.design.changes import Written, with_changes
from coilgen.design.composing import valid
from coilgen.design.drive import LEVELS, Drive, Probe, taken_for, tells_drive
from coilgen.design.filling import (
    cores_that_fill,
    listed,
    pocket_with_corners,
    usual_board,
    usual_rules,
    usual_terminals,
    usual_tolerances,
    usual_via,
)
from coilgen.design.flexing import BENT_FLAT, stand_of
from coilgen.design.key_paths import STUDIES
from coilgen.design.keys import Json, Table, file_name, in_si, optional
from coilgen.design.mounting import Mounting
from coilgen.design.mover import Mover
from coilgen.design.optimizing import Search, SearchTable, searched
from coilgen.design.order import Order
from coilgen.design.placing import PlacedWinding
from coilgen.design.stacking import Stand
from coilgen.design.sweeping import Axes, Axis, swept
from coilgen.design.tail import Bend, Stiffener, Tail
from coilgen.design.tolerance import Tolerance
from coilgen.design.validation_messages import MOST_FAULTS, faults, first_of
from coilgen.design.variants import varied
from coilgen.design.when_given import WhenGiven
from coilgen.design.winding import Winding
from coilgen.errors import DesignError, Fault, shown


def _revision(given: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,16}", given):
        raise ValueError(
            f"{shown(given)} marks the board; use 1 to 16 of the letters A to Z, a to z, digits, - and _"
        )
    return given


_TOLD_IF_GIVEN = ("hole", "calibration", "array", "mover", "tail", "stiffener", "bend")
"""Tables that a resolved design leaves out where it has none."""
_SEARCHED = "[optimize] changes nothing by itself; `coilgen optimize` searches for the best board within it"


class Design(Table):
    """A whole design file, every default filled in. Lengths in m, temperatures in degC, the rest in SI."""

    name: Annotated[StrictStr, AfterValidator(file_name)] = Field(
        description="the design's name, used in file names",
        json_schema_extra={"pattern": "^[A-Za-z0-9_-]{1,64}$"},
    )
    note: StrictStr = Field(default="", description="free text, repeated in the files")
    winding: Winding
    array: Annotated[Array | None, WhenGiven()] = None
    mover: Annotated[Mover | None, WhenGiven()] = None
    board: Board = Field(default_factory=dict, validate_default=True)
    rules: Rules = Field(default_factory=dict, validate_default=True)
    pocket: Annotated[Pocket | None, WhenGiven()] = None
    hole: Annotated[tuple[Hole, ...], WhenGiven()] = optional("further holes of the board", ())
    via: Via = Field(default_factory=dict, validate_default=True)
    tail: Annotated[Tail | None, WhenGiven()] = None
    terminals: Terminals = Field(default_factory=dict, validate_default=True)
    stiffener: Annotated[tuple[Stiffener, ...], WhenGiven()] = optional(
        "stiff sheets glued to a flexible board", ()
    )
    bend: Annotated[tuple[Bend, ...], WhenGiven()] = optional("where a tail is bent", ())
    drive: Drive = Field(default_factory=dict, validate_default=True)
    probe: Probe = Field(default_factory=dict, validate_default=True)
    core: Annotated[tuple[Core, ...], WhenGiven()] = optional(
        "soft cores, all mounted together; those of one face are stacked", ()
    )
    magnet: Annotated[Magnet | None, WhenGiven()] = None
    target: Annotated[Target | None, WhenGiven()] = None
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
    calibration: Annotated[Calibration | None, WhenGiven(), WRITTEN] = Field(
        default=None,
        description="file of `coilgen bench`, beside this one: figures of boards made like those",
    )

    _written: Written = PrivateAttr(default=Written({}))
    _windings: tuple[PlacedWinding, ...] = PrivateAttr(default=())

    _board = field_validator("board", mode="before")(usual_board)
    _rules = field_validator("rules", mode="before")(usual_rules)
    _pocket = field_validator("pocket", mode="before")(pocket_with_corners)
    _hole = field_validator("hole", mode="before")(listed)
    _via = field_validator("via", mode="before")(usual_via)
    _terminals = field_validator("terminals", mode="before")(usual_terminals)
    _sheets = field_validator("stiffener", "bend", mode="before")(listed)
    _core = field_validator("core", mode="before")(cores_that_fill)
    _tolerance = field_validator("tolerance", mode="before")(usual_tolerances)

    _covered = field_validator("board", mode="after")(board_holds_winding)
    _inside = field_validator("pocket", mode="after")(pocket_in_winding)
    _on_board = field_validator("tail", mode="after")(tail_on_a_board)
    _reached = field_validator("terminals", mode="after")(terminals_in_reach)
    _stiffened = field_validator("stiffener", mode="after")(stiffeners_on_flex)
    _bent = field_validator("bend", mode="after")(bends_of_tail)
    _placed = field_validator("core", mode="after")(cores_in_place)
    _stuck = field_validator("magnet", mode="after")(magnet_on_bare_face)
    _apart = field_validator("target", mode="after")(target_beside_no_magnet)
    _free = field_validator("mounting", mode="after")(plate_on_free_face)

    @property
    def windings(self) -> tuple[PlacedWinding, ...]:
        """The windings where there are several, in file order; none where one is centred on the board."""
        return self._windings

    def with_windings(self, windings: Iterable[PlacedWinding]) -> "Design":
        """A copy with other windings that the caller knows to be sound."""
        copy = self.unchecked()
        copy._windings = tuple(windings)
        return copy

    def composed(self, windings: Iterable[PlacedWinding], written: Mapping[str, object]) -> "Design":
        """The same with windings that stand on its board, and the tables that tell all of it."""
        whole = self.with_windings(windings)
        whole._written = Written(written)
        return whole

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
        flat = (BENT_FLAT,) if self.bend else ()
        search = () if self.optimize is None else (_SEARCHED,)
        pocket = self.pocket.notes if self.pocket else ()
        return (*self.drive_taken(), *self._of_windings, *self.board.notes, *pocket, *flat, *search)

    def drive_taken(self, varied: Iterable[str] = ()) -> tuple[str, ...]:
        """That a drive is taken as none is told, in a sentence, unless one of the keys varied tells it."""
        told = {key.rpartition(".drive.")[0] for key in varied if key.rpartition(".")[2] in LEVELS}
        if "" in told:
            return ()
        return taken_for(tuple(name for name in self.not_driven if f"winding.{name}" not in told))

    @property
    def not_driven(self) -> tuple[str, ...]:
        """Windings whose drive is not told, so that one is taken; "" for a board's only one, or an array."""
        if self.array is not None or not self.windings:
            return () if tells_drive(self.written) else ("",)
        return tuple(each.name for each in self.windings if not tells_drive(each.design.written))

    @property
    def _of_windings(self) -> tuple[str, ...]:
        if self.array is not None:
            own = self.windings[0].design.winding.notes
            return (*own, *order_notes(self.array, self.written.get("mover")))
        if self.windings:
            return tuple(
                f"{each.name}: {note}" for each in self.windings for note in each.design.winding.notes
            )
        return self.winding.notes

    @classmethod
    def from_tables(cls, given: Mapping[str, object]) -> "Design":
        """The design that a parsed file's tables describe. DesignError carries the first faults found."""
        base = {key: value for key, value in given.items() if key not in STUDIES}
        variants, found = varied(base, given.get("variant", ()), VARIED)
        axes, of_sweep = swept(cls, base, given["sweep"]) if "sweep" in given else ((), [])
        search, of_search = searched(cls, base, given["optimize"]) if "optimize" in given else (None, [])
        found += [*of_sweep, *of_search]
        design, faults_of_base = valid(cls, base)
        made = []
        for each in variants:
            if len(faults_of_base) + len(found) > MOST_FAULTS:
                break
            other, own = valid(cls, each.tables)
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
    def validated(cls, given: Mapping[str, object]) -> "tuple[Design | None, tuple[Fault, ...]]":
        """The design of tables with one winding, or None and every fault in them."""
        try:
            design = cls.model_validate(dict(given))
        except ValidationError as error:
            return None, faults(error, cls)
        design._written = Written(given)
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
            del told["pocket"]  # of a winding, which tells it; here all windings would have it
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
