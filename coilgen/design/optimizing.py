"""The [optimize] table: what is wanted, the keys that may change for it, and the limits that figures keep."""

import math
from collections.abc import Mapping
from typing import Any, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from coilgen.design.key_paths import field_in, flat, kind_of, of_any_winding
from coilgen.design.keys import Json, Quantity, Table
from coilgen.design.sweeping import Axis, axis_of, number_of
from coilgen.errors import DesignError, Fault, named, shown
from coilgen.frozen import dataclass
from coilgen.units import DIMENSIONS

WHOLE_KEYS = ("winding.turns",)
"""Numbers that go by steps of one where a range tells none: they may be fractions, yet seldom are."""
_KEYS = ("largest", "smallest", "magnitude", "vary", "limits")
_ALONE = "one value alone leaves nothing to vary; give another, or set it as the design's own key"
_LIMIT_KEYS = ("least", "most", "sure")
_DEEPEST = 4
"""Names in a limit's after the first: windings.left.impedance.10kHz.quality has most."""


@dataclass(frozen=True, kw_only=True)
class Span:
    """A key that takes any value from low to high, in its own unit."""

    key: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Goal:
    """A figure, and which value of it is wanted. magnitude: its size counts; None as usual for the figure."""

    figure: str
    sense: Literal["largest", "smallest"]
    magnitude: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What a figure, or a table's cell, may be at least and at most, as written. sure: by its band."""

    name: str
    least: object = None
    most: object = None
    sure: bool = False


@dataclass(frozen=True, kw_only=True)
class Search:
    """One goal, or two for a front; keys with their choices or spans; limits."""

    goals: tuple[Goal, ...]
    axes: tuple[Axis | Span, ...]
    limits: tuple[Limit, ...] = ()


class SearchTable:
    """Marks the field that holds what a search wants."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(_refused_within)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        figures: Json = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
        return {
            "type": "object",
            "description": "goal, keys to vary and limits of a search",
            "properties": {
                "largest": figures,
                "smallest": figures,
                "magnitude": {"type": "boolean"},
                "vary": {"type": "object", "additionalProperties": True},
                "limits": {"type": "object", "additionalProperties": _limits_schema(_DEEPEST)},
            },
            "required": ["vary"],
            "additionalProperties": False,
        }


def _limits_schema(deeper: int) -> Json:
    """Of a figure's limit, or of a table of limits by row, column or winding, so many names deeper."""
    limit: Json = {
        "type": "object",
        "properties": {"least": {}, "most": {}, "sure": {"type": "boolean"}},
        "additionalProperties": False,
    }
    if not deeper:
        return limit
    return {"anyOf": [limit, {"type": "object", "additionalProperties": _limits_schema(deeper - 1)}]}


def _refused_within(given: object) -> object:
    """A design's own table is read apart, with the design's model at hand: what comes here is a variant's."""
    raise ValueError("a variant searches nothing; put [optimize] beside it")


def searched(
    root: type[Table], tables: Mapping[str, object], given: object
) -> tuple[Search | None, list[Fault]]:
    """What an [optimize] table asks for in a design's tables, or its faults. root: the design's model."""
    if not isinstance(given, Mapping):
        says = f"{shown(given)} is not a table; write the goal and what may vary under [optimize]"
        return None, [Fault(key="optimize", says=says)]
    found = [
        Fault(key=f"optimize.{key}", says=f"no such key; use {', '.join(_KEYS)}")
        for key in given
        if key not in _KEYS
    ]
    goals, of_goals = _goals(given)
    axes, of_axes = _axes(root, tables, given.get("vary"))
    limits, of_limits = _limits(given.get("limits", {}))
    found += [*of_goals, *of_axes, *of_limits]
    return (None if found else Search(goals=goals, axes=axes, limits=limits)), found


def _goals(given: Mapping[str, Any]) -> tuple[tuple[Goal, ...], list[Fault]]:
    magnitude = given.get("magnitude")
    if magnitude is not None and not isinstance(magnitude, bool):
        says = f"{shown(magnitude)} is neither true nor false"
        return (), [Fault(key="optimize.magnitude", says=says)]
    goals: list[Goal] = []
    for sense in ("largest", "smallest"):
        told = given.get(sense, [])
        names = [told] if isinstance(told, str) else told
        if not isinstance(names, list | tuple) or not all(isinstance(name, str) for name in names):
            says = f'{shown(told)} names no figure; write "force_on_magnet", or a list of two for a front'
            return (), [Fault(key=f"optimize.{sense}", says=says)]
        goals += [Goal(figure=name, sense=sense, magnitude=magnitude) for name in names]
    if not 1 <= len(goals) <= 2 or len({goal.figure for goal in goals}) < len(goals):
        says = (
            f"{len(goals)} goals; give one figure as largest or smallest, or two different ones for a front"
        )
        return (), [Fault(key="optimize", says=says)]
    return tuple(goals), []


def _axes(
    root: type[Table], tables: Mapping[str, object], given: object
) -> tuple[tuple[Axis | Span, ...], list[Fault]]:
    if not isinstance(given, Mapping) or not given:
        says = "varies nothing; name a key, such as winding.turns = { from = 10, to = 20 }"
        return (), [Fault(key="optimize.vary", says=says)]
    found = [_axis(root, tables, key, values) for key, values in flat(given).items()]
    axes = tuple(axis for axis, _ in found if axis is not None)
    return axes, [fault for _, own in found for fault in own]


def _axis(
    root: type[Table], tables: Mapping[str, object], key: str, values: object
) -> tuple[Axis | Span | None, list[Fault]]:
    place = f"optimize.vary.{key}"
    if isinstance(values, Mapping) and "from" in values and values["from"] == values.get("to"):
        return None, [Fault(key=place, says=_ALONE)]
    if isinstance(values, Mapping) and values and not set(values) - {"from", "to"}:
        try:
            kind = kind_of(field_in(root, tables, key))
        except ValueError:
            kind = None
        if isinstance(kind, Quantity) and of_any_winding(key) not in WHOLE_KEYS:
            return _span(root, tables, key, values, kind, place)
        values = {**values, "step": 1}
    axis, faults = axis_of(root, tables, key, values, place)
    if axis is not None and len(axis.choices) == 1:
        return None, [Fault(key=place, says=_ALONE)]
    return axis, faults


def _span(
    root: type[Table],
    tables: Mapping[str, object],
    key: str,
    told: Mapping[str, object],
    kind: Quantity,
    place: str,
) -> tuple[Span | None, list[Fault]]:
    """A range without steps: its ends must be sound by themselves."""
    absent = [name for name in ("from", "to") if name not in told]
    if absent:
        return None, [Fault(key=place, says=f"{absent[0]} not given; write {{ from = a, to = b }}")]
    _, faults = axis_of(root, tables, key, [told["from"]], place)
    _, more = axis_of(root, tables, key, [told["to"]], place)
    if faults or more:
        return None, [*faults, *more]
    try:
        low, high = (float(number_of(told[name], kind, name)) for name in ("from", "to"))
    except ValueError as error:
        return None, [Fault(key=place, says=str(error))]
    if not low < high:
        says = f"from {low:g} is not under to {high:g}; turn them round, or set the key to one value"
        return None, [Fault(key=place, says=says)]
    return Span(key=key, low=low, high=high, unit=DIMENSIONS[kind.dimension].bare), []


def _limits(given: object) -> tuple[tuple[Limit, ...], list[Fault]]:
    if not isinstance(given, Mapping):
        return (), [Fault(key="optimize.limits", says=f"{shown(given)} is not a table of figures")]
    found = [_limit(name, told) for name, told in _by_figure(given).items()]
    return tuple(limit for limit, _ in found if limit is not None), [
        fault for _, own in found for fault in own
    ]


def _by_figure(given: Mapping[str, object], before: str = "") -> dict[str, object]:
    """Limits by the figure's name, a table's cell with dots."""
    found: dict[str, object] = {}
    for name, told in given.items():
        inner = isinstance(told, Mapping) and told and not set(told) & set(_LIMIT_KEYS)
        found |= _by_figure(told, f"{before}{name}.") if inner else {f"{before}{name}": told}  # type: ignore[arg-type]  # inner tells that it is a table
    return found


def _limit(name: str, told: object) -> tuple[Limit | None, list[Fault]]:
    key = f"optimize.limits.{name}"
    if not isinstance(told, Mapping) or not {"least", "most"} & set(told):
        says = f"{shown(told)} is no limit; write {{ most = … }} or {{ least = … }}"
        return None, [Fault(key=key, says=says)]
    strange = [each for each in told if each not in _LIMIT_KEYS]
    if strange:
        says = f"{', '.join(map(named, strange))} is no key of a limit; use {', '.join(_LIMIT_KEYS)}"
        return None, [Fault(key=key, says=says)]
    if not isinstance(told.get("sure", False), bool):
        return None, [Fault(key=f"{key}.sure", says=f"{shown(told['sure'])} is neither true nor false")]
    faults = [
        Fault(key=f"{key}.{end}", says=f"{shown(told[end])} is neither a number nor a string with a unit")
        for end in ("least", "most")
        if end in told and not _sound(told[end])
    ]
    limit = Limit(name=name, least=told.get("least"), most=told.get("most"), sure=told.get("sure", False))
    return (None if faults else limit), faults


def _sound(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return False
    return isinstance(value, str) or math.isfinite(value)


def refuse_crossed(name: str, least: float | None, most: float | None) -> None:
    """DesignError where limits of a figure leave no value between them."""
    if least is not None and most is not None and least > most:
        says = f"least {least:g} is over most {most:g}: nothing satisfies both; move one of them"
        raise DesignError.at(f"optimize.limits.{name}", says)
