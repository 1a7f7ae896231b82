"""Changes of a design's tables by dotted keys, as Python callers and searches make them."""

from collections.abc import Mapping, Sequence
from dataclasses import field

from coilgen.design.sizing import NUMBERS
from coilgen.errors import DesignError, shown
from coilgen.frozen import dataclass

Tables = dict[str, object]


@dataclass(frozen=True)
class Written:
    """The tables that a design was read from; they do not count where designs are compared."""

    tables: Mapping[str, object] = field(compare=False)


def with_changes(tables: Mapping[str, object], changes: Mapping[str, object]) -> Tables:
    """Tables with values put at dotted keys; entries of lists count from 1 or go by name, None leaves out.

    DesignError where a key leads through something that is no table, or to no entry of a list.

    >>> with_changes({"core": [{"gap": 1}]}, {"core.1.gap": 2, "drive.voltage": 3})
    {'core': [{'gap': 2}], 'drive': {'voltage': 3}}
    """
    changed: object = _with_open_size(tables, changes)
    for key, value in changes.items():
        changed = _with(changed, key.split("."), value, key)
    assert isinstance(changed, dict)
    return changed


def _with_open_size(tables: Mapping[str, object], changes: Mapping[str, object]) -> Tables:
    """Five given numbers of a winding must agree: the fifth is derived once another one changes."""
    winding = tables.get("winding")
    if isinstance(winding, list | tuple):
        return {**tables, "winding": [_with_open_entry(winding, k, changes) for k in range(len(winding))]}
    sized = {f"winding.{name}" for name in NUMBERS} & set(changes)
    if not isinstance(winding, Mapping) or not sized or "winding.inner_size" in sized:
        return dict(tables)
    if not all(name in winding for name in NUMBERS):
        return dict(tables)
    return {**tables, "winding": {key: value for key, value in winding.items() if key != "inner_size"}}


def _with_open_entry(windings: Sequence[object], place: int, changes: Mapping[str, object]) -> object:
    """One of several windings, of which a number changes."""
    own = windings[place]
    if not isinstance(own, Mapping):
        return own
    steps = {key: key.split(".") for key in changes}
    ways = (str(place + 1), own.get("name"))
    sized = {
        step[2] for step in steps.values() if len(step) == 3 and step[0] == "winding" and step[1] in ways
    }
    if not sized & set(NUMBERS) or "inner_size" in sized or not all(name in own for name in NUMBERS):
        return own
    return {key: value for key, value in own.items() if key != "inner_size"}


def _with(inside: object, steps: list[str], value: object, key: str) -> object:
    step, rest = steps[0], steps[1:]
    if isinstance(inside, list | tuple):
        return _with_entry(list(inside), step, rest, value, key)
    if not isinstance(inside, Mapping):
        raise DesignError.at(key, f"leads through {shown(inside)}, which is no table")
    if not rest and value is None:
        return {name: each for name, each in inside.items() if name != step}
    return {**inside, step: _with(inside.get(step, {}), rest, value, key) if rest else value}


def within(inside: object, step: str) -> object:
    """What tables or lists hold at a step of a dotted key; None where they hold nothing there."""
    if isinstance(inside, list | tuple):
        at = _place(inside, step)
        return inside[at] if 0 <= at < len(inside) else None
    return inside.get(step) if isinstance(inside, Mapping) else None


def _with_entry(entries: list[object], step: str, rest: list[str], value: object, key: str) -> list[object]:
    at = _place(entries, step)
    if not 0 <= at < len(entries):
        raise DesignError.at(key, f"{shown(step)} is no entry of a list of {len(entries)}; they count from 1")
    new = [_with(entries[at], rest, value, key)] if rest else ([] if value is None else [value])
    return entries[:at] + new + entries[at + 1 :]


def _place(entries: Sequence[object], step: str) -> int:
    """Of an entry by its number, from 1, or its name; none where that is not within the list."""
    if step.isdecimal() and len(step) < 5:
        return int(step) - 1
    names = [each.get("name") if isinstance(each, Mapping) else None for each in entries]
    return names.index(step) if step in names else -1
