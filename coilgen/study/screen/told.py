"""What a design tells as numbers and as words, and whether the screen covers it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from coilgen.design.keys import Table
from coilgen.frozen import dataclass

if TYPE_CHECKING:
    from coilgen.design.design import Design

_TABLES = (
    "winding", "board", "rules", "pocket", "hole", "via", "terminals", "drive", "magnet", "mounting", "core",
    "target",
)  # fmt: skip
_OTHER = (
    "name", "note", "probe", "tolerance", "revision", "order", "variant", "sweep", "optimize", "calibration",
)  # fmt: skip
"""Tables that decide no figure of the screen, or of which it covers none."""
_FOLLOWS = "winding.inner_size"
"""Follows from the other numbers of the winding."""

Numbers = Mapping[str, float]
Words = tuple[tuple[str, object], ...]


def left_to_exact(design: Design) -> str | None:
    """Why the screen does not cover a design; None where it does.

    Covered is a board of one winding of any shape and number of layers, driven by direct current from a
    voltage or a current, without calibration, with or without a magnet above or below, soft cores, a target.
    """
    checks = (
        (design.windings, "has several windings"),
        (design.magnet and design.target, "has a magnet and a target"),
        (design.calibration, "is calibrated"),
        (design.drive.waveform != "dc", f'is driven by waveform = "{design.drive.waveform}"'),
        (design.drive.current_limit, "has a supply that gives in, drive.current_limit"),
        (design.magnet and design.magnet.pole not in ("up", "down"), "has a magnet that lies"),
    )
    more = (f"has {name}" for name in _further() if getattr(design, name))
    return next((says for holds, says in checks if holds), None) or next(more, None)


@cache
def _further() -> tuple[str, ...]:
    """Tables of a design that the screen knows nothing of."""
    from coilgen.design.design import Design

    return tuple(name for name in Design.model_fields if name not in (*_TABLES, *_OTHER))


@dataclass(frozen=True)
class Told:
    """Numbers by dotted key, SI; and all else by key, equal where it is alike."""

    numbers: Numbers
    words: Words


class Reader:
    """Reads designs one after another. Tables that two have in common are read once."""

    def __init__(self) -> None:
        self._last: dict[str, tuple[object, Told]] = {}

    def of(self, design: Design) -> Told:
        """What decides a design's figures and rules, without bands."""
        numbers: dict[str, float] = {"tolerance.plating": design.tolerance.plating[1]}
        words: list[tuple[str, object]] = []
        for name in _TABLES:
            told = self._table(name, getattr(design, name))
            numbers.update(told.numbers)
            words += told.words
        return Told(numbers, tuple(words))

    def _table(self, name: str, table: object) -> Told:
        if name not in self._last or self._last[name][0] != table:
            self._last[name] = table, _told(name, table)
        return self._last[name][1]


def _told(name: str, table: object) -> Told:
    leaves = [(key, value) for key, value in _leaves(name, table) if not key.startswith(_FOLLOWS)]
    numbers = {key: float(value) for key, value in leaves if isinstance(value, float)}
    return Told(numbers, tuple((key, value) for key, value in leaves if not isinstance(value, float)))


def _leaves(key: str, value: Any) -> Iterator[tuple[str, object]]:
    """Values by key: floats, or what can be compared."""
    if isinstance(value, Table):
        for name in type(value).model_fields:
            yield from _leaves(f"{key}.{name}", getattr(value, name))
    elif isinstance(value, list | tuple):
        yield key, len(value)
        for place, each in enumerate(value):
            yield from _leaves(f"{key}.{place}", each)
    elif isinstance(value, float | int | str | None):
        yield key, value
    else:
        yield key, repr(value)
