"""A curve through points that rises wherever they rise: cubic between them, with one tangent at each."""

from functools import cached_property

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Indices


@dataclass(frozen=True, kw_only=True)
class MonotoneCubic:
    """y over x through points x (n,), y (n,), both rising, two or more.

    Slopes at inner points are weighted harmonic means of those of the chords (F. N. Fritsch and J. Butland,
    SIAM Journal on Scientific and Statistical Computing 5, 1984), at the ends those of parabolas through
    three points, not under 0. Values are told at any places from the first to the last point.
    """

    x: Floats
    y: Floats

    @cached_property
    def _chords(self) -> tuple[Floats, Floats]:
        """Width and slope of each piece, (n - 1,)."""
        width = np.diff(self.x)
        return width, np.diff(self.y) / width

    @cached_property
    def slopes(self) -> Floats:
        """dy / dx at the points, (n,)."""
        width, chord = self._chords
        if len(chord) == 1:
            return np.repeat(chord, 2)
        before, after = width[1:] + 2 * width[:-1], 2 * width[1:] + width[:-1]
        inner = (after + before) / (after / chord[:-1] + before / chord[1:])
        first, last = _at_end(width, chord), _at_end(width[::-1], chord[::-1])
        return np.concatenate([[first], inner, [last]])

    @cached_property
    def _powers(self) -> Floats:
        """Of each piece, (4, n - 1): y is the sum of powers[k] t^k, t from the piece's start."""
        (width, chord), slope = self._chords, self.slopes
        bend = (3 * chord - 2 * slope[:-1] - slope[1:]) / width
        twist = (slope[:-1] + slope[1:] - 2 * chord) / width**2
        return np.stack([self.y[:-1], slope[:-1], bend, twist])

    @cached_property
    def _areas(self) -> Floats:
        """Integral of y from the first point to the start of each piece, (n - 1,)."""
        width, _ = self._chords
        whole = _rising(width, *(power / k for k, power in enumerate(self._powers, 1))) * width
        return np.append(0.0, np.cumsum(whole)[:-1])

    def _within(self, x: Floats) -> tuple[Indices, Floats]:
        """The pieces that places x are in, and how far from their starts."""
        piece = np.clip(np.searchsorted(self.x, x, side="right") - 1, 0, len(self.x) - 2)
        return piece, x - self.x[piece]

    def value(self, x: Floats) -> Floats:
        """y at places x."""
        piece, t = self._within(x)
        return _rising(t, *self._powers[:, piece])

    def slope(self, x: Floats) -> Floats:
        """dy / dx at places x."""
        piece, t = self._within(x)
        _, first, second, third = self._powers[:, piece]
        return _rising(t, first, 2 * second, 3 * third)

    def integral(self, x: Floats) -> Floats:
        """Integral of y from the first point to places x."""
        piece, t = self._within(x)
        return self._areas[piece] + t * _rising(t, *(p[piece] / k for k, p in enumerate(self._powers, 1)))


def _rising(t: Floats, *powers: Floats) -> Floats:
    """Sum of powers[k] t^k."""
    out = powers[-1]
    for power in powers[-2::-1]:
        out = out * t + power
    return out


def _at_end(width: Floats, chord: Floats) -> float:
    """Slope at an end, of a parabola through three points; widths and slopes of chords from there on."""
    slope = ((2 * width[0] + width[1]) * chord[0] - width[0] * chord[1]) / (width[0] + width[1])
    return max(float(slope), 0.0)
