"""Outlines of straight sides: regular polygons and rectangles.

Every side of a turn has the same level and the next turn's is one pitch less, so the copper measures the
same across every pair of flats, parallel sides of successive turns are exactly one pitch apart, and a
winding of N turns measures N widths and N - 1 spacings from its outer to its inner edge.
"""

import math

from coilgen.design.measure import Measure
from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Shape, Sizes
from coilgen.layout.sides import Straight


def polygonal(name: str, sides: int) -> Shape:
    """The shape of a regular polygon with one side facing south."""
    opposite = "from a flat to the opposite corner" if sides % 2 else "across flats"
    measure = Measure(says=opposite, corners=sides)

    def outline(sizes: Sizes) -> Outline:
        form = measure.form(sizes.corner.kind, sizes.corner.size)
        first = (sizes.outer[1] - sizes.width + form.tip) / form.sides
        return Outline(sides=regular(sides), first=first, pitch=sizes.pitch)

    return Shape(name=name, says=f"spiral of {sides} straight sides a turn", measure=measure, outline=outline)


def regular(sides: int) -> tuple[Straight, ...]:
    """The sides of a regular polygon."""
    return tuple(Straight(heading=heading(sides, side), turning=math.tau / sides) for side in range(sides))


def rectangle(sizes: Sizes) -> Outline:
    """Of two sizes."""
    across, along = ((size - sizes.width) / 2 for size in sizes.outer)
    sides = tuple(
        Straight(heading=heading(4, side), turning=math.tau / 4, extra=(across - along) * (side % 2))
        for side in range(4)
    )
    return Outline(sides=sides, first=along, pitch=sizes.pitch)
