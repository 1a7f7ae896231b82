"""Quantities with units: what people write becomes SI here, and SI becomes what people read."""

import math
import re
from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from coilgen.errors import shown
from coilgen.frozen import dataclass


class UnitError(ValueError):
    """A value that is no quantity of the asked dimension."""


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A kind of quantity: the unit of a bare number, and the factor of each unit to the stored one.

    Factors and offsets are decimal text, so that "6 mil" becomes the float nearest to 0.0001524.
    """

    name: str
    bare: str
    units: Mapping[str, str]
    example: str
    offsets: Mapping[str, str] = field(default_factory=dict)


# One avoirdupois ounce (28.349523125 g) over one square foot (0.09290304 m²) is 305.152 g/m²; spread at the
# 8890 kg/m³ of the international annealed copper standard [IEC 60028, 1925].
OUNCE_OF_COPPER = "34.3253e-6"

_DEGREE = "0.017453292519943295769"

_LENGTHS = {
    "mm": "1e-3",
    "um": "1e-6",
    "µm": "1e-6",
    "m": "1",
    "cm": "1e-2",
    "mil": "25.4e-6",
    "in": "25.4e-3",
}

DIMENSIONS: Mapping[str, Dimension] = MappingProxyType(
    {
        dimension.name: dimension
        for dimension in (
            Dimension(name="length", bare="mm", units=_LENGTHS, example="0.15 mm"),
            Dimension(
                name="copper thickness", bare="mm", units={**_LENGTHS, "oz": OUNCE_OF_COPPER}, example="35 um"
            ),
            Dimension(name="voltage", bare="V", units={"V": "1", "mV": "1e-3", "kV": "1e3"}, example="5 V"),
            Dimension(
                name="current", bare="A", units={"A": "1", "mA": "1e-3", "uA": "1e-6"}, example="300 mA"
            ),
            Dimension(
                name="frequency",
                bare="Hz",
                units={"Hz": "1", "kHz": "1e3", "MHz": "1e6", "GHz": "1e9"},
                example="20 kHz",
            ),
            Dimension(
                name="temperature",
                bare="degC",
                units={"degC": "1", "°C": "1", "K": "1"},
                offsets={"K": "-273.15"},
                example="25 degC",
            ),
            Dimension(name="flux density", bare="mT", units={"mT": "1e-3", "T": "1"}, example="0.35 T"),
            Dimension(name="core flux density", bare="T", units={"mT": "1e-3", "T": "1"}, example="1.2 T"),
            Dimension(
                name="time",
                bare="s",
                units={"s": "1", "ms": "1e-3", "us": "1e-6", "µs": "1e-6"},
                example="20 ms",
            ),
            Dimension(name="mass", bare="g", units={"g": "1e-3", "kg": "1", "mg": "1e-6"}, example="12 g"),
            Dimension(
                name="temperature difference",
                bare="degC",
                units={"degC": "1", "°C": "1", "K": "1"},
                example="5 degC",
            ),
            Dimension(
                name="resistance",
                bare="ohm",
                units={"ohm": "1", "Ω": "1", "mohm": "1e-3", "mΩ": "1e-3", "kohm": "1e3", "kΩ": "1e3"},
                example="3.2 ohm",
            ),
            Dimension(
                name="inductance",
                bare="H",
                units={"H": "1", "mH": "1e-3", "uH": "1e-6", "µH": "1e-6", "nH": "1e-9"},
                example="12 uH",
            ),
            Dimension(
                name="capacitance",
                bare="F",
                units={"F": "1", "uF": "1e-6", "µF": "1e-6", "nF": "1e-9", "pF": "1e-12"},
                example="33 pF",
            ),
            Dimension(name="force", bare="N", units={"N": "1", "mN": "1e-3", "uN": "1e-6"}, example="12 mN"),
            Dimension(name="rotation", bare="deg", units={"deg": "1", "°": "1"}, example="30 deg"),
            Dimension(name="fraction", bare="", units={"": "1", "%": "0.01"}, example='0.1 or "10 %"'),
            Dimension(
                name="angle", bare="deg", units={"deg": _DEGREE, "°": _DEGREE, "rad": "1"}, example="40 deg"
            ),
            Dimension(name="number", bare="", units={"": "1"}, example="14"),
        )
    }
)

_WRITTEN = re.compile(
    r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,4})?)\s*([^\s0-9]*)\s*", re.ASCII
)


def quantity(given: object, dimension: str) -> float:
    """The SI value of a bare number (in the dimension's own unit) or of a string with a unit.

    Temperatures are the exception to SI: they stay in degC.

    Raises UnitError for anything else: another kind, an unknown unit, a number that is not finite.

    >>> quantity("6 mil", "length"), quantity(0.15, "length"), quantity("1 oz", "copper thickness")
    (0.0001524, 0.00015, 3.43253e-05)
    """
    if type(given) in (str, int, float) and given:
        return _remembered(given, dimension)
    return _read(given, dimension)


@lru_cache(maxsize=4096, typed=True)
def _remembered(given: object, dimension: str) -> float:
    """Of many designs that are read one after another, most quantities are the same."""
    return _read(given, dimension)


def _read(given: object, dimension: str) -> float:
    kind = DIMENSIONS[dimension]
    if isinstance(given, str):
        return _scaled(*_parts(given, kind), kind, given)
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise UnitError(f"{shown(given)} is not a {kind.name}; {_how(kind)}")
    if (isinstance(given, int) and given.bit_length() > 1000) or not math.isfinite(given):
        raise UnitError(f"{shown(given)} is not a finite number; {_how(kind)}")
    return _scaled(repr(given if isinstance(given, int) else float(given)), kind.bare, kind, given)


def _parts(text: str, kind: Dimension) -> tuple[str, str]:
    """Number and unit of a written quantity."""
    found = _WRITTEN.fullmatch(text)
    if found is None:
        raise UnitError(f"{shown(text)} is not a {kind.name}; {_how(kind)}")
    number, unit = found.group(1), found.group(2)
    if set(kind.units) == {""}:
        raise UnitError(
            f"{shown(text)} is text; write the number without quotes or unit, such as {kind.example}"
        )
    if unit not in kind.units and not unit:
        raise UnitError(f"{shown(text)} has no unit; {_how(kind)}")
    if unit not in kind.units:
        raise UnitError(
            f"{shown(text)}: {shown(unit)} is not a unit of {kind.name}; use one of {', '.join(kind.units)}"
        )
    return number, unit


def _scaled(number: str, unit: str, kind: Dimension, given: object) -> float:
    exact = Decimal(number) * Decimal(kind.units[unit]) + Decimal(kind.offsets.get(unit, "0"))
    value = float(exact)
    if not math.isfinite(value):
        raise UnitError(f"{shown(given)} is not a finite number; {_how(kind)}")
    return value


def _how(kind: Dimension) -> str:
    if not kind.bare:
        return f"write a plain number such as {kind.example}"
    return f'write a number in {kind.bare} or a string with a unit such as "{kind.example}"'


def written(value: float, dimension: str) -> str:
    """An SI value in the dimension's own unit, short: for messages.

    >>> written(0.00015, "length"), written(14.0, "number")
    ('0.15 mm', '14')
    """
    kind = DIMENSIONS[dimension]
    own = (value - float(kind.offsets.get(kind.bare, "0"))) / float(kind.units[kind.bare])
    return f"{own:.6g} {kind.bare}".rstrip()


def in_mm(length: float) -> str:
    """A length in m as text in mm."""
    return written(length, "length")


MICROMETRE = 1e-6


def measured_mm(length: float, limit: float = 0.0) -> str:
    """A measured length in m as text in mm: to the micrometre, or to the nanometre where it is nearer than
    that to its limit, so that the two never look alike.

    >>> measured_mm(0.00029509), measured_mm(0.000149999, 0.00015), measured_mm(-0.0010000004)
    ('0.295 mm', '0.149999 mm', '-1 mm')
    """
    digits = 3 if abs(length - limit) >= MICROMETRE else 6
    return f"{round(length * 1e3, digits) + 0.0:.9g} mm"


def size_in_mm(size: float | tuple[float, ...]) -> str:
    """A size in m, of one number or of two, as text in mm.

    >>> size_in_mm(0.02), size_in_mm((0.034, 0.019))
    ('20 mm', '34 x 19 mm')
    """
    each = (size,) if isinstance(size, float) else size
    return " x ".join(in_mm(one) for one in each).replace(" mm x", " x")


_PREFIXES = {-15: "f", -12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}

# Unit in figures -> (factor, unit as shown, may take a prefix).
_SHOWN: Mapping[str, tuple[float, str, bool]] = MappingProxyType(
    {
        "1": (1.0, "", False),
        "ohm": (1.0, "Ω", True),
        "kg": (1e3, "g", True),
        "degC": (1.0, "°C", False),
        "m2": (1e4, "cm²", False),
        "A m2": (1.0, "A·m²", True),
        "T/W^0.5": (1.0, "T/√W", True),
        "A/m2": (1e-6, "A/mm²", False),
        "rad/s": (1.0, "rad/s", False),
        "r/min": (1.0, "r/min", False),
        "°": (1.0, "°", False),
    }
)


def readable(value: float, unit: str, digits: int = 3) -> str:
    """A figure as people write it: engineering prefix, a fixed number of significant digits.

    >>> readable(1.23e-05, "H"), readable(1.1, "ohm"), readable(0.0, "A"), readable(14, "1")
    ('12.3 µH', '1.10 Ω', '0 A', '14')
    >>> readable(2.5e7, "A/m2"), readable(0.0021, "kg"), readable(9.999e-4, "s")
    ('25.0 A/mm²', '2.10 g', '1.00 ms')
    """
    factor, name, prefixed = _SHOWN.get(unit, (1.0, unit, True))
    scaled = value * factor
    if not math.isfinite(scaled):
        return f"{scaled} {name}".rstrip()
    if unit == "1" and scaled == round(scaled):
        return f"{scaled:.0f}"
    if scaled == 0.0:
        return f"0 {name}"
    return _engineering(float(f"{scaled:.{digits - 1}e}"), name, digits, prefixed)


def _engineering(value: float, name: str, digits: int, prefixed: bool) -> str:
    exponent = int(f"{value:e}".split("e")[1])
    power = 3 * (exponent // 3) if prefixed else 0
    if power not in _PREFIXES or not -3 <= exponent - power < 6:
        return f"{value:.{digits - 1}e} {name}".rstrip()
    decimals = max(digits - 1 - (exponent - power), 0)
    return f"{value / 10.0**power:.{decimals}f} {_PREFIXES[power]}{name}".rstrip()


def shown_in(largest: float, unit: str) -> tuple[float, str]:
    """The factor and unit in which values up to the largest are shown side by side, as on an axis.

    >>> shown_in(0.005, "m"), shown_in(40.0, "degC"), shown_in(0.0, "T")
    ((1000.0, 'mm'), (1.0, '°C'), (1.0, 'T'))
    """
    factor, name, prefixed = _SHOWN.get(unit, (1.0, unit, True))
    scaled = abs(largest) * factor
    if not prefixed or scaled == 0.0:
        return factor, name
    power = 3 * math.floor(math.log10(scaled) / 3 + 1e-9)
    power = min(max(power, min(_PREFIXES)), max(_PREFIXES))
    return factor / 10.0**power, f"{_PREFIXES[power]}{name}"


def per_cent(share: float, digits: int = 0, *, signed: bool = False) -> str:
    """A share with so many digits after the point, never minus nothing.

    >>> per_cent(0.125, 1), per_cent(-0.0001, signed=True)
    ('12.5 %', '+0 %')
    """
    return f"{100 * share:{'+' if signed else ''}z.{digits}f} %"
