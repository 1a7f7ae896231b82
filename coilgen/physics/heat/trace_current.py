"""Current of a single board trace for a temperature rise, as a rule of thumb for lone traces."""

from typing import Literal

MIL = 25.4e-6
"""m."""
_CONSTANT = {"outer": 0.048, "inner": 0.024}


def single_trace_current(
    width: float, thickness: float, rise: float, place: Literal["outer", "inner"] = "outer"
) -> float:
    """Current that warms a lone trace by a rise, A: k rise^0.44 area^0.725, area in square mil.

    width, thickness m; rise K. IPC-2221 (1998; constants from memory). Not for windings: close turns heat one
    another. For 10 mil of 1.378 mil copper and 10 K:

    >>> round(single_trace_current(10 * MIL, 1.378 * MIL, 10.0), 3)
    0.886
    """
    if not (width > 0 and thickness > 0 and rise >= 0):
        raise ValueError("width and thickness must be positive, rise not negative")
    area = width * thickness / MIL**2
    return float(_CONSTANT[place] * rise**0.44 * area**0.725)
