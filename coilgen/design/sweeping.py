"""The [sweep] table: keys of the design, each with the values that it takes in turn."""

import math
from collections.abc import Iterable, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from coilgen.design.changes import with_changes
from coilgen.design.key_paths import (
    RANGE,
    STUDIES,
    UnknownKeyError,
    faults_alone,
    field_in,
    flat,
    kind_of,
    sound_alone,
)
from coilgen.design.keys import Json, Quantity, Table, Whole
from coilgen.errors import DesignError, Fault, named, shown
from coilgen.frozen import dataclass
from coilgen.units import DIMENSIONS, quantity

MOST_VALUES = 10_000
MOST_ROWS = 10_000_000

Choice = float | int | str | list[Any] | Mapping[str, Any] | None
"""A value as in a design file, a number in its key's own unit; None leaves the key out."""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """A key that is varied, the values it takes, and the unit of those that are numbers ("" for none)."""

    key: str
    choices: tuple[Choice, ...]
    unit: str = ""

    @property
    def numeric(self) -> bool:
        """Whether all values are numbers."""
        return all(isinstance(choice, int | float) for choice in self.choices)


class Axes:
    """Marks the field that holds what a sweep varies."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(_refused_within)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {
            "type": "object",
            "description": "keys to vary, dotted or quoted, each with a list of choices or from, to and step",
            "additionalProperties": True,
        }


def _refused_within(given: object) -> object:
    """A design's own table is read apart, with the design's model at hand: what comes here is a variant's."""
    raise ValueError("a variant sweeps nothing; put [sweep] beside it")


def rows_of(axes: Iterable[Axis]) -> int:
    """Number of combinations."""
    return math.prod(len(axis.choices) for axis in axes)


def swept(
    root: type[Table], tables: Mapping[str, object], given: object
) -> tuple[tuple[Axis, ...], list[Fault]]:
    """What a [sweep] table varies in a design's tables, and the table's faults. root: the design's model."""
    if not isinstance(given, Mapping):
        return (), [
            Fault(key="sweep", says=f"{shown(given)} is not a table; write keys to vary under [sweep]")
        ]
    if not given:
        return (), [
            Fault(key="sweep", says="varies nothing; add a key, such as winding.turns = [10, 12, 14]")
        ]
    found = [axis_of(root, tables, key, values, f"sweep.{key}") for key, values in flat(given).items()]
    axes = tuple(axis for axis, _ in found if axis is not None)
    faults = [fault for _, own in found for fault in own]
    if not faults and rows_of(axes) > MOST_ROWS:
        says = f"{rows_of(axes)} combinations; up to {MOST_ROWS} are allowed: take wider steps"
        faults = [Fault(key="sweep", says=says)]
    return axes, faults


def axis_of(
    root: type[Table], tables: Mapping[str, object], key: str, values: object, place: str
) -> tuple[Axis | None, list[Fault]]:
    """A key's values in a design's tables, or their faults, told at a place such as `sweep.winding.turns`."""
    try:
        if key.partition(".")[0] in ("name", "note", *STUDIES):
            raise UnknownKeyError("cannot be varied; it changes nothing of the coil")
        field = field_in(root, tables, key)
        kind = kind_of(field)
        _refuse_absent_entry(tables, key)
        choices = _choices(values, kind, place)
        faults = [
            fault
            for number, choice in enumerate(choices, start=1)
            for fault in _of_choice(root, field, tables, key, choice, f"{place}, value {number}")
        ]
        unit = DIMENSIONS[kind.dimension].bare if isinstance(kind, Quantity) else ""
        taken = tuple(_taken(choice, kind) for choice in choices) if not faults else ()
        faults = faults or _repeated(taken, place)
        return (None if faults else Axis(key=key, choices=taken, unit=unit)), faults
    except DesignError as error:
        return None, [*error.faults]
    except ValueError as error:
        return None, [Fault(key=place, says=str(error))]


def _refuse_absent_entry(tables: Mapping[str, object], key: str) -> None:
    """ValueError where a key leads through an entry of a list that the design does not have."""
    inside: object = tables
    for before, step in pairwise(key.split(".")):
        inside = inside.get(before) if isinstance(inside, Mapping) else None
        if not step.isdecimal():
            continue
        entries = inside if isinstance(inside, list | tuple) else ()
        if not 0 < int(step[:5]) <= len(entries):
            raise ValueError(f"the design has no {before} {step}; add it, or vary the whole list {before}")
        return


def _choices(values: object, kind: Quantity | Whole | None, place: str) -> list[object]:
    """The values that are told, in their order."""
    if isinstance(values, Mapping):
        return [*_range(values, kind, place)]
    if not isinstance(values, list | tuple):
        raise ValueError(
            f"{shown(values)} is neither a list nor a range; write [a, b] or {{ from = a, to = b, step = c }}"
        )
    if not values:
        raise ValueError("an empty list; give the values to try")
    if len(values) > MOST_VALUES:
        raise ValueError(f"{len(values)} values; up to {MOST_VALUES} are allowed")
    return [*values]


def _range(told: Mapping[str, object], kind: Quantity | Whole | None, place: str) -> Iterable[object]:
    """From one end by steps to the other, both included where the steps meet it."""
    if kind is None:
        raise ValueError("holds no single number, so it has no range; list the values to try")
    if set(told) - RANGE:
        other = ", ".join(sorted(named(each) for each in set(told) - RANGE))
        raise ValueError(f"{other} is no key of a range; write {{ from = a, to = b, step = c }}")
    absent = [name for name in ("from", "to", "step") if name not in told]
    if absent:
        raise ValueError(f"{' and '.join(absent)} not given; write {{ from = a, to = b, step = c }}")
    low, high, step = (number_of(told[name], kind, name) for name in ("from", "to", "step"))
    if low >= high:
        raise ValueError(
            f"from {low:f} is not under to {high:f}; turn them round, or write a list of one value"
        )
    if step <= 0 or step > high - low:
        raise ValueError(
            f"step {step:f} does not lead from {low:f} to {high:f}; give one between 0 and {high - low:f}"
        )
    count = int((high - low) / step) + 1
    if count > MOST_VALUES:
        raise ValueError(f"{count} values; up to {MOST_VALUES} are allowed: take a wider step")
    values = [low + k * step for k in range(count)]
    return [int(value) if isinstance(kind, Whole) else float(value) for value in values]


def number_of(given: object, kind: Quantity | Whole, name: str) -> Decimal:
    """An end or step of a range, exact, in the key's own unit."""
    try:
        if isinstance(kind, Whole):
            if isinstance(given, bool) or not isinstance(given, int):
                raise ValueError(f"{shown(given)} is not a whole number")
            return Decimal(given)
        dimension = kind.dimension
        if name == "step" and dimension == "temperature":
            dimension = "temperature difference"
        return _own(quantity(given, dimension), dimension)
    except ValueError as error:
        raise ValueError(f"{name}: {error}") from None


def _own(value: float, dimension: str) -> Decimal:
    """An SI value in the dimension's own unit."""
    kind = DIMENSIONS[dimension]
    exact = (Decimal(repr(value)) - Decimal(kind.offsets.get(kind.bare, "0"))) / Decimal(
        kind.units[kind.bare]
    )
    return exact.normalize()


def _of_choice(
    root: type[Table], field: Any, tables: Mapping[str, object], key: str, choice: object, place: str
) -> list[Fault]:
    """What is wrong with a choice by itself; what it does to other keys shows in its rows."""
    if choice is False:
        return []
    if not _holds_tables(choice) or kind_of(field) is not None:
        says = faults_alone(field, choice)
        return [] if says is None else [Fault(key=place, says=says)]
    if sound_alone(field, choice):
        return []
    base = {name: table for name, table in tables.items() if name not in STUDIES}
    try:
        root.from_tables(with_changes(base, {key: choice}))  # type: ignore[attr-defined]  # the design's own
    except DesignError as error:
        own = [fault for fault in error.faults if fault.key.replace(" ", ".").startswith(f"{key}.")]
        return [Fault(key=f"{place}, {fault.key}", says=fault.says) for fault in own]
    return []


def _holds_tables(choice: object) -> bool:
    """Whether a choice is a table or a list of them: the design may fill in what they leave out."""
    if isinstance(choice, list | tuple):
        return any(isinstance(each, Mapping) for each in choice)
    return isinstance(choice, Mapping)


def _taken(choice: Any, kind: Quantity | Whole | None) -> Choice:
    """A sound choice: numbers in the key's own unit, false as what leaves the key out."""
    if choice is False:
        return None
    if isinstance(kind, Quantity) and not isinstance(choice, Mapping | list | tuple):
        return float(_own(kind.value(choice), kind.dimension))
    taken: Choice = choice
    return taken


def _repeated(choices: tuple[Choice, ...], place: str) -> list[Fault]:
    twice = next((one for k, one in enumerate(choices) if one in choices[:k]), ...)
    if twice is ...:
        return []
    told = "leaving it out" if twice is None else shown(twice)
    return [Fault(key=place, says=f"{told} stands there twice; name each value once")]
