"""Circular currents about one axis: mutual and self inductance of circles, rings and solenoids."""

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import bracket_integral, complete_integrals, mean_integrals
from coilgen.physics.inductance.mean_distance import geometric_mean_distance

Lengths = Floats | NDArray[np.float32] | float


def mutual_inductance(radius_a: Floats | float, radius_b: Floats | float, distance: Floats | float) -> Floats:
    """Mutual inductance of two coaxial circles, H. Radii > 0 and axial distance in m, broadcast together.

    Complete elliptic integrals (J. C. Maxwell, Treatise, art. 701; NIST DLMF 19.34.5). Infinite for two
    circles that coincide. Circles of 25 and 20 cm, 10 cm apart: 248.7874 nH by
    the same integrals of scipy (E. B. Rosa and F. W. Grover, Bulletin of the Bureau of Standards 8, 1912).

    >>> round(float(mutual_inductance(0.25, 0.20, 0.10)) * 1e9, 4)
    248.7874
    """
    nearest = np.sqrt(np.square(np.subtract(radius_a, radius_b)) + np.square(distance))
    return circles_at_distance(radius_a, radius_b, distance, nearest)


def circles_at_distance(
    radius_a: Floats | float, radius_b: Floats | float, height: Floats | float, nearest: Floats | float
) -> Floats:
    """Mutual inductance of coaxial circles, H, with the distance of their nearest points given, m.

    With `nearest` the geometric mean distance of two sections instead of that of their centres, rings of
    finite section follow (J. C. Maxwell, Treatise, art. 704), to second order in section over radius.
    """
    farthest = np.sqrt(np.square(np.add(radius_a, radius_b)) + np.square(height))
    farthest, nearest = np.broadcast_arrays(farthest, nearest)
    return np.asarray(MU0 * bracket_integral(farthest, nearest))


def mutual_inductance_and_slope(
    radius_a: Lengths, radius_b: Lengths, distance: Lengths
) -> tuple[Floats, Floats]:
    """Mutual inductance of coaxial circles, H, and its derivative with respect to their distance, H/m.

    Radii > 0 and axial distance in m, broadcast together; not for circles that coincide. Single precision
    gives single precision, 3e-6 of the slope, in two fifths of the time. The derivative is
    the force per square ampere, in the same elliptic integrals (J. C. Maxwell, Treatise, art. 701).
    """
    product = np.multiply(4.0 * np.asarray(radius_a), radius_b)
    near = np.square(np.subtract(radius_a, radius_b)) + np.square(distance)
    far = near + product
    first, bracket = mean_integrals(np.sqrt(far), np.sqrt(near))
    slope = np.square(product / far) * (0.5 * far) * first - (1.0 + near / far) * bracket
    slope *= -0.5 * MU0 * np.asarray(distance) / near
    return np.asarray(MU0 * bracket), slope


def rings_mutual_inductance(
    radius_a: Floats | float,
    radius_b: Floats | float,
    height: Floats | float,
    section_a: tuple[Floats | float, Floats | float],
    section_b: tuple[Floats | float, Floats | float],
) -> Floats:
    """Mutual (or self) inductance of coaxial rings of rectangular section, H; lengths in m, broadcast.

    Mean radii, axial distance, and each ring's (radial width, thickness). Exact geometric mean distance; the
    error falls with (width/radius)^2.
    """
    across = np.subtract(radius_a, radius_b)
    nearest = geometric_mean_distance(across, height, *section_a, *section_b)
    return circles_at_distance(radius_a, radius_b, height, nearest)


def ring_self_inductance(radius: float, width: float, thickness: float, strips: int = 32) -> float:
    """Self inductance of a flat ring of rectangular section with uniform current density, H; lengths in m.

    radius: mean. width: radial. The ring is divided into concentric strips; what is left falls with the
    square of their number. Raises ValueError for a width beyond twice the radius. Sheet of outer radius 1
    cm, inner radius 0.5 cm: 18.97401 nH.

    >>> round(ring_self_inductance(0.75e-2, 0.5e-2, 1e-7) * 1e9, 2)
    18.97
    """
    if not 0.0 < width <= 2.0 * radius:
        raise ValueError(f"a ring of mean radius {radius} m cannot be {width} m wide")
    radii = radius + width * ((np.arange(strips) + 0.5) / strips - 0.5)
    section = (width / strips, thickness)
    return float(rings_mutual_inductance(radii[:, None], radii, 0.0, section, section).mean())


def wire_ring_self_inductance(radius: Floats | float, wire_radius: Floats | float) -> Floats:
    """Self inductance of a ring of round wire with uniform current, H; radii in m, wire_radius << radius.

    mu0 R [(1 + r^2/8R^2) ln(8R/r) + r^2/24R^2 - 1.75] (E. B. Rosa and F. W. Grover, Bulletin of the Bureau of
    Standards 8, 1912). As thin wire mu0 R [ln(8R/r) - 7/4], by Neumann's integral (`tests/neumann.py`).

    >>> round(float(wire_ring_self_inductance(0.25, 0.0005)) * 1e9 / np.pi, 3)
    654.405
    """
    ratio = np.square(np.divide(wire_radius, radius))
    log = (1.0 + ratio / 8.0) * np.log(8.0 * np.divide(radius, wire_radius))
    return np.asarray(MU0 * radius * (log + ratio / 24.0 - 1.75))


def nagaoka_coefficient(diameter_over_length: Floats | float) -> Floats:
    """Factor of a cylindrical current sheet's inductance, L = K mu0 N^2 pi a^2 / length; argument > 0.

    H. Nagaoka, J. Coll. Sci. Tokyo 27, 1909 (0.688423 at diameter = length, as the mutual
    inductances of its circles sum to).

    >>> round(float(nagaoka_coefficient(1.0)), 6)
    0.688423
    """
    ratio = np.square(diameter_over_length)
    complement = 1.0 / (1.0 + ratio)
    first, second = complete_integrals(complement)
    inner = (first - second) / ratio + second - np.sqrt(1.0 - complement)
    return np.asarray(4.0 / (3.0 * np.pi) * inner / np.sqrt(complement))
