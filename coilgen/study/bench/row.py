"""One row of a file of readings, as it was written, to a reading in SI."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from coilgen.catalogue import unknown
from coilgen.errors import DesignError, Fault, shown
from coilgen.study.bench.kinds import CONDITIONS, SIDES, Kind, kinds
from coilgen.study.bench.reading import Conditions, Reading
from coilgen.units import DIMENSIONS, UnitError, quantity, written

_NAME = re.compile(r"[\w][\w .:+/-]{0,39}")
_LIMITS: Mapping[str, tuple[float, float]] = {
    "temperature": (-100.0, 400.0),
    "frequency": (1.0, 1e9),
    "current": (1e-9, 1e3),
    "voltage": (1e-9, 1e4),
    "height": (0.0, 1.0),
    "gap": (0.0, 1.0),
    "time": (1e-6, 1e7),
}
"""Least and most of conditions, SI."""
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def reading_of(given: Mapping[str, object], place: str) -> Reading:
    """A reading; DesignError whose keys are the columns at fault."""
    row = _Row(given)
    sample, kind = row.sample(), row.kind()
    row.refuse_strangers()
    if kind is None:
        raise DesignError(row.faults)
    value, uncertainty = row.value(kind)
    at = row.conditions(kind)
    if row.faults:
        raise DesignError(row.faults)
    return Reading(sample=sample, figure=kind.name, value=value, uncertainty=uncertainty, at=at, place=place)


class _Row:
    """Reads the columns of one row, and gathers their faults."""

    def __init__(self, given: Mapping[str, object]) -> None:
        self._given = {key: value for key, value in given.items() if value not in ("", None)}
        self.faults: list[Fault] = []

    def _fault(self, key: str, says: str) -> None:
        self.faults.append(Fault(key=key, says=says))

    def refuse_strangers(self) -> None:
        """Keys of TOML that no reading has."""
        own = ("sample", "figure", "value", "unit", "uncertainty", "side", *CONDITIONS)
        for key in self._given:
            if key not in own:
                self._fault(key, f"no key of a reading; {unknown(key, own)}")

    def sample(self) -> str:
        """The board's label."""
        given = self._given.get("sample")
        if isinstance(given, int) and not isinstance(given, bool):
            given = str(given)  # a label of digits, as TOML writes it
        if isinstance(given, str) and _NAME.fullmatch(given):
            return given
        self._fault("sample", f"{_told(given)}; write the board's label, at most 40 letters, such as A1")
        return ""

    def kind(self) -> Kind | None:
        """What was read."""
        given = self._given.get("figure")
        if isinstance(given, str) and given in kinds():
            return kinds()[given]
        advice = unknown(given, kinds()) if isinstance(given, str) else f"use one of {', '.join(kinds())}"
        self._fault("figure", f"{_told(given)}; {advice}")
        return None

    def value(self, kind: Kind) -> tuple[float, float]:
        """The reading and its uncertainty, SI."""
        unit = self._given.get("unit", "")
        value = self._quantity("value", kind.dimension, unit)
        if value is None:
            return 0.0, 1.0
        positive = not kind.signed and kind.name != "temperature"
        if positive and value <= 0:
            self._fault("value", f"{shown(self._given['value'])} is not over 0; read {kind.name} again")
            return 0.0, 1.0
        uncertainty = self._uncertainty(kind, value, unit)
        if uncertainty is not None and not uncertainty > 0:
            given = shown(self._given.get("uncertainty"))
            self._fault("uncertainty", f"{given} is not over 0; give one standard deviation, or leave it out")
        return value, uncertainty or 1.0

    def _uncertainty(self, kind: Kind, value: float, unit: object) -> float | None:
        given = self._given.get("uncertainty", kind.usual_uncertainty)
        text = str(given).strip()
        if text.endswith("%"):
            share = self._convert("uncertainty", text, "fraction")
            return None if share is None else share * abs(value)
        dimension = kind.spread or kind.dimension
        if _NUMBER.fullmatch(text):
            text = f"{text} {'K' if kind.spread else unit}".strip()
        zero = 0.0 if kind.spread else float(DIMENSIONS[dimension].offsets.get(str(unit), "0"))
        found = self._convert("uncertainty", text if unit or kind.spread else _plain(text), dimension)
        return None if found is None else found - zero

    def _quantity(self, key: str, dimension: str, unit: object) -> float | None:
        given = self._given.get(key)
        text = str(given).strip()
        plain = _NUMBER.fullmatch(text) is not None and not isinstance(given, bool)
        unitless = set(DIMENSIONS[dimension].units) == {""}
        if plain and not unit and not unitless:
            kind = DIMENSIONS[dimension]
            self._fault("unit", f"not given; write one of {', '.join(each for each in kind.units if each)}")
            return None
        if plain and unitless:
            if unit not in ("", "1"):
                self._fault("unit", f"{shown(unit)} is given for what has none; leave it out")
                return None
            return self._convert(key, float(text), dimension)
        if not plain and unit:
            self._fault(key, f"{shown(given)} is no number; {_mend(text)}")
            return None
        return self._convert(key, f"{text} {unit}".strip() if plain else given, dimension)

    def _convert(self, key: str, given: object, dimension: str) -> float | None:
        try:
            return quantity(given, dimension)
        except UnitError as error:
            self._fault(key, str(error))
            return None

    def conditions(self, kind: Kind) -> Conditions:
        """What the row tells of how it was read; those that the figure needs must be there."""
        found: dict[str, Any] = {}
        for name, dimension in CONDITIONS.items():
            if name not in self._given:
                continue
            if name not in kind.conditions:
                self._fault(name, f"tells nothing of {kind.name}; leave it empty")
                continue
            found[name] = self._condition(name, dimension)
        for name, such in kind.needs.items():
            if name not in self._given:
                self._fault(name, f"not given; {kind.name} needs {such}")
        if "current" in found and "voltage" in found:
            self._fault("voltage", "given besides current; keep the one that was held")
        return Conditions(**found, side=self._side(kind))

    def _condition(self, name: str, dimension: str) -> float | None:
        given = self._given[name]
        plain = isinstance(given, str) and _NUMBER.fullmatch(given.strip())
        value = self._convert(name, float(given) if plain and isinstance(given, str) else given, dimension)
        least, most = _LIMITS[name]
        if value is not None and not least <= value <= most:
            ends = f"{written(least, dimension)} to {written(most, dimension)}"
            self._fault(name, f"{shown(given)} is outside what a bench has, {ends}")
        return value

    def _side(self, kind: Kind) -> str | None:
        given = self._given.get("side")
        if given is None:
            return "top" if "side" in kind.conditions else None
        if "side" not in kind.conditions:
            self._fault("side", f"tells nothing of {kind.name}; leave it empty")
        elif given not in SIDES:
            self._fault("side", f"{shown(given)} is no side; write top or bottom")
            return None
        return str(given)


def _mend(text: str) -> str:
    """What to do with a text that should be a number."""
    if re.fullmatch(r"[-+\d.,' ]+", text):
        return "write one decimal point and nothing between thousands"
    return "its unit has a column or key of its own"


def _plain(text: str) -> object:
    return float(text) if _NUMBER.fullmatch(text) else text


def _told(given: object) -> str:
    return "not given" if given is None else f"{shown(given)} is not known"
