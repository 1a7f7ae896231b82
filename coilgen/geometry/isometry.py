"""Mirrors and quarter turns of the plane, exact in floating point."""

import math
from dataclasses import dataclass

from coilgen.geometry.point import Point

_QUARTERS = (1 + 0j, 1j, -1 + 0j, -1j)


@dataclass(frozen=True)
class Isometry:
    """First mirror x -> -x (when `mirrored`), then turn counter-clockwise by quarter turns about the origin.

    >>> Isometry(mirrored=True, quarters=1).point(2 + 1j)
    (-1-2j)
    """

    mirrored: bool = False
    quarters: int = 0

    def point(self, at: Point) -> Point:
        """The image of a point."""
        if self.mirrored:
            at = complex(-at.real, at.imag)
        turn = _QUARTERS[self.quarters % 4]
        return complex(
            at.real * turn.real - at.imag * turn.imag,
            at.real * turn.imag + at.imag * turn.real,
        )

    def angle(self, angle: float) -> float:
        """The image of a direction's angle, rad."""
        if self.mirrored:
            angle = math.pi - angle
        return angle + (self.quarters % 4) * math.pi / 2

    def sweep(self, sweep: float) -> float:
        """The image of a signed angle, rad."""
        return -sweep if self.mirrored else sweep
