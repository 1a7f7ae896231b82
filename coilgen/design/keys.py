"""The kinds of value a design file's keys hold, each with its range, its error text and its JSON Schema."""

import math
import re
from collections.abc import Callable, Mapping
from typing import Annotated, Any, Self, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from coilgen.catalogue import names, rows, unknown
from coilgen.errors import shown
from coilgen.frozen import dataclass
from coilgen.units import DIMENSIONS, quantity, written

Json = dict[str, Any]
Stored = TypeVar("Stored")


class Table(BaseModel):
    """A frozen table of the design file; keys it does not know are faults."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """A copy; TypeError with `update`, as its values would not be checked: use `Design.changed`."""
        if update:
            raise TypeError(
                'values of a copy would not be checked; use design.changed(**{"winding.turns": 12})'
            )
        return super().model_copy(deep=deep)

    def unchecked(self, **values: object) -> Self:
        """A copy with other values that the caller knows to be sound, in SI."""
        return super().model_copy(update=values)


class SI(float):
    """A number that is in SI already: filled in by us, so no unit is applied to it."""

    __slots__ = ()


def in_si(resolved: object) -> object:
    """Resolved values as a design file's, every number marked as SI; None and empty lists were not given."""
    if isinstance(resolved, Mapping):
        return {key: in_si(value) for key, value in resolved.items() if value not in (None, [], ())}
    if isinstance(resolved, list | tuple):
        return [in_si(value) for value in resolved]
    return SI(resolved) if isinstance(resolved, float) else resolved


@dataclass(frozen=True)
class Refused:
    """Stands where a value could not be worked out, and says why."""

    says: str


def file_name(given: str) -> str:
    """A name that files may have; ValueError for others."""
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", given):
        raise ValueError(
            f"{shown(given)} names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _"
        )
    return given


def optional(description: str, default: Stored) -> Stored:
    """A field that may be left out; its default is as stored, and so stays out of the JSON Schema."""
    field: Stored = Field(description=description, default_factory=lambda: default)
    return field


def filled(given: object, usual: Mapping[str, object]) -> object:
    """A written table with what it leaves out; anything but a table is left for its model to refuse."""
    return {**usual, **given} if isinstance(given, Mapping) else given


def si_of(given: object, key: str, dimension: str) -> float | None:
    """The SI value of one key of a written table; None when it is left out or faulty."""
    if not isinstance(given, Mapping) or key not in given:
        return None
    try:
        return float(given[key]) if isinstance(given[key], SI) else quantity(given[key], dimension)
    except ValueError:
        return None


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A number with a unit, stored in SI, from least to most (in SI, both allowed); or_zero: or nothing."""

    dimension: str
    least: float
    most: float
    or_zero: bool = False

    def value(self, given: object) -> float:
        """The SI value of what was given; ValueError says what is wrong with it."""
        if isinstance(given, Refused):
            raise ValueError(given.says)
        value = float(given) if isinstance(given, SI) else quantity(given, self.dimension)
        if not (self.least <= value <= self.most or (self.or_zero and value == 0)):
            outside = f"{self._told(given, value)} is outside what is allowed, {self._range()}"
            raise ValueError(f"{outside}{self._meant(given)}")
        return value

    def _told(self, given: object, value: float) -> str:
        return shown(given) if isinstance(given, str) else written(value, self.dimension)

    def _range(self) -> str:
        zero = "0, or " if self.or_zero else ""
        return f"{zero}{written(self.least, self.dimension)} to {written(self.most, self.dimension)}"

    def _meant(self, given: object) -> str:
        """Advice for a bare number in mT that would be right in tesla, the unit of most data sheets."""
        slip = isinstance(given, int | float) and self.least <= given <= self.most
        if self.dimension != "flux density" or not slip:
            return ""
        return f'; a number without a unit is in mT, for tesla write "{shown(given)} T"'

    def schema(self) -> Json:
        """JSON Schema of what may be written: a number in the stated unit, or a string with a unit."""
        kind = DIMENSIONS[self.dimension]
        scale = float(kind.units[kind.bare])
        least = 0.0 if self.or_zero else self.least / scale
        number = {"type": "number", "minimum": least, "maximum": self.most / scale}
        if set(kind.units) == {""}:
            return number
        units = "|".join(re.escape(unit) for unit in kind.units)
        text = {"type": "string", "pattern": rf"^\s*[+-]?[0-9.]+([eE][+-]?[0-9]+)?\s*({units})\s*$"}
        return {"anyOf": [number, text], "x-unit": kind.bare, "examples": [kind.example]}

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.value)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return self.schema()


@dataclass(frozen=True, kw_only=True)
class Series:
    """A list of quantities, stored as a tuple in SI, with the least and most number of entries."""

    of: Quantity
    least: int
    most: int

    def values(self, given: object) -> tuple[float, ...]:
        """The SI values; ValueError names the entry that is wrong."""
        if not isinstance(given, list | tuple):
            raise ValueError(f"{shown(given)} is not a list; write it in square brackets")
        if not self.least <= len(given) <= self.most:
            raise ValueError(f"a list of {len(given)} entries; {self._count()} allowed")
        return tuple(self._entry(number, entry) for number, entry in enumerate(given, start=1))

    def _count(self) -> str:
        return f"only {self.least} are" if self.least == self.most else f"{self.least} to {self.most} are"

    def _entry(self, number: int, entry: object) -> float:
        try:
            return self.of.value(entry)
        except ValueError as fault:
            raise ValueError(f"entry {number}: {fault}") from None

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.values)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"type": "array", "items": self.of.schema(), "minItems": self.least, "maxItems": self.most}


@dataclass(frozen=True, kw_only=True)
class OneOrTwo:
    """A quantity, or a list of two of it, stored as a number or a tuple in SI."""

    of: Quantity

    def value(self, given: object) -> float | tuple[float, ...]:
        """The SI value or values; ValueError names the entry that is wrong."""
        both = Series(of=self.of, least=2, most=2)
        return both.values(given) if isinstance(given, list | tuple) else self.of.value(given)

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.value)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        one = self.of.schema()
        two = {"type": "array", "items": one, "minItems": 2, "maxItems": 2}
        return {**one, "anyOf": [*one["anyOf"], two]}


def pair(size: float | tuple[float, ...]) -> tuple[float, float]:
    """A size of two numbers; one counts for both."""
    return (size, size) if isinstance(size, float) else (size[0], size[1])


@dataclass(frozen=True, kw_only=True)
class Whole:
    """A whole number from least to most."""

    least: int
    most: int

    def value(self, given: object) -> int:
        """The number itself; ValueError for another kind or another range."""
        if isinstance(given, bool) or not isinstance(given, int):
            raise ValueError(f"{shown(given)} is not a whole number; use {self.least} to {self.most}")
        if not self.least <= given <= self.most:
            raise ValueError(f"{shown(given)} is outside what is allowed, {self.least} to {self.most}")
        return given

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.value)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


def one_of(given: object, known: tuple[str, ...]) -> str:
    """The given word when it is known; ValueError names the nearest known one."""
    if not isinstance(given, str):
        raise ValueError(f"{shown(given)} is not a word; use one of {', '.join(known)}")
    if given not in known:
        raise ValueError(f"{shown(given)} is not known; {unknown(given, known)}")
    return given


class Word:
    """One of the words of a Literal."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        known = get_args(source)
        return core_schema.no_info_plain_validator_function(
            lambda given: one_of(given, known), metadata={"words": list(known)}
        )

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"type": "string", "enum": core["metadata"]["words"]}


@dataclass(frozen=True)
class Specimen:
    """The name of a specimen of a package, such as a shape."""

    package: str

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(lambda given: one_of(given, names(self.package)))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"type": "string", "enum": list(names(self.package))}


@dataclass(frozen=True)
class Row:
    """The identifier of a row of the data, of one sort where the rows have several."""

    kind: str
    sort: str | None = None

    def names(self) -> tuple[str, ...]:
        """Identifiers that may be given."""
        return tuple(
            name for name, row in rows(self.kind).items() if self.sort is None or row.get("sort") == self.sort
        )

    def named(self, given: object) -> str:
        """The given identifier when there is a row of it; ValueError names one that what it is tells of.

        >>> Row("materials", "soft-magnetic").named("mild steel")
        Traceback (most recent call last):
        ...
        ValueError: "mild steel" is not known; did you mean "low-carbon steel"?
        """
        known = self.names()
        if isinstance(given, str) and given.strip() and given not in known:
            word = re.compile(rf"\b{re.escape(given)}\b", re.IGNORECASE)
            told = [name for name in known if word.search(str(rows(self.kind)[name]["says"]))]
            if len(told) == 1:
                raise ValueError(f'{shown(given)} is not known; did you mean "{told[0]}"?')
        return one_of(given, known)

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.named)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"type": "string", "enum": list(self.names())}


@dataclass(frozen=True)
class ByName:
    """Marks a field that takes the name of a row of the data as well as a table of its own."""

    what: str
    row: Row
    table_of: Callable[[str], Table]

    def looked_up(self, given: object) -> object:
        """The table of a name; ValueError for what is neither name nor table."""
        if isinstance(given, str):
            return self.table_of(self.row.named(given))
        if isinstance(given, Mapping | Table):
            return given
        raise ValueError(
            f"{shown(given)} is neither a {self.what}'s name nor a table; "
            f"use one of {', '.join(self.row.names())}"
        )

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.looked_up, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"anyOf": [{"type": "string", "enum": list(self.row.names())}, handler(core)]}


# Bounds keep out slips of the pen and numbers no solver can bear; what a shop can make is for the rules.
_SIZE = Quantity(dimension="length", least=1e-6, most=2.0)
_COPPER = Quantity(dimension="copper thickness", least=1e-6, most=1e-3)
_LAMINA = Quantity(dimension="length", least=1e-6, most=2e-2)
_PERMITTIVITY = Quantity(dimension="number", least=1.0, most=100.0)

Length = Annotated[float, _SIZE]
Size = Annotated[float | tuple[float, ...], OneOrTwo(of=_SIZE)]
SectorAngle = Annotated[float, Quantity(dimension="angle", least=math.radians(1.0), most=math.radians(170.0))]
Sheet = Annotated[float, _LAMINA]
LengthOrZero = Annotated[float, Quantity(dimension="length", least=0.0, most=2.0)]
Lengths = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="length", least=0.0, most=2.0), least=1, most=1000)
]
CopperThicknesses = Annotated[tuple[float, ...], Series(of=_COPPER, least=1, most=16)]
DielectricThicknesses = Annotated[tuple[float, ...], Series(of=_LAMINA, least=1, most=16)]
Permittivity = Annotated[float, _PERMITTIVITY]
Permittivities = Annotated[tuple[float, ...], Series(of=_PERMITTIVITY, least=1, most=16)]
Voltage = Annotated[float, Quantity(dimension="voltage", least=1e-3, most=1e4)]
Current = Annotated[float, Quantity(dimension="current", least=1e-6, most=1e3)]
CurrentOrZero = Annotated[float, Quantity(dimension="current", least=1e-6, most=1e3, or_zero=True)]
Frequency = Annotated[float, Quantity(dimension="frequency", least=1e-3, most=1e9)]
Temperature = Annotated[float, Quantity(dimension="temperature", least=-100.0, most=300.0)]
Mass = Annotated[float, Quantity(dimension="mass", least=1e-9, most=100.0)]
FluxDensities = Annotated[
    tuple[float, ...],
    Series(of=Quantity(dimension="core flux density", least=0.0, most=10.0), least=1, most=1000),
]
SaturationFluxDensity = Annotated[float, Quantity(dimension="flux density", least=0.02, most=3.0)]
Remanence = Annotated[float, Quantity(dimension="flux density", least=0.02, most=2.0)]
FieldStrengths = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="number", least=0.0, most=1e8), least=1, most=1000)
]
Permeability = Annotated[float, Quantity(dimension="number", least=1.001, most=1e6)]
Positive = Annotated[float, Quantity(dimension="number", least=1e-12, most=1e12)]
HeatTransfer = Annotated[float, Quantity(dimension="number", least=0.1, most=1e5)]
Emissivity = Annotated[float, Quantity(dimension="number", least=0.0, most=1.0)]
Gap = Annotated[float, Quantity(dimension="length", least=2e-5, most=2.0)]
Offset = Annotated[float, Quantity(dimension="length", least=-2.0, most=2.0)]
Offsets = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="length", least=-2.0, most=2.0), least=2, most=2)
]
Rotation = Annotated[float, Quantity(dimension="rotation", least=-360.0, most=360.0)]
Place = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="length", least=-2.0, most=2.0), least=2, most=2)
]
ContactResistances = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="number", least=1e-9, most=10.0), least=3, most=3)
]
Time = Annotated[float, Quantity(dimension="time", least=1e-9, most=1e6)]
Turns = Annotated[float, Quantity(dimension="number", least=1.0, most=1000.0)]
Share = Annotated[float, Quantity(dimension="number", least=0.001, most=0.999)]
Fraction = Annotated[float, Quantity(dimension="fraction", least=0.0, most=0.9)]
Deviation = Annotated[float, Quantity(dimension="temperature difference", least=0.0, most=100.0)]
Platings = Annotated[
    tuple[float, ...], Series(of=Quantity(dimension="length", least=1e-6, most=2e-4), least=2, most=2)
]
Ratio = Annotated[float, Quantity(dimension="number", least=0.1, most=1000.0)]


def written_schema(table: type[Table]) -> Json:
    """JSON Schema of a table as it is written: no made-up titles, and no null, which TOML does not have."""
    from pydantic.json_schema import GenerateJsonSchema

    class Written(GenerateJsonSchema):
        def field_title_should_be_set(self, schema: object) -> bool:
            return False

        def nullable_schema(self, schema: core_schema.NullableSchema) -> Json:
            return self.generate_inner(schema["schema"])

        def default_schema(self, schema: core_schema.WithDefaultSchema) -> Json:
            absent = schema.get("default", ...) is None
            return self.generate_inner(schema["schema"]) if absent else super().default_schema(schema)

    return table.model_json_schema(mode="validation", schema_generator=Written)
