"""Mirrors, turns and shifts of the plane; quarter turns are exact in floating point."""

import math

from coilgen.frozen import dataclass
from coilgen.geometry.point import Point, direction

_NO_TURN = 1e-10
"""deg, up to which a turn is none: it moves nothing on a board by the size of an atom."""
_QUARTERS = (1 + 0j, 1j, -1 + 0j, -1j)


@dataclass(frozen=True)
class Isometry:
    """First mirror x -> -x (when `mirrored`), then turn counter-clockwise about the origin, then shift.

    The turn is by quarter turns and by a further angle, rad; the shift in m.

    >>> Isometry(mirrored=True, quarters=1).point(2 + 1j)
    (-1-2j)
    >>> Isometry.placed(90.0, 1 + 0j).point(2 + 1j)
    2j
    """

    mirrored: bool = False
    quarters: int = 0
    further: float = 0.0
    shift: Point = 0j

    @classmethod
    def placed(cls, degrees: float, shift: Point) -> "Isometry":
        """A turn by degrees about the origin and then a shift, m."""
        quarters, rest = divmod(degrees, 90.0)
        further = math.radians(rest) if rest > _NO_TURN else 0.0
        return cls(quarters=int(quarters), further=further, shift=shift)

    @property
    def moves(self) -> bool:
        """Whether anything comes to lie elsewhere."""
        return self.mirrored or bool(self.quarters % 4 or self.further or self.shift)

    def inverse(self) -> "Isometry":
        """The isometry that brings images back.

        >>> turn = Isometry(mirrored=True, quarters=1, further=0.5, shift=2 + 1j)
        >>> abs(turn.inverse().point(turn.point(3 + 4j)) - (3 + 4j)) < 1e-12
        True
        """
        sense = 1 if self.mirrored else -1
        back = Isometry(self.mirrored, sense * self.quarters, sense * self.further)
        return Isometry(back.mirrored, back.quarters, back.further, -back.point(self.shift))

    def point(self, at: Point) -> Point:
        """The image of a point."""
        if self.mirrored:
            at = complex(-at.real, at.imag)
        turn = _QUARTERS[self.quarters % 4]
        turned = complex(
            at.real * turn.real - at.imag * turn.imag,
            at.real * turn.imag + at.imag * turn.real,
        )
        if self.further:
            turned *= direction(self.further)
        return turned + self.shift if self.shift else turned

    def angle(self, angle: float) -> float:
        """The image of a direction's angle, rad."""
        if self.mirrored:
            angle = math.pi - angle
        return angle + (self.quarters % 4) * math.pi / 2 + self.further

    def sweep(self, sweep: float) -> float:
        """The image of a signed angle, rad."""
        return -sweep if self.mirrored else sweep
