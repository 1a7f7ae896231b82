"""A point of the plane is a complex number x + iy in metres; a direction is one of modulus 1."""

import cmath
from typing import TypeAlias

Point: TypeAlias = complex


def direction(angle: float) -> Point:
    """Unit vector at an angle, rad, counter-clockwise from x.

    >>> direction(0.0)
    (1+0j)
    """
    return cmath.rect(1.0, angle)


def dot(a: Point, b: Point) -> float:
    """Scalar product."""
    return a.real * b.real + a.imag * b.imag


def cross(a: Point, b: Point) -> float:
    """The z part of the vector product; positive when b lies counter-clockwise of a."""
    return a.real * b.imag - a.imag * b.real
