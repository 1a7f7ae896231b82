"""Racetrack spirals: straight sides along the larger size, half-round ends."""

import math

from coilgen.design.measure import Measure
from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Shape, Sizes
from coilgen.layout.sides import Bend, Side, Straight
from coilgen.layout.tangent import half_sizes, tangent


def _outline(sizes: Sizes) -> Outline:
    halves = half_sizes(sizes)
    radius, long = min(halves), int(halves[0] < halves[1])
    straight = abs(halves[0] - halves[1])

    def side(number: int) -> Side:
        along = heading(4, number)
        if number % 2 == long:
            return Straight(heading=along, half=straight, extra=radius - halves[1])
        spoke = along * -1j
        return Bend(centre=spoke * straight, spoke=spoke, half=math.pi / 2, extra=radius - halves[1])

    joint = (1.0, 0.0) if long else (0.0, 1.0)
    sides = tuple(side(number) for number in range(4))
    return tangent(sides, first=halves[1], pitch=sizes.pitch, joint=joint)


SHAPE = Shape(
    name="racetrack",
    says="spiral of straight sides with half-round ends",
    measure=Measure(says="over all in x and y", count=2, cornered=False),
    outline=_outline,
)
