"""How far a winding's true inductance may lie from the value at uniform current, as shares of it."""

import numpy as np

from coilgen.physics.inductance.mitred_strips import Strips

STRIPS_ERROR = 3e-4
"""Largest error of mitred strips seen against finely divided ones, on sides of 1.5 widths or more."""
RINGS_ERROR = 2e-4
"""Error of many turns taken as rings, seen against fine chords; of a single one three times that."""
LEAD_ERROR = 0.2e-9
"""H, error where a layer's leads bend away from the ends of its rings, seen against chords."""
VIA_INDUCTANCE = 0.5e-6
"""H/m of a single plated hole of 0.3 mm through 1.6 mm of board, rounded up (E. B. Rosa 1908, round wire)."""
CORNER_SHIFT = 0.19 / (0.5 * np.pi)
"""Area by which a bend's current leaves the mean path on its inside, over width squared and radian.

At a sharp right angle 0.19 width^2 (two-dimensional flow, solved numerically); a smooth bend has 1/12 a
radian.
"""


def rings_error(turns: int, layers: int, inductance: float) -> float:
    """Expected share of error of so many turns on so many layers, taken as rings, with their leads."""
    return RINGS_ERROR * (1.0 + 2.0 * layers / turns) + LEAD_ERROR * layers / inductance


def crowding(strips: Strips) -> float:
    """Share by which current that crowds to the inside of bends lowers the inductance, a rough upper value.

    Half the share of the turn area it leaves, as an inductance goes with a size and an area with its square.
    """
    bends = 2.0 * np.arctan(np.abs(strips.slope_end))
    lost = CORNER_SHIFT * float(np.sum(bends * strips.width**2))
    area = abs(0.5 * float(np.sum((strips.start.conj() * strips.end).imag)))
    return 0.5 * lost / max(area, lost, 1e-30)


def vias(strips: Strips) -> float:
    """Inductance of single vias at the layer changes, H."""
    return VIA_INDUCTANCE * float(np.sum(np.abs(np.diff(strips.z))))
