"""Oval spirals of four tangent arcs.

The arcs of the ends run into those of the sides where the normal is square to the chord between the ends of
two half axes: the usual four-centred oval, whose radii stay positive for all lengths of the axes.
"""

import math

from coilgen.design.measure import Measure
from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Shape, Sizes
from coilgen.layout.sides import Bend
from coilgen.layout.tangent import half_sizes, tangent


def _outline(sizes: Sizes) -> Outline:
    across, along = half_sizes(sizes)
    chord = math.hypot(across, along)
    joint = (along / chord, across / chord)
    radii = {half: chord * (chord - half) / (across + along - chord) for half in (across, along)}

    def side(number: int) -> Bend:
        spoke = heading(4, number) * -1j
        half = across if number % 2 else along
        return Bend(
            centre=spoke * (half - radii[half]),
            spoke=spoke,
            half=math.asin(joint[number % 2]),
            extra=radii[half] - along,
        )

    sides = tuple(side(number) for number in range(4))
    return tangent(sides, first=along, pitch=sizes.pitch, joint=joint)


SHAPE = Shape(
    name="oval",
    says="spiral of four tangent arcs of two radii",
    measure=Measure(says="over all in x and y", count=2, cornered=False),
    outline=_outline,
)
