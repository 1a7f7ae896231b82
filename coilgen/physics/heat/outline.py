"""Flat bodies seen from the top, as convection counts them."""

import math

from coilgen.frozen import dataclass


@dataclass(frozen=True, kw_only=True)
class Outline:
    """Lengths of a flat body seen from the top: area m², perimeter m, height m when it stands on edge.

    Inside, the body is a disc of the same area; perimeter and height rule the convection.
    """

    area: float
    perimeter: float
    height: float

    def __post_init__(self) -> None:
        if not all(0 < each < math.inf for each in (self.area, self.perimeter, self.height)):
            raise ValueError("area, perimeter and height must be positive")
        if self.perimeter**2 < 4 * math.pi * self.area * (1 - 1e-9):
            raise ValueError("no outline of this perimeter encloses so large an area")

    @property
    def radius(self) -> float:
        """Of the disc of the same area, m."""
        return math.sqrt(self.area / math.pi)

    @property
    def breadth(self) -> float:
        """Diameter of a disc, side of a square, m: four times area over perimeter."""
        return 4 * self.area / self.perimeter


def disc(diameter: float) -> Outline:
    """Outline of a round body, m."""
    return Outline(area=math.pi * diameter**2 / 4, perimeter=math.pi * diameter, height=diameter)


def rectangle(width: float, height: float) -> Outline:
    """Outline of a rectangular body, m; height is its upright side when it stands on edge."""
    return Outline(area=width * height, perimeter=2 * (width + height), height=height)
