"""The field of a magnet from afar."""

import math


def reach_on_axis(moment: float, level: float) -> float:
    """Distance (m) from a magnet's centre at which its field on its axis falls to a level (T): a dipole's.

    moment: magnetic moment times mu0, remanence times volume, T m3. B = mu0 m / (2 pi z^3); J. D. Jackson,
    Classical Electrodynamics, section 5.6.

    >>> f"{reach_on_axis(1.0, 1 / (2 * math.pi)):.3f}"
    '1.000'
    """
    return float((moment / (2 * math.pi * level)) ** (1 / 3))
