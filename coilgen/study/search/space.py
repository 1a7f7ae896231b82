"""Points of a search as rows of numbers from 0 to 1, and rows back as points."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.design.optimizing import Span
from coilgen.frozen import dataclass

if TYPE_CHECKING:
    from coilgen.design.sweeping import Axis, Choice
    from coilgen.study.search.problem import Point

Array = np.ndarray[Any, np.dtype[np.float64]]
DIGITS = 6
"""Digits of a value that has no steps: a ten-thousandth of a trace's width is far under what a fab holds."""
_END = 1e-3
"""Share of a range, and of a value, that is nothing beside an end of the range: a tenth of a micrometre of a
trace. There a designer wants the end itself, and estimates tell no difference."""
_APART = 0.7
"""Distance of choices without order from one another, over the root of 2."""
_OTHER_CHOICE, _NEXT_NUMBER = 0.15, 0.4
"""Shares of the rows about one that take another choice, or the next number of a list."""


@dataclass(frozen=True)
class Space:
    """The keys of a search, each a column of rows."""

    axes: tuple[Axis | Span, ...]

    @cached_property
    def columns(self) -> tuple[Ranged | Numbers | Words, ...]:
        """What turns values of each key into numbers, and back."""
        return tuple(_column(axis) for axis in self.axes)

    @cached_property
    def listed(self) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """Which keys take choices, not any value of a range, (axes,)."""
        return np.array([not isinstance(each, Ranged) for each in self.columns])

    def row(self, point: Point) -> Array:
        """A point as numbers, (axes,)."""
        return np.array([each.number(value) for each, value in zip(self.columns, point, strict=True)])

    def point(self, row: Sequence[float] | Array) -> Point:
        """The point nearest to a row."""
        return tuple(each.value(float(x)) for each, x in zip(self.columns, row, strict=True))

    def filled(self, shares: Array) -> Array:
        """Rows from numbers that fill 0 to 1 evenly, (n, axes): each choice gets its share."""
        return np.stack([each.filled(shares[:, k]) for k, each in enumerate(self.columns)], axis=1)

    def features(self, rows: Array) -> Array:
        """Columns to measure distances in, (n, features): choices without order stand equally far apart."""
        parts = [each.features(rows[:, k]) for k, each in enumerate(self.columns)]
        return np.concatenate(parts, axis=1)

    def random(self, generator: np.random.Generator, count: int) -> Array:
        """Rows all over the space, (count, axes)."""
        return self.filled(generator.random((count, len(self.axes))))

    def around(self, generator: np.random.Generator, row: Array, reach: float, count: int) -> Array:
        """Rows about one, changed in some columns and kept in the others, (count, axes)."""
        steps = reach * generator.standard_normal((count, len(row)))
        changed = generator.random(steps.shape) < max(0.5, 1.5 / len(row))
        rows = row + np.where(changed, steps, 0.0)
        parts = [each.about(rows[:, k], row[k], generator) for k, each in enumerate(self.columns)]
        return np.stack(parts, axis=1)


@dataclass(frozen=True)
class Ranged:
    """Any value from low to high, by its logarithm where positive."""

    low: float
    high: float

    def number(self, value: Any) -> float:
        """0 at low, 1 at high."""
        return _share(float(value), self.low, self.high)

    def value(self, x: float) -> Choice:
        """The value at a number, to so many digits; an end where it is as good as there."""
        low, high = self.low, self.high
        if not self._end < x < 1 - self._end:
            return low if x < 0.5 else high
        return min(high, max(low, float(f"{float(self.numbers(x)):.{DIGITS}g}")))

    @property
    def _end(self) -> float:
        """As near to 0 or 1 as is nothing beside them."""
        wide = math.log(self.high / self.low) if self.low > 0 else 1.0
        return _END / max(wide, 1.0)

    def numbers(self, column: Array | float) -> Array:
        """The values of a column."""
        low, high = self.low, self.high
        return np.asarray(low * (high / low) ** column if low > 0 else low + column * (high - low))

    def filled(self, shares: Array) -> Array:
        """As they are."""
        return shares

    def features(self, column: Array) -> Array:
        """The number itself, (n, 1)."""
        return column[:, None]

    def about(self, column: Array, own: float, generator: np.random.Generator) -> Array:
        """Into the range."""
        return np.clip(column, 0.0, 1.0)


@dataclass(frozen=True)
class Numbers:
    """A list of numbers, sorted; in order, yet with nothing between."""

    choices: tuple[Choice, ...]
    levels: Array

    def number(self, value: Any) -> float:
        """Where it stands from 0 to 1."""
        return float(self.levels[self.choices.index(value)])

    def value(self, x: float) -> Choice:
        """The choice nearest to a number."""
        return self.choices[int(np.argmin(np.abs(self.levels - x)))]

    def numbers(self, column: Array) -> Array:
        """The choices of a column."""
        between = (self.levels[1:] + self.levels[:-1]) / 2
        return np.array(self.choices, float)[np.searchsorted(between, column)]

    def filled(self, shares: Array) -> Array:
        """Each choice as often as the others."""
        places = np.minimum(len(self.levels) - 1, (shares * len(self.levels)).astype(int))
        told: Array = self.levels[places]
        return told

    def features(self, column: Array) -> Array:
        """The number itself, (n, 1)."""
        return column[:, None]

    def about(self, column: Array, own: float, generator: np.random.Generator) -> Array:
        """Onto choices; where a step is short, some go to the next one nevertheless."""
        at = int(np.argmin(np.abs(self.levels - own)))
        places = np.clip(at + generator.integers(-1, 2, len(column)), 0, len(self.levels) - 1)
        stepped = generator.random(len(column)) < _NEXT_NUMBER
        between = (self.levels[1:] + self.levels[:-1]) / 2
        told: Array = self.levels[np.where(stepped, places, np.searchsorted(between, column))]
        return told


@dataclass(frozen=True)
class Words:
    """A list of choices without order: their number in the list."""

    choices: tuple[Choice, ...]

    def number(self, value: Any) -> float:
        """Its place in the list."""
        return float(self.choices.index(value))

    def value(self, x: float) -> Choice:
        """The choice at a place."""
        return self.choices[round(x)]

    def filled(self, shares: Array) -> Array:
        """Each choice as often as the others."""
        return np.minimum(len(self.choices) - 1, np.floor(shares * len(self.choices)))

    def features(self, column: Array) -> Array:
        """A column for each choice, (n, choices)."""
        told: Array = _APART * (np.rint(column)[:, None] == np.arange(len(self.choices)))
        return told

    def about(self, column: Array, own: float, generator: np.random.Generator) -> Array:
        """Some take another choice; there is none near by."""
        other = generator.integers(0, len(self.choices), len(column)).astype(float)
        return np.where(generator.random(len(column)) < _OTHER_CHOICE, other, own)


def _column(axis: Axis | Span) -> Ranged | Numbers | Words:
    if isinstance(axis, Span):
        return Ranged(axis.low, axis.high)
    if not axis.numeric:
        return Words(axis.choices)
    pairs = sorted((float(choice), choice) for choice in axis.choices)  # type: ignore[arg-type]  # all are numbers
    low, high = pairs[0][0], pairs[-1][0]
    levels = np.array([_share(number, low, high) for number, _ in pairs])
    return Numbers(tuple(choice for _, choice in pairs), levels)


def _share(value: float, low: float, high: float) -> float:
    if low == high:
        return 0.0
    return math.log(value / low) / math.log(high / low) if low > 0 else (value - low) / (high - low)
