"""How a winding's inductance changes with its section: widths, thicknesses and heights of its layers."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance

_DECIMALS = 12
"""Of a metre: pairs of layers that differ by less are equal."""


def ring_inductance(radius: Floats, width: float, thickness: Floats, height: Floats, share: Floats) -> float:
    """Inductance of equal layers of rings, H, good for ratios of alike windings.

    radius: (n,) m of the turns of a layer; width: m of the strip; thickness, height: (l,) m of the layers;
    share: (l,) of the current. A polygon counts as rings as long as its turns, which the ratio of two alike
    windings hardly feels. Pairs of layers as far apart and as thick are found once, each two turns once.
    """
    i, j = np.tril_indices(len(radius))
    upper, lower = np.tril_indices(len(height))
    rise = np.round(np.abs(height[upper] - height[lower]), _DECIMALS)
    thick = np.sort(np.round(np.stack([thickness[upper], thickness[lower]]), _DECIMALS), axis=0)
    kinds, kind = np.unique(np.vstack([rise, thick]), axis=1, return_inverse=True)
    weight = np.bincount(kind.ravel(), share[upper] * share[lower] * np.where(upper == lower, 1.0, 2.0))
    height_apart, one, other = kinds[..., None]
    linked = rings_mutual_inductance(radius[i], radius[j], height_apart, (width, one), (width, other))
    return float(weight @ linked @ np.where(i == j, 1.0, 2.0))
