"""How a winding's inductance changes with its section: widths, thicknesses and heights of its layers."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance


def ring_inductance(radius: Floats, width: float, thickness: Floats, height: Floats, share: Floats) -> float:
    """Inductance of equal layers of rings, H, good for ratios of alike windings.

    radius: (n,) m of the turns of a layer; width: m of the strip; thickness, height: (l,) m of the layers;
    share: (l,) of the current. A polygon counts as rings as long as its turns, which the ratio of two alike
    windings hardly feels.
    """
    a, z = np.tile(radius, len(height)), np.repeat(height, len(radius))
    t, weight = np.repeat(thickness, len(radius)), np.repeat(share, len(radius))
    matrix = rings_mutual_inductance(
        a[:, None], a[None, :], np.subtract.outer(z, z), (width, t[:, None]), (width, t[None, :])
    )
    return float(weight @ matrix @ weight)
