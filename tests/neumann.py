"""Loops of thin round wire by Neumann's integral, independent of the package's own bars and strips.

Of the current at low frequency the wire's own geometric mean distance, r exp(-1/4), takes its radius' place.
"""

import cmath
import math

from scipy.integrate import quad


def polygon_of_wire(sides: int, perimeter: float, radius: float) -> float:
    """Inductance of a regular polygon, H; perimeter and wire radius in m.

    L = 2e-7 l [ln(2 l/r) - alpha + 1/4]. F. W. Grover, Inductance Calculations, 1946, chapter 8, has the same
    alpha for few sides; very many come to the circle's 2 + ln(pi/2).

    >>> alphas = [0.25 + math.log(2e3) - polygon_of_wire(n, 1.0, 1e-3) / 2e-7 for n in (3, 4, 5, 6, 500)]
    >>> [round(alpha, 3) for alpha in alphas], round(2 + math.log(math.pi / 2), 3)
    ([3.197, 2.853, 2.712, 2.636, 2.452], 2.452)
    """
    corner = [cmath.rect(1.0, 2 * math.pi * k / sides) for k in range(sides + 1)]
    side = abs(corner[1] - corner[0])
    shared = sum(_shared(corner[0], corner[1], corner[k], corner[k + 1]) for k in range(1, sides)) / side
    alpha = 1 + math.log(sides) - shared / 2
    return 2e-7 * perimeter * (math.log(2 * perimeter / radius) - alpha + 0.25)


def _shared(start: complex, end: complex, other_start: complex, other_end: complex) -> float:
    """Neumann's double integral of two sides, over which one of the two is in closed form."""
    along, other = end - start, other_end - other_start
    direction = along / abs(along)

    def from_side(share: float) -> float:
        at = (other_start + share * other - start) / direction
        x, y = at.real, abs(at.imag)
        return math.asinh(x / y) + math.asinh((abs(along) - x) / y)

    cosine = (along.conjugate() * other).real / abs(along * other)
    return float(abs(other) * cosine * quad(from_side, 0, 1, limit=200)[0])
