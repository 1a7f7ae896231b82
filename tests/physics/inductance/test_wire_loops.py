"""Loops of round wire along the shapes' own curves, against the values of the books.

A square section stands for the wire: of the same geometric mean distance, 0.44705 of its side (T. R. Lyle,
Phil. Trans. A 213, 1914) and exp(-1/4) of the wire's radius. What is left of it at the corners goes with the
wire over the side.
"""

import numpy as np
import pytest
from neumann import polygon_of_wire
from spirals import MM, Section, polyline

from coilgen.geometry.line import Line
from coilgen.layout.corner import SHARP
from coilgen.layout.shape import Sizes, shape_named
from coilgen.physics.inductance.winding import layer_inductances


def wire_loop(shape: str, sizes: tuple[float, float], radius: float) -> tuple[float, float]:
    """Inductance, H, and length, m, of one turn of a shape; radius: of the wire, m."""
    side = radius * np.exp(-0.25) / 0.44705
    outer = (sizes[0] + side, sizes[1] + side)
    outline = shape_named(shape).outline(Sizes(outer=outer, width=side, pitch=2 * side, corner=SHARP))
    path = outline.closed(outline.first)
    assert all(isinstance(segment, Line) for segment in path.segments)
    corners = np.array([path.start, *(segment.end for segment in path.segments)]) / MM
    loop = polyline(corners, Section(width=side / MM, thickness=side / MM))
    return float(layer_inductances(loop).matrix.sum()), path.length


SIDES = {"triangular": 3, "square": 4, "pentagonal": 5, "hexagonal": 6}


@pytest.mark.parametrize("shape", SIDES)
def test_polygons_of_wire(shape):
    radius = 1e-5
    found, length = wire_loop(shape, (0.3, 0.3), radius)
    assert found == pytest.approx(polygon_of_wire(SIDES[shape], length, radius), rel=2e-4)


# By Neumann's integral (`neumann`); E. B. Rosa and F. W. Grover, Bulletin of the Bureau of Standards 8 (1),
# 1912, have the same.
@pytest.mark.parametrize(
    ("shape", "sizes", "henry"), [("square", (1.0, 1.0), 5.107e-6), ("rectangular", (2.0, 1.0), 8.0171e-6)]
)
def test_rectangles_of_wire(shape, sizes, henry):
    assert wire_loop(shape, sizes, 1e-3)[0] == pytest.approx(henry, rel=1e-3)
