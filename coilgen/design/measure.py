"""What the sizes of a winding shape measure."""

import math
from typing import Protocol, cast

from coilgen.catalogue import names, specimen
from coilgen.design.sizing import FLAT, Form
from coilgen.frozen import dataclass


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What outer_size and inner_size are of a shape.

    says: in words. count: how many numbers they are, two for x and y. corners: of a regular polygon, 0 for
    other shapes. cornered: whether corners may be cut. sector: whether radii and an angle tell the shape.
    """

    says: str
    count: int = 1
    corners: int = 0
    cornered: bool = True
    sector: bool = False

    @property
    def centred(self) -> bool:
        """Whether a size is twice the distance of the sides from the centre."""
        return self.count == 1 and not self.sector and not self.corners % 2

    def form(self, corner: str, size: float) -> Form:
        """How the sizes grow with the copper; size: of a corner, m.

        >>> round(Measure(says="", corners=3).form("sharp", 0.0).slant, 12)
        2.0
        """
        if not self.corners % 2:
            return FLAT
        slant = 1 / math.cos(math.pi / self.corners)
        cuts = {"rounded": slant - 1, "chamfered": math.sin(math.pi / self.corners)}
        return Form(slant, cuts[corner] * size if corner in cuts else 0.0)


class _Measured(Protocol):
    @property
    def measure(self) -> Measure: ...


def measure_of(shape: object) -> Measure | None:
    """What the sizes of a shape measure, as the shape tells it; None for what is no shape."""
    package = "coilgen.layout.shapes"
    if shape not in names(package):
        return None
    return cast(_Measured, specimen(package, "SHAPE", str(shape))).measure
