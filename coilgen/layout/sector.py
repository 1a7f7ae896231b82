"""The outline of a ring's sector: an outer arc in the south, two straight sides, a hollow inner arc.

All four sides follow the copper inward at one distance: the radii become lines beside them, the inner arc
grows. The centre lies on the middle line of the sector, `middle` from the ring's centre in the north.
"""

import cmath
import math

from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Sizes
from coilgen.layout.sides import Bend, Side, Straight


def sector(sizes: Sizes) -> Outline:
    """The outline of a winding that its sector tells."""
    ring = sizes.sector
    assert ring is not None, "a sector tells this shape"
    first = ring.outer_radius - ring.middle - sizes.width / 2
    centre, half = 1j * ring.middle, ring.angle / 2
    east = complex(-math.sin(half), math.cos(half))
    beside = ring.middle * math.sin(half) - sizes.width / 2 - first
    sides: tuple[Side, ...] = (
        Bend(centre=centre, spoke=-1j, extra=ring.middle),
        _radial(1, east, beside),
        Bend(centre=centre, spoke=-1j, extra=ring.inner_radius + sizes.width / 2 + first, hollow=True),
        _radial(3, east.conjugate(), beside),
    )
    return Outline(sides=sides, first=first, pitch=sizes.pitch)


def _radial(side: int, along: complex, extra: float) -> Straight:
    return Straight(heading=along, extra=extra, askew=cmath.phase(along / heading(4, side)))
