"""Numbers tried on the page: which there are, the design they make, and the file they are saved to."""

from collections.abc import Iterator, Mapping
from math import floor, log10
from typing import Any

import tomlkit
from tomlkit.items import String

from coilgen.catalogue import unknown
from coilgen.design.capability import Rules
from coilgen.design.design import Design
from coilgen.design.key_paths import STUDIES, UnknownKeyError, field_in, kind_of
from coilgen.design.keys import Quantity, Whole
from coilgen.design.reading import tables
from coilgen.design.sizing import NUMBERS
from coilgen.design.winding_sizes import SECTOR
from coilgen.errors import DesignError, Fault
from coilgen.frozen import dataclass
from coilgen.units import DIMENSIONS, UnitError, quantity, written

Numbers = Mapping[str, float]
"""Values by key such as "winding.turns", in the unit a design file takes for a bare number.

One of two sizes, and an entry of a list of tables, are counted from 1: "winding.outer_size.2", "core.1.gap".
"""

_STEPS = {"length": 0.01, "rotation": 1.0, "voltage": 0.1, "current": 0.01, "temperature": 1.0}
"""Of the units that design files take; other quantities move by a hundredth of their size or so."""
_FURTHEST = 3.0
"""Times its value, and the part of it, that a slider goes up and down to."""
_DIRECTIONS = ("x", "y")
_SHOP = {
    "winding.trace_width": "trace_width",
    "winding.trace_spacing": "trace_spacing",
    "via.drill": "drill_diameter",
}
"""Lengths that the shop's rule of this name keeps from below."""
_USUAL = {"winding.layers": 1.0, "drive.voltage": 5.0}
"""What holds where the file says nothing."""


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A number that can be tried: its key, what to call it, its value in the file, its unit and step.

    low, high: ends of its slider. first: whether it is offered at once, not only chosen.
    """

    key: str
    says: str
    value: float
    unit: str
    step: float
    low: float
    high: float
    first: bool = True


def tried(text: str, rules: Rules | None = None) -> tuple[Tried, ...]:
    """The numbers of a design file that can be tried, as they stand: those of winding and drive first.

    rules: the shop's, whose limits end the sliders. Unreadable numbers are left out.
    """
    given = tables(text)
    first = _first(given)
    others = [key for key in _written_numbers(given) if key not in first and not _gives_way(given, key)]
    found = (_tried(given, key, rules, first=key in first) for key in (*first, *others))
    return tuple(each for each in found if each is not None)


def _tried(given: Mapping[str, Any], key: str, rules: Rules | None, *, first: bool) -> Tried | None:
    value, kind = _value(given, key), _kind(given, key)
    if value is None or kind is None:
        return None
    step = 1.0 if isinstance(kind, Whole) else _step(kind, value)
    low, high = _ends(kind, value)
    limit = _SHOP.get(key)
    if rules is not None and limit is not None:
        low = max(low, 1e3 * rules.limit(limit))
    unit = DIMENSIONS[kind.dimension].bare if isinstance(kind, Quantity) else ""
    low = value - step * floor(max(0.0, value - low) / step + 1e-9)
    high = max(high, value)
    return Tried(
        key=key,
        says=key_words(key),
        value=value,
        unit=unit,
        step=step,
        low=float(f"{low:.9g}"),
        high=high,
        first=first,
    )


def _step(kind: Quantity, value: float) -> float:
    own = _STEPS.get(kind.dimension)
    if own is not None:
        return own
    if kind.dimension == "number" and value == int(value):
        return 1.0
    return 10.0 ** floor(log10(abs(value)) - 1) if value else 0.1


def _ends(kind: Quantity | Whole, value: float) -> tuple[float, float]:
    """Of a slider: about the value, within what its key allows."""
    least, most = float(kind.least), float(kind.most)
    if isinstance(kind, Quantity):
        least, most = (_bare(end, kind.dimension) for end in (kind.least, kind.most))
    reach = _FURTHEST * abs(value) or 1.0
    low = value / _FURTHEST if value > 0.0 else -reach
    return max(least, float(f"{low:.3g}")), min(most, float(f"{reach:.3g}"))


def key_words(key: str) -> str:
    """The key in words; of winding and drive the last part alone, as there is one of each."""
    steps = key.split(".")
    *front, last = steps[1:] if steps[0] in ("winding", "drive") and not steps[1].isdecimal() else steps
    if last.isdecimal() and front:
        return f"{' '.join(front)}, {_DIRECTIONS[int(last) - 1]}".replace("_", " ")
    return " ".join([*front, last]).replace("_", " ")


def _first(given: Mapping[str, Any]) -> list[str]:
    """Of the winding's five numbers, and of a sector's, those that are given, with the drive.

    The opening gives way where all five are. Of several windings none: which, is chosen.
    """
    winding = given.get("winding")
    if isinstance(winding, list):
        return []
    inside: Mapping[str, Any] = winding if isinstance(winding, Mapping) else {}
    named = [
        entry for name in (*NUMBERS, *SECTOR) if name in inside for entry in _entries(name, inside[name])
    ]
    drive = given.get("drive")
    driven = "current" if isinstance(drive, Mapping) and "current" in drive else "voltage"
    keys = ["winding.layers", *(f"winding.{name}" for name in named), f"drive.{driven}"]
    return [key for key in keys if not _gives_way(given, key)]


def _entries(name: str, value: object) -> list[str]:
    if not isinstance(value, list):
        return [name]
    return [f"{name}.{number}" for number, _ in enumerate(value[: len(_DIRECTIONS)], start=1)]


def _gives_way(given: Mapping[str, Any], key: str) -> bool:
    """Whether a number is the opening of a winding told by all five."""
    inside = given.get("winding")
    return key.startswith("winding.inner_size") and isinstance(inside, Mapping) and _overtold(inside)


def _overtold(winding: Mapping[str, Any]) -> bool:
    """Whether all five numbers are given; both radii of a sector are its outer size."""
    told = {name for name in NUMBERS if name in winding}
    if all(radius in winding for radius in ("inner_radius", "outer_radius")):
        told.add("outer_size")
    return len(told) == len(NUMBERS)


def _written_numbers(given: Mapping[str, Any]) -> list[str]:
    """Keys of all single numbers that a file writes about the coil."""
    told = {name: table for name, table in given.items() if name not in STUDIES}
    return [key for key in _leaves(told) if _kind(given, key) is not None and _value(given, key) is not None]


def _leaves(inside: object, before: str = "") -> Iterator[str]:
    if isinstance(inside, Mapping):
        for name, value in inside.items():
            if "." not in name:
                yield from _leaves(value, f"{before}.{name}" if before else name)
    elif isinstance(inside, list):
        for number, value in enumerate(inside, start=1):
            yield from _leaves(value, f"{before}.{number}")
    elif isinstance(inside, int | float | str) and not isinstance(inside, bool):
        yield before


def _kind(given: Mapping[str, Any], key: str) -> Quantity | Whole | None:
    """What the number of a key is; None for words and for lists of any length."""
    front, _, last = key.rpartition(".")
    for named in (key, front) if last.isdecimal() else (key,):
        try:
            return kind_of(field_in(Design, given, named))
        except UnknownKeyError:
            continue
    return None


def _value(given: Mapping[str, Any], key: str) -> float | None:
    """In the kind's own unit; None for a value that is no number of it."""
    inside: Any = given
    for step in key.split("."):
        inside = _entry(inside, step)
        if inside is None:
            return _USUAL.get(key)
    kind = _kind(given, key)
    if not isinstance(kind, Quantity):
        return float(inside) if isinstance(inside, int | float) else None
    try:
        return _bare(quantity(inside, kind.dimension), kind.dimension)
    except UnitError:
        return None


def _entry(inside: Any, step: str) -> Any:
    if isinstance(inside, Mapping):
        return inside.get(step)
    if isinstance(inside, list) and step.isdecimal() and 0 < int(step) <= len(inside):
        return inside[int(step) - 1]
    return None


def _bare(value: float, dimension: str) -> float:
    """A value in SI as a bare number of a design file."""
    return float(written(value, dimension).partition(" ")[0])


def changed(text: str, numbers: Numbers) -> str:
    """The design file with numbers put in their places; comments, order and all else stay as they are.

    DesignError for a number that cannot be tried, or a file that is broken.
    """
    given = tables(text)
    offered = [each.key for each in tried(text)]
    faults = [Fault(key=key, says=unknown(key, offered)) for key in numbers if key not in offered]
    if faults:
        raise DesignError(faults)
    document = tomlkit.parse(text)
    if _resizes(numbers):
        _leave_opening_open(document)
    for key, number in numbers.items():
        _put(document, key, number, _value(given, key), _kind(given, key))
    return tomlkit.dumps(document)


def _resizes(numbers: Numbers) -> bool:
    return any(key.startswith("winding.") and key != "winding.layers" for key in numbers)


def _leave_opening_open(document: tomlkit.TOMLDocument) -> None:
    """Five given numbers must agree: the fifth is left to be derived once another one changes."""
    winding: Any = document.get("winding", {})
    if not isinstance(winding, list) and _overtold(winding):
        winding.remove("inner_size")


def _put(
    document: tomlkit.TOMLDocument, key: str, number: float, now: float | None, kind: Quantity | Whole | None
) -> None:
    """Written with a unit where the file has one; a number that is not changed stays as it is written."""
    if now is not None and number == now:
        return
    *steps, last = key.split(".")
    inside: Any = document
    for step in steps:
        if not isinstance(inside, list) and step not in inside:
            inside[step] = tomlkit.table()
        inside = inside[_place(inside, step)]
    place = _place(inside, last)
    whole = int(number) if number == int(number) else number
    so_far = inside[place] if isinstance(inside, list) or place in inside else None
    if isinstance(so_far, String) and isinstance(kind, Quantity):
        inside[place] = f"{whole} {DIMENSIONS[kind.dimension].bare}"
    else:
        inside[place] = whole


def _place(inside: object, step: str) -> Any:
    """Where a step of a key leads to: lists are counted from 1."""
    return int(step) - 1 if isinstance(inside, list) else step
