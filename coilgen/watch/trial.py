"""Numbers tried on the page: which there are, the design they make, and the file they are saved to."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import String

from coilgen.catalogue import unknown
from coilgen.design.reading import tables
from coilgen.design.sizing import NUMBERS
from coilgen.errors import DesignError, Fault
from coilgen.units import DIMENSIONS, UnitError, quantity, written

Numbers = Mapping[str, float]
"""Values by key such as "winding.turns", in the unit a design file takes for a bare number."""

_DIMENSIONS = {
    "winding.layers": "number",
    "winding.turns": "number",
    "winding.trace_width": "length",
    "winding.trace_spacing": "length",
    "winding.outer_size": "length",
    "winding.inner_size": "length",
    "drive.voltage": "voltage",
    "drive.current": "current",
}
_STEPS = {"number": 1.0, "length": 0.01, "voltage": 0.1, "current": 0.01}


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A number that can be tried: its key, what to call it, its value in the file, its unit and step."""

    key: str
    says: str
    value: float
    unit: str
    step: float


def tried(text: str) -> tuple[Tried, ...]:
    """The numbers of a design file that can be tried, as they stand; unreadable ones are left out."""
    given = tables(text)
    if isinstance(given.get("winding"), list):
        return ()  # a key would not tell which of several windings it is of
    found = []
    for key in _offered(given):
        value = _value(given, key)
        if value is not None:
            dimension = _DIMENSIONS[key]
            found.append(
                Tried(
                    key=key,
                    says=key.partition(".")[2].replace("_", " "),
                    value=value,
                    unit=DIMENSIONS[dimension].bare,
                    step=_STEPS[dimension],
                )
            )
    return tuple(found)


def _offered(given: Mapping[str, Any]) -> list[str]:
    """Of the winding's five numbers those that are given; the opening gives way where all five are."""
    winding = given.get("winding")
    named = [name for name in NUMBERS if isinstance(winding, Mapping) and name in winding]
    if len(named) == len(NUMBERS):
        named.remove("inner_size")
    drive = given.get("drive")
    driven = "current" if isinstance(drive, Mapping) and "current" in drive else "voltage"
    return ["winding.layers", *(f"winding.{name}" for name in named), f"drive.{driven}"]


_USUAL = {"winding.layers": 1.0, "drive.voltage": 5.0}
"""What holds where the file says nothing."""


def _value(given: Mapping[str, Any], key: str) -> float | None:
    """In the dimension's own unit; None for a value that is no quantity."""
    table, _, name = key.partition(".")
    inside = given.get(table)
    if not isinstance(inside, Mapping) or name not in inside:
        return _USUAL.get(key)
    dimension = _DIMENSIONS[key]
    try:
        stored = quantity(inside[name], dimension)
    except UnitError:
        return None
    return float(written(stored, dimension).partition(" ")[0])


def changed(text: str, numbers: Numbers) -> str:
    """The design file with numbers put in their places; comments, order and all else stay as they are.

    DesignError for a number that cannot be tried, or a file that is broken.
    """
    given = tables(text)
    offered = _offered(given)
    faults = [Fault(key=key, says=unknown(key, offered)) for key in numbers if key not in offered]
    if faults:
        raise DesignError(faults)
    document = tomlkit.parse(text)
    if _resizes(numbers):
        _leave_opening_open(document)
    for key, number in numbers.items():
        _put(document, key, number, _value(given, key))
    return tomlkit.dumps(document)


def _resizes(numbers: Numbers) -> bool:
    return any(key.startswith("winding.") and key != "winding.layers" for key in numbers)


def _leave_opening_open(document: tomlkit.TOMLDocument) -> None:
    """Five given numbers must agree: the fifth is left to be derived once another one changes."""
    winding: Any = document.get("winding", {})
    if all(name in winding for name in NUMBERS):
        winding.remove("inner_size")


def _put(document: tomlkit.TOMLDocument, key: str, number: float, now: float | None) -> None:
    """Written with a unit where the file has one; a number that is not changed stays as it is written."""
    table, _, name = key.partition(".")
    if now is not None and number == now:
        return
    if table not in document:
        document[table] = tomlkit.table()
    inside: Any = document[table]
    whole = int(number) if number == int(number) else number
    unit = DIMENSIONS[_DIMENSIONS[key]].bare
    if name in inside and isinstance(inside[name], String):
        inside[name] = f"{whole} {unit}"
    else:
        inside[name] = whole
