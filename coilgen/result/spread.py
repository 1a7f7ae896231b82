"""How tolerances carry into figures: each value with its shifts when one source stands at its 95 % limits.

A figure's band is the root of the sum of squares of its sources' shifts, each side for itself: independent
sources, as a law of propagation of uncertainty (JCGM 100:2008, 5.1), kept two-sided where a source or the
figure is not symmetrical.
"""

import math
import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace

from coilgen.frozen import dataclass

Shift = tuple[float, float]
"""What a value changes by when a source stands at its low and at its high limit."""
CALIBRATED = "what the bench left open"
"""Source of a band that stands for all that a calibration tells together."""


@dataclass(frozen=True)
class Together:
    """Sources that a bench knows together: how those were made that it measured.

    covariance (n, n): of where the sources stand, in units of the limits at which shifts are told; a sum of
    two may be known far better than each of them.
    """

    sources: tuple[str, ...]
    covariance: tuple[tuple[float, ...], ...]

    def reach(self, shifts: Mapping[str, Shift]) -> float:
        """By how much all of them together may change a value, to either side."""
        slopes = [(high - low) / 2 for low, high in (shifts.get(each, (0.0, 0.0)) for each in self.sources)]
        rows = zip(slopes, self.covariance, strict=True)
        square = sum(one * sum(map(operator.mul, row, slopes)) for one, row in rows)
        return math.sqrt(max(square, 0.0))


@dataclass(frozen=True)
class Spread:
    """A value and its shifts by source, such as "trace width". together: sources known from a bench."""

    value: float
    shifts: Mapping[str, Shift] = field(default_factory=dict)
    together: Together | None = None

    @property
    def band(self) -> tuple[float, float]:
        """95 % of what may be met."""
        ends = self._ends
        down = math.hypot(*(min(*shift, 0.0) for shift in ends.values()))
        up = math.hypot(*(max(*shift, 0.0) for shift in ends.values()))
        return self.value - down, self.value + up

    @property
    def contributions(self) -> tuple[tuple[str, float, float], ...]:
        """Source, how far it takes the value down and up, largest first; what changes nothing is left out.

        What a bench left open is one of them.
        """
        found = [(source, min(*ends, 0.0), max(*ends, 0.0)) for source, ends in self._ends.items()]
        kept = [each for each in found if each[2] > each[1]]
        return tuple(sorted(kept, key=lambda each: each[1] - each[2]))

    @property
    def _ends(self) -> Mapping[str, Shift]:
        """Shifts of sources that do not depend on one another."""
        if self.together is None:
            return self.shifts
        reach = self.together.reach(self.shifts)
        apart = {each: shift for each, shift in self.shifts.items() if each not in self.together.sources}
        return {**apart, CALIBRATED: (-reach, reach)}

    def plus(self, **shifts: Shift) -> "Spread":
        """The same with further sources."""
        return replace(self, shifts={**self.shifts, **shifts})


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
    together = next((each.together for each in given if each.together is not None), None)
    return Spread(value, {source: _shift(function, given, source, value) for source in sources}, together)


def widest(given: Sequence[Spread]) -> Spread:
    """The first value, with what of each source changes any of them most, in proportion.

    >>> widest([Spread(0.1), within(2.0, "voltage", 0.1)]).band
    (0.09000000000000001, 0.11000000000000001)
    """
    first, shifts = given[0], dict[str, Shift]()
    for each in given:
        for source, (low, high) in each.shifts.items():
            found = (first.value / each.value * low, first.value / each.value * high)
            shifts[source] = max(found, shifts.get(source, found), key=lambda shift: abs(shift[1] - shift[0]))
    return Spread(first.value, shifts, next((each.together for each in given if each.together), None))


def _shift(function: Callable[..., float], given: tuple[Spread, ...], source: str, value: float) -> Shift:
    if not any(end for each in given for end in each.shifts.get(source, ())):
        return 0.0, 0.0
    low, high = (
        function(*(each.value + each.shifts.get(source, (0.0, 0.0))[end] for each in given)) - value
        for end in (0, 1)
    )
    return low, high
