"""Limits told with a unit, as numbers in their figure's unit."""

from __future__ import annotations

import math
import re

from coilgen.errors import DesignError, shown

_PREFIXES = {"": 1.0, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}
_OF_LENGTHS = {**_PREFIXES, "c": 1e-2, "d": 1e-1}
_ALSO = {
    "kg": {"g": 1e-3, "mg": 1e-6},
    "rad/s": {"rpm": math.tau / 60, "1/min": math.tau / 60},
    "s": {"min": 60.0, "h": 3600.0},
    "1": {"": 1.0, "%": 1e-2},
    "ohm": {"Ω": 1.0, "mΩ": 1e-3, "kΩ": 1e3},
    "degC": {"°C": 1.0},
}
"""Units beside a figure's own, and how much of it they are."""


def value_in(told: object, unit: str, key: str) -> float | None:
    """A limit in a figure's unit: a bare number is in it, a string carries its own; DesignError at a key.

    >>> value_in("10 mN", "N", ""), value_in(80, "degC", ""), value_in("300 mm2", "m2", "")
    (0.01, 80.0, 0.0003)
    >>> value_in("20 A/mm2", "A/m2", ""), value_in("12 mN m/A", "N m/A", ""), value_in("5 g", "kg", "")
    (20000000.0, 0.012, 0.005)
    """
    if told is None or isinstance(told, int | float):
        return None if told is None else float(told)
    number = number_in(str(told), unit)
    if number is None:
        says = f"{shown(told)} is not in {unit}, the figure's unit; write a number, or one with that unit"
        raise DesignError.at(key, says)
    return number


def number_in(told: str, unit: str) -> float | None:
    """A number with its unit, in another unit; None where it is none.

    >>> number_in("0.5mm", "m"), number_in("10 kHz", "Hz"), number_in("top", "m")
    (0.0005, 10000.0, None)
    """
    number, written = _parts(told)
    scale = _scale(written, unit)
    if scale is None or not math.isfinite(number):
        return None
    return float(f"{number * scale:.15g}")


def _scale(written: str, unit: str) -> float | None:
    """How much of a figure's unit a written one is; None for one of another kind.

    Prefixes go with each factor, and a square has its prefix squared.
    """
    if written in _ALSO.get(unit, {}):
        return _ALSO[unit][written]
    if unit == "degC":
        return 1.0 if written == unit else None
    told, own = (re.split(r"([/ ])", each) for each in (written, unit))
    if len(told) != len(own) or told[1::2] != own[1::2]:
        return None
    scale, sign = 1.0, 1
    for place, (mine, base) in enumerate(zip(told, own, strict=True)):
        if place % 2:
            sign = -1 if base == "/" else sign
            continue
        prefix, power = mine.removesuffix(base), int(base[-1]) if base[-1] in "23" else 1
        prefixes = _OF_LENGTHS if base.rstrip("23") == "m" else _PREFIXES
        if not mine.endswith(base) or prefix not in prefixes:
            return None
        scale *= prefixes[prefix] ** (power * sign)
    return scale


def _parts(told: str) -> tuple[float, str]:
    text = told.strip()
    for end in range(len(text), 0, -1):
        try:
            return float(text[:end]), text[end:].strip()
        except ValueError:
            continue
    return math.nan, text
