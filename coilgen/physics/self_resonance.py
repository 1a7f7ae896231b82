"""Self-resonance of a winding from its inductance and its winding capacitance."""

import math

TOLERANCE = 0.15
"""Relative band of the self-resonance: the capacitance's model, the dielectric's permittivity and thickness."""


def self_resonance(inductance: float, capacitance: float) -> float:
    """Frequency 1 / (2 pi sqrt(L C)), Hz, of L in H with C in F (W. Thomson, 1853); no losses.

    Infinite for a winding without capacitance. Raises ValueError unless L > 0 and C >= 0.

    >>> round(self_resonance(25.33e-6, 10e-12) / 1e6, 3)
    10.0
    """
    if not inductance > 0 or not capacitance >= 0:
        raise ValueError("inductance must be positive and capacitance not negative")
    root = math.sqrt(inductance * capacitance)
    return math.inf if root == 0 else 1 / (2 * math.pi * root)


def self_resonance_band(frequency: float, tolerance: float = TOLERANCE) -> tuple[float, float]:
    """Lowest and highest self-resonance to expect, Hz.

    >>> self_resonance_band(10e6)
    (8500000.0, 11500000.0)
    """
    return frequency * (1 - tolerance), frequency * (1 + tolerance)
