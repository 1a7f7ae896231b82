"""Numbers tried on the page: which there are, the design they make, and the file they are saved to."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import String

from coilgen.catalogue import unknown
from coilgen.design.reading import tables
from coilgen.design.sizing import NUMBERS
from coilgen.design.winding_sizes import SECTOR
from coilgen.errors import DesignError, Fault
from coilgen.units import DIMENSIONS, UnitError, quantity, written

Numbers = Mapping[str, float]
"""Values by key such as "winding.turns", in the unit a design file takes for a bare number.

One of two sizes is counted from 1: "winding.outer_size.2".
"""

_DIMENSIONS = {
    "winding.layers": "number",
    "winding.turns": "number",
    "winding.trace_width": "length",
    "winding.trace_spacing": "length",
    "winding.outer_size": "length",
    "winding.inner_size": "length",
    "winding.inner_radius": "length",
    "winding.outer_radius": "length",
    "winding.angle": "rotation",
    "drive.voltage": "voltage",
    "drive.current": "current",
}
_STEPS = {"number": 1.0, "length": 0.01, "rotation": 1.0, "voltage": 0.1, "current": 0.01}
_DIRECTIONS = ("x", "y")


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
            dimension = _dimension(key)
            found.append(
                Tried(
                    key=key,
                    says=_says(key),
                    value=value,
                    unit=DIMENSIONS[dimension].bare,
                    step=_STEPS[dimension],
                )
            )
    return tuple(found)


def _says(key: str) -> str:
    _, name, *entry = key.split(".")
    return ", ".join([name.replace("_", " "), *(_DIRECTIONS[int(number) - 1] for number in entry)])


def _dimension(key: str) -> str:
    table, name, *_ = key.split(".")
    return _DIMENSIONS[f"{table}.{name}"]


def _offered(given: Mapping[str, Any]) -> list[str]:
    """Of the winding's five numbers, and of a sector's, those that are given.

    The opening gives way where all five are.
    """
    winding = given.get("winding")
    inside: Mapping[str, Any] = winding if isinstance(winding, Mapping) else {}
    named = [
        entry for name in (*NUMBERS, *SECTOR) if name in inside for entry in _entries(name, inside[name])
    ]
    if _overtold(inside):
        named = [name for name in named if not name.startswith("inner_size")]
    drive = given.get("drive")
    driven = "current" if isinstance(drive, Mapping) and "current" in drive else "voltage"
    return ["winding.layers", *(f"winding.{name}" for name in named), f"drive.{driven}"]


def _entries(name: str, value: object) -> list[str]:
    if not isinstance(value, list):
        return [name]
    return [f"{name}.{number}" for number, _ in enumerate(value[: len(_DIRECTIONS)], start=1)]


def _overtold(winding: Mapping[str, Any]) -> bool:
    """Whether all five numbers are given; both radii of a sector are its outer size."""
    told = {name for name in NUMBERS if name in winding}
    if all(radius in winding for radius in ("inner_radius", "outer_radius")):
        told.add("outer_size")
    return len(told) == len(NUMBERS)


_USUAL = {"winding.layers": 1.0, "drive.voltage": 5.0}
"""What holds where the file says nothing."""


def _value(given: Mapping[str, Any], key: str) -> float | None:
    """In the dimension's own unit; None for a value that is no quantity."""
    table, name, *entry = key.split(".")
    inside = given.get(table)
    if not isinstance(inside, Mapping) or name not in inside:
        return _USUAL.get(key)
    dimension = _dimension(key)
    try:
        stored = quantity(inside[name][int(entry[0]) - 1] if entry else inside[name], dimension)
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
    if _overtold(winding):
        winding.remove("inner_size")


def _put(document: tomlkit.TOMLDocument, key: str, number: float, now: float | None) -> None:
    """Written with a unit where the file has one; a number that is not changed stays as it is written."""
    table, name, *entry = key.split(".")
    if now is not None and number == now:
        return
    if table not in document:
        document[table] = tomlkit.table()
    inside: Any = document[table]
    place: Any = int(entry[0]) - 1 if entry else name
    if entry:
        inside = inside[name]
    whole = int(number) if number == int(number) else number
    unit = DIMENSIONS[_dimension(key)].bare
    written_so_far = inside[place] if entry or name in inside else None
    inside[place] = f"{whole} {unit}" if isinstance(written_so_far, String) else whole
