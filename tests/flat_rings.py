"""Flat rings of any width, as concentric rings that are each narrow."""

import numpy as np

from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance


def ring_self_inductance(radius, width, thickness, strips=32):
    """Self inductance of a flat ring of rectangular section with uniform current density, H; lengths in m.

    radius: mean. width: radial, to twice the radius. What is left falls with the square of the strips'
    number. Annular sheet of outer radius 1 cm, inner radius 0.5 cm: 18.97401 nH, computed in high precision.

    >>> round(ring_self_inductance(0.75e-2, 0.5e-2, 1e-7) * 1e9, 2)
    18.97
    """
    radii = radius + width * ((np.arange(strips) + 0.5) / strips - 0.5)
    section = (width / strips, thickness)
    return float(rings_mutual_inductance(radii[:, None], radii, 0.0, section, section).mean())
