"""What the sizes of a winding shape measure, and what their two ends have between them."""

import math
from dataclasses import dataclass
from typing import Protocol, cast

from coilgen.catalogue import specimens


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What outer_size and inner_size are of a shape.

    says: in words. count: how many numbers they are, two for x and y. sides: of a regular polygon, 0 for
    other shapes. cornered: whether corners may be cut. sector: whether radii and an angle tell the shape.
    """

    says: str
    count: int = 1
    sides: int = 0
    cornered: bool = True
    sector: bool = False

    @property
    def slant(self) -> float:
        """Distance from the centre at which a size ends opposite its flat, over the flat's own distance.

        1 where that is a flat too; an odd polygon's size ends in a corner.

        >>> round(Measure(says="", sides=3).slant, 12)
        2.0
        """
        return 1 / math.cos(math.pi / self.sides) if self.sides % 2 else 1.0

    def tip(self, corner: str, size: float) -> float:
        """By how much a cut corner ends a size nearer to the centre than a sharp one would, m."""
        if self.slant == 1.0 or corner == "sharp":
            return 0.0
        if corner == "rounded":
            return size * (self.slant - 1)
        return size * math.sin(math.pi / self.sides)


class _Measured(Protocol):
    @property
    def measure(self) -> Measure: ...


def measure_of(shape: str) -> Measure:
    """What the sizes of a shape measure, as the shape tells it."""
    return cast(_Measured, specimens("coilgen.layout.shapes", "SHAPE")[shape]).measure
