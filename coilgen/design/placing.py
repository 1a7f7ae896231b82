"""Several windings on one board: which keys place a winding, and the design that each is by itself."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import AfterValidator, Field, StrictStr, ValidationError, model_validator

from coilgen.design.drive import NO_USE
from coilgen.design.keys import Json, Place, Rotation, Table, Whole, optional, written_schema
from coilgen.design.validation_messages import faults
from coilgen.errors import DesignError, Fault, shown
from coilgen.frozen import dataclass
from coilgen.geometry.point import Point

if TYPE_CHECKING:
    from coilgen.design.design import Design

Tables = dict[str, object]
MOST_WINDINGS = 72
OVER_THE_DESIGNS = ("terminals", "pocket", "drive")
"""Tables that a winding may have of its own: their keys go over those of the design."""
SHARED = ("name", "rules", "via", "tolerance", "order", *OVER_THE_DESIGNS)
"""Tables of the board that a winding's own design takes over."""
_OF_BODIES = ("permeability", "saturation", "remanence")
_FORCES = ("voltage", "current", "current_limit")


def _name(given: str) -> str:
    if not 1 <= len(given) <= 14 or not given.replace("-", "a").replace("_", "a").isalnum():
        raise ValueError(
            f"{shown(given)} names a net; use 1 to 14 of the letters A to Z, a to z, digits, - and _"
        )
    if not given.isascii():
        raise ValueError(f"{shown(given)} names a net; use letters without accents")
    return given


class Placing(Table):
    """How one of several windings is called, and where it lies on the board."""

    name: Annotated[StrictStr, AfterValidator(_name)] = Field(
        description="of the winding and of its net", json_schema_extra={"pattern": "^[A-Za-z0-9_-]{1,14}$"}
    )
    copper_layers: tuple[Annotated[int, Whole(least=1, most=16)], ...] = optional(
        "copper layers wound, counted from the top, 1 first; default the first `layers`", ()
    )
    centre: Place = optional("x and y of its centre on the board, y up; default 0, 0", (0.0, 0.0))
    rotation: Rotation = optional("counter-clockwise about its centre; default 0", 0.0)

    @model_validator(mode="after")
    def _once(self) -> "Placing":
        if any(after <= before for before, after in pairwise(self.copper_layers)):
            listed = ", ".join(str(layer) for layer in self.copper_layers)
            raise DesignError.at("copper_layers", f"{listed} do not count down the board; name each once")
        return self


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where a file has the keys of a winding: tables of its own, and keys in them that are the board's."""

    own: tuple[str, ...] = ()
    of_board: frozenset[str] = frozenset()
    lists_layers: bool = False
    of_array: bool = False

    def told(self, fault: Fault, number: int) -> Fault:
        """A fault of winding `number`'s own design by the key that the file has for it."""
        if self.of_array:
            return fault
        table, _, key = fault.key.partition(".")
        if table == "winding":
            key = "copper_layers" if key == "layers" and self.lists_layers else key
            return Fault(key=f"winding {number}.{key}" if key else f"winding {number}", says=fault.says)
        if table in self.own and fault.key not in self.of_board:
            return Fault(key=f"winding {number}.{fault.key}", says=fault.says)
        return fault


@dataclass(frozen=True, kw_only=True)
class PlacedWinding:
    """One of several windings: its name, its place on the board (m, deg), its layers, and its own design.

    design: of this winding alone, centred and unturned, on layers counted from the first. phase, sense: of a
    coil of an array, the phase counted from 0 and 1, or -1 where the coil is joined the other way round.
    on_tail: whether its leads go on to terminals at a tail's end.
    """

    name: str
    centre: Point
    rotation: float
    copper_layers: tuple[int, ...]
    design: "Design"
    origin: Origin = field(default=Origin(), compare=False)
    phase: int = 0
    sense: int = 1
    on_tail: bool = False

    def resolved(self) -> dict[str, Any]:
        """Its keys as plain values, SI, with the tables that it has over the design's."""
        own = self.design.resolved()
        if self.on_tail:
            own["terminals"] = {"side": own["terminals"]["side"]}
        return {
            "name": self.name,
            "copper_layers": list(self.copper_layers),
            "centre": [self.centre.real, self.centre.imag],
            "rotation": self.rotation,
            **{key: value for key, value in own["winding"].items() if key != "layers"},
            **{key: own[key] for key in OVER_THE_DESIGNS},
        }


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One winding of a file: its number, its placing, and the tables of its own design."""

    number: int
    placing: Placing
    tables: Tables
    origin: Origin

    def told(self, fault: Fault) -> Fault:
        """A fault of its own design by the key that the file has for it."""
        return self.origin.told(fault, self.number)


def asked(given: Sequence[object], shared: Mapping[str, object]) -> tuple[list[Asked], list[Fault]]:
    """The windings of a file with the tables of their own designs, and the faults of their own keys."""
    if not 1 <= len(given) <= MOST_WINDINGS:
        says = f"{len(given)} given; 1 to {MOST_WINDINGS} are allowed"
        return [], [Fault(key="winding", says=says)]
    found: list[Asked] = []
    told: list[Fault] = []
    for number, each in enumerate(given, start=1):
        if not isinstance(each, Mapping):
            says = f"{shown(each)} is not a table; write each winding as [[winding]]"
            told.append(Fault(key=f"winding {number}", says=says))
            continue
        one, own = _one(number, each, shared)
        told += own
        if one is not None:
            found.append(one)
    return found, [*told, *_named_twice(found)]


def _one(
    number: int, given: Mapping[str, object], shared: Mapping[str, object]
) -> tuple[Asked | None, list[Fault]]:
    placed = {key: value for key, value in given.items() if key in Placing.model_fields}
    try:
        placing = Placing.model_validate(placed)
    except ValidationError as error:
        return None, [
            Fault(key=f"winding {number}.{fault.key}", says=fault.says) for fault in faults(error, Placing)
        ]
    if placing.copper_layers and "layers" in given:
        says = "given besides copper_layers, whose number it is; leave one of them out"
        return None, [Fault(key=f"winding {number}.layers", says=says)]
    own = tuple(key for key in OVER_THE_DESIGNS if key in given)
    wound: Tables = {
        key: value for key, value in given.items() if key not in (*Placing.model_fields, *OVER_THE_DESIGNS)
    }
    if placing.copper_layers:
        wound["layers"] = len(placing.copper_layers)
    if "tail" in shared and (told := list(_of_tail(number, given.get("terminals", {})))):
        return None, told
    tables = {**_of_board(shared), "winding": wound, **{key: _over(shared, given, key) for key in own}}
    return Asked(number=number, placing=placing, tables=tables, origin=_origin(shared, given, own)), []


def _of_tail(number: int, own: object) -> Iterator[Fault]:
    """Keys of a winding's own terminals which stand at the tail's end with all others."""
    for key in own if isinstance(own, Mapping) else ():
        if key != "side":
            says = "is of terminals that stand at the tail's end; tell it in [terminals], for all windings"
            yield Fault(key=f"winding {number}.terminals.{key}", says=says)


def _origin(shared: Mapping[str, object], given: Mapping[str, object], own: tuple[str, ...]) -> Origin:
    keys: set[str] = set()
    for table in own:
        base, over = shared.get(table), given[table]
        if isinstance(base, Mapping) and isinstance(over, Mapping):
            keys |= {f"{table}.{key}" for key in base if key not in over}
    return Origin(own=own, of_board=frozenset(keys), lists_layers="copper_layers" in given)


def _over(shared: Mapping[str, object], given: Mapping[str, object], key: str) -> object:
    """A winding's own table over the design's.

    A winding driven by itself leaves out how the others are, and what its own waveform has no use for.
    """
    base, own = _terminals_beside(shared) if key == "terminals" else shared.get(key, {}), given[key]
    if not isinstance(base, Mapping) or not isinstance(own, Mapping):
        return own
    dropped = _not_taken(own) if key == "drive" else ()
    return {**{name: value for name, value in base.items() if name not in dropped}, **own}


def _not_taken(own: Mapping[str, object]) -> tuple[str, ...]:
    """Keys of the design's drive that one of a winding's own does not take."""
    forces = _FORCES if any(force in own for force in _FORCES) else ()
    return (*forces, *NO_USE.get(str(own.get("waveform")), ()))


def _terminals_beside(shared: Mapping[str, object]) -> object:
    """The terminals' table of a winding's own design: with a tail, which it leads to, only their side."""
    tail = shared.get("tail")
    if "tail" not in shared:
        return shared.get("terminals", {})
    return {"side": tail["side"]} if isinstance(tail, Mapping) and "side" in tail else {}


def repeated(winding: Mapping[str, object], shared: Mapping[str, object]) -> Tables:
    """The tables of the own design of the one winding that an array repeats."""
    return {**_of_board(shared), "winding": dict(winding)}


def _of_board(shared: Mapping[str, object]) -> Tables:
    """What a winding takes from the board's tables: no outline, and nothing that stands at the board."""
    taken = {key: value for key, value in shared.items() if key in SHARED}
    if "tail" in shared:
        taken["terminals"] = _terminals_beside(shared)
    board, tolerance = shared.get("board"), shared.get("tolerance")
    if isinstance(board, Mapping) and "stackup" in board:
        taken["board"] = {"stackup": board["stackup"], "outline": "none"}
    if isinstance(tolerance, Mapping):
        taken["tolerance"] = {key: value for key, value in tolerance.items() if key not in _OF_BODIES}
    return taken


def _named_twice(found: Sequence[Asked]) -> Iterator[Fault]:
    taken: set[str] = set()
    for each in found:
        name = each.placing.name.casefold()
        if name in taken:
            says = f"{shown(each.placing.name)} names an earlier winding too; choose another"
            yield Fault(key=f"winding {each.number}.name", says=says)
        taken.add(name)


def layers_of(given: Sequence[object]) -> int:
    """How many copper layers a board needs for what its windings ask; 1 where they are faulty."""
    highest = 1
    for each in given:
        if not isinstance(each, Mapping):
            continue
        listed, count = each.get("copper_layers"), each.get("layers", 1)
        layers = listed if isinstance(listed, list | tuple) else [count]
        highest = max(highest, *(layer for layer in layers if isinstance(layer, int)), 1)
    return min(highest, 8)


def with_stackup(shared: Mapping[str, object], given: Sequence[object], outline: str = "rectangle") -> Tables:
    """The board's tables with the stack-up and the outline that several windings have by default."""
    from coilgen.design.stackup import default_name

    board = shared.get("board", {})
    if not isinstance(board, Mapping):
        return dict(shared)
    usual = {"stackup": default_name(layers_of(given)), "outline": outline}
    return {**shared, "board": {**usual, **board}}


def placed(each: Asked, design: "Design") -> PlacedWinding:
    """A winding whose own design is sound."""
    placing = each.placing
    layers = placing.copper_layers or tuple(range(1, design.winding.layers + 1))
    return PlacedWinding(
        name=placing.name,
        centre=complex(*placing.centre),
        rotation=float(placing.rotation),
        copper_layers=layers,
        design=design,
        origin=each.origin,
    )


def add_several(schema: Json) -> None:
    """Puts a list of windings beside the one winding into the JSON Schema of a design file."""
    one, placing = schema["$defs"]["Winding"], written_schema(Placing)
    tables = {name: schema["properties"][name] for name in OVER_THE_DESIGNS}
    schema["$defs"]["PlacedWinding"] = {
        **one,
        "description": "One of several windings, with its place on the board.",
        "properties": {
            **placing["properties"],
            **one["properties"],
            **{
                name: {"description": f"of this winding, over [{name}]", **told}
                for name, told in tables.items()
            },
        },
        "required": [*placing["required"], *one["required"]],
    }
    ways = [{"required": [key for key in way["required"] if key != "angle"]} for way in one["anyOf"]]
    schema["$defs"]["RepeatedWinding"] = {
        **one,
        "description": "The winding that an array repeats; the angle of a wedge follows from their number.",
        "anyOf": ways,
    }
    listed = {"type": "array", "minItems": 1, "maxItems": MOST_WINDINGS}
    several = {**listed, "items": {"$ref": "#/$defs/PlacedWinding"}}
    whole = [{"$ref": f"#/$defs/{name}"} for name in ("Winding", "RepeatedWinding")]
    schema["properties"]["winding"] = {"anyOf": [*whole, several]}


def layer_faults(each: PlacedWinding, number: int, layers: int) -> list[Fault]:
    """Copper layers that the stack-up does not have."""
    beyond = [layer for layer in each.copper_layers if layer > layers]
    if not beyond:
        return []
    says = f"{beyond[0]} is beyond the stack-up's {layers} copper layers; choose lower ones or more layers"
    return [Fault(key=f"winding {number}.copper_layers", says=says)]
