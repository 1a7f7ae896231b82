"""Rectangular spirals."""

from coilgen.design.measure import Measure
from coilgen.layout.polygonal import rectangle
from coilgen.layout.shape import Shape

SHAPE = Shape(
    name="rectangular",
    says="spiral of four straight sides of two lengths",
    measure=Measure(says="across the flats in x and y", count=2),
    outline=rectangle,
)
