"""Circular currents about one axis: mutual and self inductance of circles and rings."""

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import bracket_integral, mean_integrals
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
