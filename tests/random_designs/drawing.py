"""A random design file: tables filled key by key, each key by its own rule, the same for the same seed.

Lengths are drawn in mm and written in any unit a design file takes; rules of later keys read earlier ones as
plain numbers.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

UNITS = {
    "length": {"mm": 1.0, "um": 1e3, "µm": 1e3, "cm": 0.1, "m": 1e-3, "mil": 1 / 0.0254, "in": 1 / 25.4},
    "voltage": {"V": 1.0, "mV": 1e3, "kV": 1e-3},
    "current": {"A": 1.0, "mA": 1e3, "uA": 1e6},
    "frequency": {"Hz": 1.0, "kHz": 1e-3, "MHz": 1e-6},
    "time": {"s": 1.0, "ms": 1e3, "us": 1e6},
    "mass": {"g": 1.0, "kg": 1e-3, "mg": 1e3},
    "flux density": {"mT": 1.0, "T": 1e-3},
    "temperature": {"degC": 1.0, "°C": 1.0},
    "angle": {"deg": 1.0, "°": 1.0, "rad": math.pi / 180},
    "number": {},
}
"""How many of each unit make one of the unit that a bare number is in."""

CARELESS = 0.01
"""Share of keys that are written although they do not belong to what was drawn before."""


@dataclass
class Drawn:
    """A design file while it is drawn. `table` is the one whose key is being drawn."""

    random: random.Random
    tables: dict[str, Any] = field(default_factory=dict)
    table: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, path: str) -> Any:
        """The value drawn for a key of a single table, None when it is left out."""
        found: Any = self.tables
        for step in path.split("."):
            found = found.get(step) if isinstance(found, dict) else None
        return plain(found)

    def of(self, key: str) -> Any:
        """The value of another key of the table being drawn."""
        return plain(self.table.get(key))

    def pick(self, *options: Any) -> Any:
        return self.random.choice(options)

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def between(self, low: float, high: float) -> float:
        return self.random.uniform(low, high)

    def spread(self, low: float, high: float) -> float:
        """Evenly over the logarithm."""
        return math.exp(self.random.uniform(math.log(low), math.log(high)))

    def quantity(self, value: float, dimension: str = "length") -> "Written":
        """A value as somebody writes it: in any unit, to three digits or in full."""
        if self.chance(0.7):
            value = float(f"{value:.3g}")
        units = UNITS[dimension]
        if not units or self.chance(0.4):
            return Written(value, float(f"{value:.9g}"))
        unit = self.pick(*units)
        return Written(value, f"{value * units[unit]:.9g} {unit}")

    def lengths(self, *values: float) -> "Written":
        return Written(list(values), [self.quantity(value).text for value in values])


@dataclass(frozen=True)
class Written:
    """A value and how it is written."""

    value: Any
    text: Any


def plain(drawn: Any) -> Any:
    """The value, without how it is written."""
    return drawn.value if isinstance(drawn, Written) else drawn


@dataclass(frozen=True, kw_only=True)
class Key:
    """How one key is drawn: how often it is written, where it belongs, and its value.

    path: dotted, as in the design file. rule: value of the key, or None to leave it out. A table is drawn as
    {} and a list of tables as [{}, …] by the rule of its own key; its keys follow, drawn for each entry.
    """

    path: str
    rule: Callable[[Drawn], Any]
    share: float = 1.0
    where: Callable[[Drawn], bool] = lambda drawn: True


def draw(keys: tuple[Key, ...], seed: int) -> dict[str, Any]:
    """The tables of a design file, as they are written."""
    drawn = Drawn(random.Random(seed))
    for key in keys:
        *path, name = key.path.split(".")
        for table in homes(drawn.tables, path):
            drawn.table = table
            if drawn.chance(key.share) and (key.where(drawn) or drawn.chance(CARELESS)):
                value = key.rule(drawn)
                if value is not None:
                    table[name] = value
    return dict(as_written(drawn.tables))


def homes(table: Any, path: list[str]) -> list[dict[str, Any]]:
    """The tables at a path: none where it is left out, several where an entry of a list is on the way."""
    if isinstance(table, list):
        return [home for entry in table for home in homes(entry, path)]
    if not isinstance(table, dict):
        return []
    return homes(table.get(path[0]), path[1:]) if path else [table]


def as_written(drawn: Any) -> Any:
    """Drawn values as a file has them; keys without a text are left out."""
    if isinstance(drawn, Written):
        return drawn.text
    if isinstance(drawn, dict):
        return {key: text for key, value in drawn.items() if (text := as_written(value)) is not None}
    return [as_written(entry) for entry in drawn] if isinstance(drawn, list) else drawn
