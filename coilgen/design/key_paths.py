"""Dotted keys of the design file: which field each leads to, and what a single value of it may be."""

from collections.abc import Mapping
from typing import Annotated, Any, get_args

from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from coilgen.catalogue import nearest
from coilgen.design.keys import OneOrTwo, Quantity, Table, Whole
from coilgen.design.placing import OVER_THE_DESIGNS, Placing
from coilgen.design.validation_messages import model_of
from coilgen.errors import shown

Kind = Quantity | Whole | None
"""What a numeric key holds; None for words, lists and tables."""


RANGE = frozenset({"from", "to", "step"})
"""Keys that tell a table of numbers from one that leads on to further keys."""
STUDIES = ("variant", "sweep", "optimize")
"""Tables that tell how a design is studied; they are no part of it."""


class UnknownKeyError(ValueError):
    """A dotted key that leads nowhere; its text says what to do."""


def field_at(root: type[Table], key: str) -> FieldInfo | type[Table]:
    """The field that a dotted key names, or the model of an entry of a list, such as `core.1`.

    Entries of lists are told by their number, from 1. UnknownKeyError tells the nearest key.
    """
    table, steps = root, key.split(".")
    found: FieldInfo | type[Table] | None = None
    while steps:
        step = steps.pop(0)
        if step not in table.model_fields:
            raise UnknownKeyError(_unknown(key, step, table, root))
        found, inner = table.model_fields[step], model_of(table, step)
        if steps and inner is not None and _listed(table.model_fields[step]):
            number = steps.pop(0)
            if not number.isdecimal():
                raise UnknownKeyError(
                    f"{shown(number)} is no number of an entry; write {step}.1 for the first"
                )
            found = inner
        if steps and inner is None:
            raise UnknownKeyError(f"{step} holds no keys of its own; leave out {shown('.'.join(steps))}")
        table = inner or table
    assert found is not None, "a key has at least one step"
    return found


def field_in(root: type[Table], tables: Mapping[str, object], key: str) -> FieldInfo | type[Table]:
    """The field that a key names in a design's tables; one of several windings goes by number or name.

    UnknownKeyError as of `field_at`.
    """
    windings = tables.get("winding")
    if key.partition(".")[0] != "winding" or not isinstance(windings, list | tuple):
        return field_at(root, key)
    _, entry, rest = [*key.split(".", 2), "", ""][:3]
    names = [each.get("name") for each in windings if isinstance(each, Mapping)]
    if not rest or not (entry in names or (entry.isdecimal() and 0 < int(entry[:5]) <= len(names))):
        told = ", ".join(str(name) for name in names)
        raise UnknownKeyError(f"names none of the windings {told}; write such as winding.{names[0]}.turns")
    return _field_of_winding(root, entry, rest)


def of_any_winding(key: str) -> str:
    """The key of a board's one winding that means the same as one of several.

    >>> of_any_winding("winding.left.trace_width"), of_any_winding("winding.turns")
    ('winding.trace_width', 'winding.turns')
    """
    first, *rest = key.split(".")
    return f"{first}.{rest[1]}" if first == "winding" and len(rest) == 2 else key


def _field_of_winding(root: type[Table], entry: str, key: str) -> FieldInfo | type[Table]:
    first = key.partition(".")[0]
    if first == "name":
        raise UnknownKeyError("cannot be varied; it changes nothing of the coil")
    if key in Placing.model_fields:
        return Placing.model_fields[key]
    if first in OVER_THE_DESIGNS:
        return field_at(root, key)
    try:
        return field_at(root, f"winding.{key}")
    except UnknownKeyError as error:
        raise UnknownKeyError(str(error).replace('"winding.', f'"winding.{entry}.')) from None


def kind_of(field: FieldInfo | type[Table]) -> Kind:
    """What a field's one number is, or may be; None for a field that holds something else, or only a list."""
    if not isinstance(field, FieldInfo) or _listed(field):
        return None
    told = [*field.metadata, *(each for part in get_args(field.annotation) for each in _metadata(part))]
    numbers = (each.of if isinstance(each, OneOrTwo) else each for each in told)
    return next((each for each in numbers if isinstance(each, Quantity | Whole)), None)


def faults_alone(field: FieldInfo | type[Table], value: object) -> str | None:
    """What is wrong with a value of a field whatever the other keys are; None for a sound one."""
    kind = kind_of(field)
    try:
        if kind is not None and not isinstance(value, list | tuple):
            kind.value(value)
        elif isinstance(field, FieldInfo):
            _adapter(field).validate_python(value)
    except ValidationError as error:
        cause = error.errors(include_url=False)[0].get("ctx", {}).get("error")
        return str(cause) if cause is not None else f"{shown(value)} is not of a kind allowed here"
    except ValueError as error:
        return str(error)
    return None


def sound_alone(field: FieldInfo | type[Table], table: object) -> bool:
    """Whether a table is sound by itself; one that is not may lack what the design fills in."""
    try:
        _adapter(field).validate_python(table)
    except ValidationError:
        return False
    return True


def every_key(root: type[Table], before: str = "") -> tuple[str, ...]:
    """All dotted keys of a model's tables; those of lists with the number 1."""
    keys: list[str] = []
    for name, field in root.model_fields.items():
        inner, key = model_of(root, name), f"{before}{name}"
        if inner is None or name in STUDIES:
            keys.append(key)
        else:
            keys += every_key(inner, f"{key}.1." if _listed(field) else f"{key}.")
    return tuple(keys)


def _unknown(key: str, step: str, table: type[Table], root: type[Table]) -> str:
    keys = every_key(root)
    homes = [known for known in keys if known.endswith(f".{key}")]
    near = next(iter(homes), None) or nearest(key, keys) or nearest(step, table.model_fields)
    if near is not None:
        return f'no such key; did you mean "{near}"?'
    return f"no such key; {shown(step)} is none of {', '.join(table.model_fields)}"


def _adapter(field: FieldInfo | type[Table]) -> TypeAdapter[Any]:
    if not isinstance(field, FieldInfo):
        return TypeAdapter(field)
    given: Any = field.annotation
    for each in field.metadata:
        given = Annotated[given, each]
    return TypeAdapter(given)


def _metadata(part: Any) -> tuple[object, ...]:
    return getattr(part, "__metadata__", ())


def _listed(field: FieldInfo) -> bool:
    """Whether a field holds a list."""
    return getattr(field.annotation, "__origin__", None) is tuple


def flat(given: Mapping[str, object], before: str = "") -> dict[str, object]:
    """Values by dotted key, from dotted or quoted keys of a TOML table.

    >>> flat({"winding": {"turns": [1, 2]}, "drive.voltage": {"from": 1, "to": 2}})
    {'winding.turns': [1, 2], 'drive.voltage': {'from': 1, 'to': 2}}
    """
    found: dict[str, object] = {}
    for name, value in given.items():
        key = f"{before}{name}"
        if isinstance(value, Mapping) and value and not set(value) & RANGE:
            found |= flat(value, f"{key}.")
        else:
            found[key] = value
    return found
