"""What was asked for: one frozen model for each table of the design file, SI inside, every value resolved."""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    Field,
    ModelWrapValidatorHandler,
    PrivateAttr,
    StrictStr,
    ValidationInfo,
    field_validator,
    model_validator,
)

from coilgen import sizing
from coilgen.catalogue import rows
from coilgen.errors import DesignError, Fault, shown
from coilgen.fields import (
    SI,
    Current,
    Frequency,
    Length,
    LengthOrZero,
    Lengths,
    Quantity,
    Ratio,
    Refused,
    Row,
    Share,
    Specimen,
    Table,
    Temperature,
    Turns,
    Voltage,
    Whole,
    Word,
    told,
)
from coilgen.stackup import ByName, Stackup, default_name, named, with_layers
from coilgen.units import quantity, written

Outline = Literal["none", "round", "square", "rectangle"]
Corner = Literal["sharp", "chamfered", "rounded"]
Direction = Literal["counterclockwise", "clockwise"]
PocketShape = Literal["round", "square", "hexagonal"]
TerminalKind = Literal["plated-hole", "surface-pad"]
Side = Literal["north", "east", "south", "west"]
Waveform = Literal["dc", "square", "sine"]

LIMITS = (
    "trace_width",
    "trace_spacing",
    "annular_ring",
    "drill_diameter",
    "drill_aspect_ratio",
    "hole_to_hole",
    "copper_to_edge",
    "copper_to_pocket",
    "hole_to_pocket",
    "pocket_corner_radius",
    "mask_web",
    "mask_opening",
    "board_size",
    "layer_count",
)


def _fault(key: str, says: str) -> DesignError:
    return DesignError((Fault(key=key, says=says),))


def _mm(length: float) -> str:
    return written(length, "length")


def _filled(given: object, usual: Mapping[str, object]) -> object:
    """A written table with what it leaves out; anything but a table is left for its model to refuse."""
    return {**usual, **given} if isinstance(given, Mapping) else given


def _read(given: object, key: str, dimension: str) -> float | None:
    """The SI value of one key of a written table, None when it is left out or faulty."""
    if not isinstance(given, Mapping) or key not in given:
        return None
    try:
        return float(given[key]) if isinstance(given[key], SI) else quantity(given[key], dimension)
    except ValueError:
        return None


class Winding(Table):
    """The spiral of one layer and how many layers carry it; sizes are over the copper."""

    shape: Annotated[str, Specimen("coilgen.shapes")] = Field(description="from `coilgen list shapes`")
    layers: Annotated[int, Whole(least=1, most=8)] = Field(
        default=1, description="copper layers wound, counted from the top; default 1"
    )
    turns: Turns = told("turns on each layer; whole when derived (rounded down)", 1.0)
    trace_width: Length = told("width of the trace", 0.0)
    trace_spacing: Length = told("clear distance between neighbouring turns, copper edge to copper edge", 0.0)
    outer_size: Length = told("over the winding's copper: diameter (round) or across flats", 0.0)
    inner_size: Length = told("clear opening inside the winding's copper, measured as outer_size", 0.0)
    direction: Annotated[Direction, Word()] = Field(
        default="counterclockwise", description="sense of the current from terminal 1, seen from the top"
    )
    corner: Annotated[Corner, Word()] = Field(default="sharp", description="of polygons")
    corner_size: LengthOrZero = told(
        "radius of a rounded corner, or length a chamfer takes off each side; default the trace width", 0.0
    )
    _notes: tuple[str, ...] = PrivateAttr(default=())

    @model_validator(mode="wrap")
    @classmethod
    def _complete(cls, given: Any, handler: ModelWrapValidatorHandler["Winding"]) -> "Winding":
        """Derives the fifth number, and keeps a note of what was rounded on the way."""
        if not isinstance(given, Mapping):
            return handler(given)
        sizes, notes = _five(given)
        winding = handler(_corner({**given, **sizes}))
        winding._notes = notes
        return winding

    @property
    def notes(self) -> tuple[str, ...]:
        """What was changed or has no effect, in sentences."""
        if self.shape == "round" and self.corner != "sharp":
            return (*self._notes, "winding.corner has no effect on a round winding.")
        return self._notes


def _five(given: Mapping[str, object]) -> tuple[dict[str, object], tuple[str, ...]]:
    """What to put in place of the given five numbers, and notes; nothing while one of them is faulty."""
    present = [name for name in sizing.NUMBERS if name in given]
    if len(present) < 4:
        return _too_few(present), ()
    dimensions = {"turns": "number"}
    numbers = {name: _read(given, name, dimensions.get(name, "length")) for name in present}
    sound = {name: value for name, value in numbers.items() if value is not None and value > 0}
    if len(sound) < len(present):
        return {}, ()
    return _agreeing(sound) if len(sound) == 5 else _derived(sound)


def _too_few(present: list[str]) -> dict[str, object]:
    missing = [name for name in sizing.NUMBERS if name not in present]
    needed = 4 - len(present)
    return {
        missing[0]: Refused(
            f"not given; four of {', '.join(sizing.NUMBERS)} are needed and {len(present)} given: "
            f"add {needed} of {', '.join(missing)}, for instance {_EXAMPLES[missing[0]]}"
        )
    }


_EXAMPLES = {
    "turns": "turns = 14",
    "trace_width": 'trace_width = "0.2 mm"',
    "trace_spacing": 'trace_spacing = "0.2 mm"',
    "outer_size": 'outer_size = "24 mm"',
    "inner_size": 'inner_size = "8 mm"',
}


def _agreeing(numbers: dict[str, float]) -> tuple[dict[str, object], tuple[str, ...]]:
    over = sizing.disagreement(numbers)
    if abs(over) <= sizing.AGREEMENT:
        return {}, ()
    return {
        "outer_size": Refused(
            f"{_mm(numbers['outer_size'])} is {_mm(abs(over))} {'over' if over > 0 else 'under'} the "
            f"{_mm(numbers['outer_size'] - over)} that turns, trace_width, trace_spacing and inner_size make; "
            "leave one of the five out and it is derived"
        )
    }, ()


def _derived(numbers: dict[str, float]) -> tuple[dict[str, object], tuple[str, ...]]:
    try:
        values, notes = sizing.derived(numbers)
    except sizing.Unfit as unfit:
        (missing,) = set(sizing.NUMBERS) - set(numbers)
        return {missing: Refused(f"cannot be derived: {unfit}")}, ()
    return {name: SI(value) for name, value in values.items()}, notes


def _corner(given: dict[str, Any]) -> dict[str, Any]:
    """A cut corner without a size gets the trace width."""
    cut = given.get("corner", "sharp") != "sharp"
    if not cut and "corner_size" in given:
        return {
            **given,
            "corner_size": Refused('has no use on sharp corners; set corner = "chamfered" or "rounded"'),
        }
    width = _read(given, "trace_width", "length")
    return {"corner_size": SI(width), **given} if cut and width is not None else given


class Board(Table):
    """The board round the winding; its centre is the coil's."""

    stackup: Annotated[Stackup, ByName()] = Field(
        default_factory=lambda: named(default_name(1)),
        description="a name from `coilgen list stackups`, or a table; default a rigid one that takes the layers",
    )
    outline: Annotated[Outline, Word()] = Field(
        default="square", description="default round for a round winding, else square"
    )
    size: Length | None = Field(
        default=None, description="diameter or side of a round or square outline; default what the art needs"
    )
    width: Length | None = Field(default=None, description="of a rectangle; default what the art needs")
    height: Length | None = Field(default=None, description="of a rectangle; default what the art needs")
    corner_radius: LengthOrZero = told("of a square or rectangular outline; default 0", 0.0)

    @model_validator(mode="after")
    def _measures(self) -> "Board":
        faults = [
            Fault(
                key=f"board.{key}", says=f'has no use with outline = "{self.outline}"; {_fits(self.outline)}'
            )
            for key in ("size", "width", "height", "corner_radius")
            if key in self.model_fields_set and key not in _MEASURES[self.outline]
        ]
        if self.outline == "rectangle" and (self.width is None) != (self.height is None):
            lone = "width" if self.height is None else "height"
            faults.append(Fault(key=f"board.{lone}", says="not given; give width and height, or neither"))
        sides = [side for side in (self.size, self.width, self.height) if side is not None]
        if sides and self.corner_radius > min(sides) / 2:
            faults.append(
                Fault(
                    key="board.corner_radius",
                    says=f"{_mm(self.corner_radius)} is over half the smallest side, {_mm(min(sides))}; make it smaller",
                )
            )
        if faults:
            raise DesignError(faults)
        return self


_MEASURES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "none": (),
        "round": ("size",),
        "square": ("size", "corner_radius"),
        "rectangle": ("width", "height", "corner_radius"),
    }
)


def _fits(outline: str) -> str:
    measures = _MEASURES[outline]
    return f"it takes {', '.join(measures)}" if measures else "leave it out or choose an outline"


class Rules(Table):
    """Limits of the shop that makes the board, each of which may be overridden."""

    shop: Annotated[str, Row("shops")] = Field(
        default="rigid-standard",
        description="from `coilgen list shops`; default rigid-standard, heavy-copper over 52 um, flex-standard for flex",
    )
    trace_width: Length = told("least width of a trace", 0.0)
    trace_spacing: Length = told("least distance between copper edges", 0.0)
    annular_ring: LengthOrZero = told("least copper round a drilled hole", 0.0)
    drill_diameter: Length = told("least diameter of a drill", 0.0)
    drill_aspect_ratio: Ratio = told("most board thickness over drill diameter", 1.0)
    hole_to_hole: LengthOrZero = told("least distance between the edges of two holes", 0.0)
    copper_to_edge: LengthOrZero = told("least distance of copper to the board's edge", 0.0)
    copper_to_pocket: LengthOrZero = told("least distance of copper to the pocket's edge", 0.0)
    hole_to_pocket: LengthOrZero = told("least distance of a hole's edge to the pocket's edge", 0.0)
    pocket_corner_radius: LengthOrZero = told("least inner radius the cutter leaves", 0.0)
    mask_web: LengthOrZero = told("least solder mask or coverlay left between two openings", 0.0)
    mask_opening: LengthOrZero = told("by which an opening reaches past its pad on each side", 0.0)
    board_size: Length = told("largest side of a board", 0.0)
    layer_count: Annotated[float, Quantity(dimension="number", least=1, most=64)] = told(
        "most copper layers", 1.0
    )

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: Any) -> Any:
        """Limits left out are the shop's."""
        if not isinstance(given, Mapping):
            return given
        shop = given.get("shop", "rigid-standard")
        row = rows("shops").get(shop) if isinstance(shop, str) else None
        return _filled(given, {} if row is None else {limit: row[limit] for limit in LIMITS})

    @property
    def limits(self) -> Mapping[str, float]:
        """Every limit by name: m, but drill_aspect_ratio and layer_count are plain numbers."""
        return MappingProxyType({name: self.limit(name) for name in LIMITS})

    def limit(self, name: str) -> float:
        """One limit by name."""
        if name not in LIMITS:
            raise KeyError(name)
        value: float = getattr(self, name)
        return value


class Pocket(Table):
    """The central pocket for a core, through the board."""

    shape: Annotated[PocketShape, Word()] = Field(default="round", description="default round")
    size: Length = Field(description="diameter, side, or across flats of a hexagon")
    corner_radius: LengthOrZero = told(
        "inner corner radius; default the shop's least; none on a round one", 0.0
    )
    _notes: tuple[str, ...] = PrivateAttr(default=())

    @model_validator(mode="after")
    def _corners(self) -> "Pocket":
        if self.shape == "round":
            return self
        if self.corner_radius > self.size / 2:
            raise _fault(
                "pocket.corner_radius",
                f"{_mm(self.corner_radius)} is over half the pocket's size, {_mm(self.size)}; make it smaller",
            )
        return self

    @property
    def notes(self) -> tuple[str, ...]:
        """What has no effect, in sentences."""
        if self.shape == "round" and self.corner_radius:
            return ("pocket.corner_radius has no effect on a round pocket.",)
        return ()


class Via(Table):
    """The vias between layers; count of them stand in parallel at each layer change."""

    drill: Length = told("default 0.3 mm, or the shop's least if that is more", 3e-4)
    pad: Length = told("default the drill and the shop's annular ring on both sides", 6e-4)
    count: Annotated[int, Whole(least=1, most=16)] = Field(
        default=1, description="parallel vias at each layer change; default 1"
    )

    @model_validator(mode="after")
    def _ring(self) -> "Via":
        if self.pad <= self.drill:
            raise _fault(
                "via.pad", f"{_mm(self.pad)} leaves no copper round a drill of {_mm(self.drill)}; widen it"
            )
        return self


class Terminals(Table):
    """Two pads where current enters (1) and leaves (2)."""

    kind: Annotated[TerminalKind, Word()] = Field(
        default="plated-hole", description="default plated-hole, surface-pad on a board with one copper layer"
    )
    pad: Length = told("diameter or side of a pad's copper; default 1.8 mm, or drill and 0.8 mm", 1.8e-3)
    drill: LengthOrZero = told("finished hole of a plated-hole terminal; default 1 mm", 1e-3)
    pitch: Length = told("between the two pads' centres; default 3.5 mm", 3.5e-3)
    side: Annotated[Side, Word()] = Field(default="south", description="of the coil, y up; default south")
    distance: Length | None = Field(
        default=None, description="of the pads' row from the coil's centre; default just outside the winding"
    )

    @model_validator(mode="after")
    def _pads(self) -> "Terminals":
        faults = []
        if self.kind == "plated-hole" and not 0 < self.drill < self.pad:
            faults.append(
                Fault(key="terminals.drill", says=f"{_mm(self.drill)} does not fit a pad of {_mm(self.pad)}")
            )
        if self.kind == "surface-pad" and self.drill > 0:
            faults.append(
                Fault(
                    key="terminals.drill",
                    says='a surface pad has no hole; leave drill out or use "plated-hole"',
                )
            )
        if self.pitch <= self.pad:
            faults.append(
                Fault(
                    key="terminals.pitch",
                    says=f"{_mm(self.pitch)} makes pads of {_mm(self.pad)} touch; use more than {_mm(self.pad)}",
                )
            )
        if faults:
            raise DesignError(faults)
        return self


class Drive(Table):
    """What drives the coil, and the air it hangs in."""

    voltage: Voltage | None = Field(
        default=None,
        description="across the terminals: level while on (dc, square), root mean square (sine); default 5 V",
    )
    current: Current | None = Field(default=None, description="instead of voltage, told the same way")
    waveform: Annotated[Waveform, Word()] = Field(default="dc", description="default dc")
    frequency: Frequency | None = Field(default=None, description="of a square wave or sine")
    duty: Share | None = Field(
        default=None, description="share of a square wave's period that is on; default 0.5"
    )
    ambient: Temperature = Field(default=25.0, description="temperature of the air; default 25 degC")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: Any) -> Any:
        if not isinstance(given, Mapping):
            return given
        usual: dict[str, object] = {}
        if "voltage" not in given and "current" not in given:
            usual["voltage"] = SI(5.0)
        if given.get("waveform") == "square":
            usual["duty"] = SI(0.5)
        return _filled(given, usual)

    @model_validator(mode="after")
    def _whole(self) -> "Drive":
        faults = []
        if self.voltage is not None and self.current is not None:
            faults.append(Fault(key="drive.current", says="given besides voltage; keep one of the two"))
        if self.waveform == "dc" and self.frequency is not None:
            faults.append(Fault(key="drive.frequency", says='has no use with waveform = "dc"; leave it out'))
        if self.waveform != "dc" and self.frequency is None:
            faults.append(
                Fault(key="drive.frequency", says=f'not given; waveform = "{self.waveform}" needs it')
            )
        if self.waveform != "square" and self.duty is not None:
            faults.append(Fault(key="drive.duty", says='belongs to waveform = "square"; leave it out'))
        if faults:
            raise DesignError(faults)
        return self


class Probe(Table):
    """Where the field is told, on the axis."""

    heights: Lengths = told(
        "above the top face and below the bottom face; default 0.5, 1, 2 and 5 mm", (5e-4, 1e-3, 2e-3, 5e-3)
    )


def _name(given: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", given):
        raise ValueError(
            f"{shown(given)} names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _"
        )
    return given


class Design(Table):
    """A whole design file, every default filled in. Lengths in m, temperatures in degC, the rest in SI."""

    name: Annotated[StrictStr, AfterValidator(_name)] = Field(
        description="used in file names", json_schema_extra={"pattern": "^[A-Za-z0-9_-]{1,64}$"}
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

    @property
    def notes(self) -> tuple[str, ...]:
        """What was rounded or has no effect, in sentences for the report."""
        return self.winding.notes + (self.pocket.notes if self.pocket else ())

    def resolved(self) -> dict[str, Any]:
        """Every value as plain lists, numbers and text, SI: for JSON."""
        return self.model_dump(mode="json")

    @field_validator("board", mode="before")
    @classmethod
    def _board(cls, given: Any, info: ValidationInfo) -> Any:
        winding: Winding | None = info.data.get("winding")
        if winding is None:
            return given
        outline = "round" if winding.shape == "round" else "square"
        return _filled(given, {"stackup": default_name(winding.layers), "outline": outline})

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
    def _shop(cls, given: Any, info: ValidationInfo) -> Any:
        board: Board | None = info.data.get("board")
        return given if board is None else _filled(given, {"shop": _default_shop(board.stackup)})

    @field_validator("pocket", mode="before")
    @classmethod
    def _cut(cls, given: Any, info: ValidationInfo) -> Any:
        rules: Rules | None = info.data.get("rules")
        if rules is None or not isinstance(given, Mapping) or given.get("shape", "round") == "round":
            return given
        return _filled(given, {"corner_radius": SI(rules.pocket_corner_radius)})

    @field_validator("pocket", mode="after")
    @classmethod
    def _inside(cls, pocket: Pocket | None, info: ValidationInfo) -> Pocket | None:
        winding: Winding | None = info.data.get("winding")
        if pocket is not None and winding is not None and pocket.size >= winding.inner_size:
            raise _fault(
                "pocket.size",
                f"{_mm(pocket.size)} does not fit the winding's inner_size, {_mm(winding.inner_size)}; "
                "make the pocket smaller, or the winding larger or with fewer turns",
            )
        return pocket

    @field_validator("via", mode="before")
    @classmethod
    def _via(cls, given: Any, info: ValidationInfo) -> Any:
        rules: Rules | None = info.data.get("rules")
        if rules is None:
            return given
        drill = _read(given, "drill", "length") or max(rules.drill_diameter, 3e-4)
        return _filled(given, {"drill": SI(drill), "pad": SI(round(drill + 2 * rules.annular_ring, 12))})

    @field_validator("terminals", mode="before")
    @classmethod
    def _terminals(cls, given: Any, info: ValidationInfo) -> Any:
        board: Board | None = info.data.get("board")
        single = board is not None and board.stackup.layers == 1
        filled = _filled(given, {"kind": "surface-pad" if single else "plated-hole"})
        if not isinstance(filled, Mapping):
            return given
        drill = _read(filled, "drill", "length") or (1e-3 if filled["kind"] == "plated-hole" else 0.0)
        return _filled(filled, {"drill": SI(drill), "pad": SI(max(1.8e-3, round(drill + 0.8e-3, 12)))})

    @field_validator("terminals", mode="after")
    @classmethod
    def _reachable(cls, terminals: Terminals, info: ValidationInfo) -> Terminals:
        board: Board | None = info.data.get("board")
        if board is not None and board.stackup.layers == 1 and terminals.kind == "plated-hole":
            raise _fault(
                "terminals.kind",
                f'plated holes need two copper layers and stack-up {board.stackup.name} has one; use "surface-pad"',
            )
        return terminals


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
            says=f"{_mm(side)} is not over the winding's outer_size, {_mm(winding.outer_size)}; make the board larger",
        )
        for key, side in (("size", board.size), ("width", board.width), ("height", board.height))
        if side is not None and side <= winding.outer_size
    ]


def _default_shop(stackup: Stackup) -> str:
    """Flex boards go to the flex shop, copper over 52 um (one and a half ounces) to the heavy one."""
    if stackup.flexible:
        return "flex-standard"
    return "heavy-copper" if max(stackup.copper) > 52e-6 else "rigid-standard"
