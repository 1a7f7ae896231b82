"""Round spirals of tangent quarter arcs."""

import math

from coilgen.design.measure import Measure
from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Shape, Sizes
from coilgen.layout.sides import Bend
from coilgen.layout.tangent import tangent


def _outline(sizes: Sizes) -> Outline:
    quadrants = tuple(Bend(centre=0j, spoke=heading(4, side) * -1j, half=math.pi / 4) for side in range(4))
    first = (sizes.outer[1] - sizes.width + sizes.pitch) / 2
    return tangent(quadrants, first=first, pitch=sizes.pitch, joint=(math.sqrt(0.5), math.sqrt(0.5)))


SHAPE = Shape(
    name="round",
    says="spiral of tangent quarter arcs",
    measure=Measure(says="diameter", cornered=False),
    outline=_outline,
)
