"""How tolerances carry into figures: each value with its shifts when one source stands at its 95 % limits.

A figure's band is the root of the sum of squares of its sources' shifts, each side for itself: independent
sources, as a law of propagation of uncertainty (JCGM 100:2008, 5.1), kept two-sided where a source or the
figure is not symmetrical.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

Shift = tuple[float, float]
"""What a value changes by when a source stands at its low and at its high limit."""


@dataclass(frozen=True)
class Spread:
    """A value and its shifts by source, such as "trace width"."""

    value: float
    shifts: Mapping[str, Shift] = field(default_factory=dict)

    @property
    def band(self) -> tuple[float, float]:
        """95 % of what may be met."""
        down = math.hypot(*(min(*shift, 0.0) for shift in self.shifts.values()))
        up = math.hypot(*(max(*shift, 0.0) for shift in self.shifts.values()))
        return self.value - down, self.value + up

    @property
    def contributions(self) -> tuple[tuple[str, float, float], ...]:
        """Source, how far it takes the value down and up, largest first; what changes nothing is left out."""
        found = [(source, min(*ends, 0.0), max(*ends, 0.0)) for source, ends in self.shifts.items()]
        kept = [each for each in found if each[2] > each[1]]
        return tuple(sorted(kept, key=lambda each: each[1] - each[2]))

    def plus(self, **shifts: Shift) -> "Spread":
        """The same with further sources."""
        return Spread(self.value, {**self.shifts, **shifts})


def told(value: float, source: str, low: float, high: float) -> Spread:
    """A value that a tolerance tells: at its low and at its high limit."""
    return Spread(value, {source: (low - value, high - value)} if (low, high) != (value, value) else {})


def within(value: float, source: str, share: float) -> Spread:
    """A value known to a share of itself.

    >>> within(5.0, "voltage", 0.1).band
    (4.5, 5.5)
    """
    return told(value, source, value - share * abs(value), value + share * abs(value))


def factor(source: str, share: float, value: float = 1.0) -> Spread:
    """A value known to a factor of 1 + share either way.

    >>> factor("permeability", 0.25).band
    (0.8, 1.25)
    """
    return told(value, source, value / (1 + share), value * (1 + share))


def carried(function: Callable[..., float], *given: Spread) -> Spread:
    """A function of values, with what each source changes in all of them at once.

    >>> carried(lambda voltage, ohm: voltage / ohm, within(5.0, "voltage", 0.1), Spread(2.0)).band
    (2.25, 2.75)
    """
    value = function(*(each.value for each in given))
    sources = dict.fromkeys(source for each in given for source in each.shifts)
    return Spread(value, {source: _shift(function, given, source, value) for source in sources})


def _shift(function: Callable[..., float], given: tuple[Spread, ...], source: str, value: float) -> Shift:
    low, high = (
        function(*(each.value + each.shifts.get(source, (0.0, 0.0))[end] for each in given)) - value
        for end in (0, 1)
    )
    return low, high
