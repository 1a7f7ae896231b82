"""Straight rectangular bars with uniform current: self inductance, mutual inductance of parallel pairs."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.inductance.mean_distance import (
    geometric_mean_distance,
    self_arithmetic_mean_distance,
    self_geometric_mean_distance,
    self_mean_square_distance,
)
from coilgen.physics.inductance.straight_filaments import MU0_OVER_4PI, parallel_filaments


def bar_self_inductance(length: Floats | float, width: Floats | float, thickness: Floats | float) -> Floats:
    """Self inductance of a straight bar with square ends and uniform current, H; lengths in m, broadcast.

    mu0/2pi [l ln(2l/g) - l + a - q/4l] with the section's geometric mean distance g, arithmetic mean
    distance a and mean square distance q (E. B. Rosa, Bulletin of the Bureau of Standards 4, 1908; the next
    term is under (width/length)^4 / 32). For length >= width.

    Strip 50 x 1 x 0.035 mm, exact 50.762950 nH:

    >>> round(float(bar_self_inductance(50e-3, 1e-3, 0.035e-3)) * 1e9, 3)
    50.763
    """
    length = np.asarray(length, dtype=float)
    log = length * np.log(2.0 * length / self_geometric_mean_distance(width, thickness)) - length
    ends = self_arithmetic_mean_distance(width, thickness) - self_mean_square_distance(width, thickness) / (
        4.0 * length
    )
    return np.asarray(2.0 * MU0_OVER_4PI * (log + ends))


def bars_mutual_inductance(
    length_a: Floats | float,
    start_b: Floats | float,
    end_b: Floats | float,
    across: Floats | float,
    above: Floats | float,
    width: Floats | float,
    thickness: Floats | float,
) -> Floats:
    """Mutual inductance of two parallel bars of the same section, H; all in m, broadcast.

    Ends as in parallel_filaments; across and above are the offsets of the centre lines. Filaments at the
    exact geometric mean distance (J. C. Maxwell, Treatise, art. 691), and at each end the difference of the
    mean square distance from it: the error falls with (width/distance)^4. For bars that do not overlap.

    Two strips 50 x 1 x 0.035 mm, 2 mm between centres, exact 29.735587 nH:

    >>> round(float(bars_mutual_inductance(50e-3, 0.0, 50e-3, 2e-3, 0.0, 1e-3, 0.035e-3)) * 1e9, 2)
    29.74
    """
    mean = geometric_mean_distance(across, above, width, thickness, width, thickness)
    square = np.square(across) + np.square(above)
    spread = square + self_mean_square_distance(width, thickness) - np.square(mean)
    filaments = parallel_filaments(length_a, start_b, end_b, mean)
    near_ends = _inverse_distances(length_a, start_b, end_b, square)
    return np.asarray(filaments - 0.25 * MU0_OVER_4PI * spread * near_ends)


def _inverse_distances(
    length_a: Floats | float, start_b: Floats | float, end_b: Floats | float, square: Floats
) -> Floats:
    """Inverse distances of the four pairs of ends with the signs of Neumann's integral, 1/m."""
    ends = ((length_a, start_b, 1.0), (0.0, start_b, -1.0), (length_a, end_b, -1.0), (0.0, end_b, 1.0))
    total = np.zeros(())
    for a, b, sign in ends:
        total = total + sign / np.sqrt(np.square(np.subtract(a, b)) + square)
    return total
