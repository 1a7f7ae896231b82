"""Scales of plots: from a range of values to a share of the axis, with ticks at round numbers."""

import math
from collections.abc import Sequence

from coilgen.frozen import dataclass
from coilgen.units import readable, shown_in

TICKS = 6
"""About so many on a linear axis."""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """What an axis shows: its name, the unit of its values as in figures, whether it is logarithmic.

    from_zero: zero is on a linear axis whatever the values. least_span: of a linear axis, in its unit, so
    that small changes look small.
    """

    says: str
    unit: str
    logarithmic: bool = False
    from_zero: bool = False
    least_span: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Scale:
    """An axis over a range. `ticks` are values in the axis's unit, `labels` their texts."""

    low: float
    high: float
    logarithmic: bool
    ticks: tuple[float, ...]
    labels: tuple[str, ...]
    title: str

    def share(self, value: float) -> float:
        """Where a value stands between the ends: 0 at the low one, 1 at the high one."""
        if self.logarithmic:
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)


def scale(axis: Axis, values: Sequence[float]) -> Scale:
    """The scale that holds all values: whole steps, or whole decades' parts when logarithmic.

    ValueError for a logarithmic axis with a value that is not positive.
    """
    low, high = min(values), max(values)
    return _logarithmic(axis, low, high) if axis.logarithmic else _linear(axis, low, high)


def _linear(axis: Axis, low: float, high: float) -> Scale:
    if axis.from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    high = max(high, low + axis.least_span)
    if high - low <= 1e-9 * max(abs(low), abs(high)):
        spread = abs(high) / 10
        low, high = (low - spread, high + spread) if spread else (0.0, 1.0)
    if low > 0 and low < 0.4 * high:
        low = 0.0
    step = (_step_of_angle if axis.unit == "°" else round_step)((high - low) / TICKS)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    ticks = tuple(count * step for count in range(first, last + 1))
    factor, unit = shown_in(max(abs(ticks[0]), abs(ticks[-1])), axis.unit)
    decimals = max(0, -math.floor(math.log10(step * factor) + 1e-9))
    return Scale(
        low=ticks[0],
        high=ticks[-1],
        logarithmic=False,
        ticks=ticks,
        labels=tuple(f"{tick * factor + 0.0:.{decimals}f}".replace("-", "−") for tick in ticks),
        title=f"{axis.says}, {unit}" if unit else axis.says,
    )


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not under the least.

    >>> round_step(0.3), round_step(7.0)
    (0.5, 10.0)
    """
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * (1 - 1e-9))


def _step_of_angle(least: float) -> float:
    """Degrees: parts of a right angle, or round numbers where these are too coarse or too fine.

    >>> _step_of_angle(180 / 6), _step_of_angle(51.4 / 6), _step_of_angle(0.3)
    (30.0, 10.0, 0.5)
    """
    parts = (10.0, 15.0, 30.0, 45.0, 90.0)
    if not 5.0 < least <= parts[-1]:
        return round_step(least)
    return next(step for step in parts if step >= least * (1 - 1e-9))


def _logarithmic(axis: Axis, low: float, high: float) -> Scale:
    if low <= 0:
        raise ValueError(f"{low} on a logarithmic axis")
    decades = math.log10(high / low)
    steps = (1.0,) if decades > 3 else (1.0, 3.0) if decades > 1.5 else (1.0, 2.0, 5.0)
    marks = [
        step * 10.0**power
        for power in range(math.floor(math.log10(low)) - 1, math.ceil(math.log10(high)) + 2)
        for step in steps
    ]
    first = max(k for k, mark in enumerate(marks) if mark <= low * (1 + 1e-9))
    last = min(k for k, mark in enumerate(marks) if mark >= high * (1 - 1e-9))
    ticks = tuple(marks[first : max(last, first + 1) + 1])
    return Scale(
        low=ticks[0],
        high=ticks[-1],
        logarithmic=True,
        ticks=ticks,
        labels=tuple(readable(tick, axis.unit, 1) for tick in ticks),
        title=axis.says,
    )
