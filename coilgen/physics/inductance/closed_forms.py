"""Inductance of a single-layer planar spiral from its sizes alone: published closed forms."""

from collections.abc import Mapping
from math import log

from coilgen.physics.base.constants import MU0

CURRENT_SHEET = {
    "square": (1.27, 2.07, 0.18, 0.13),
    "hexagonal": (1.09, 2.23, 0.00, 0.17),
    "octagonal": (1.07, 2.29, 0.00, 0.19),
    "round": (1.00, 2.46, 0.00, 0.20),
}
"""c1 to c4 of the current-sheet expression (Mohan et al. 1999, table II; values from memory)."""
MODIFIED_WHEELER = {"square": (2.34, 2.75), "hexagonal": (2.33, 3.82), "octagonal": (2.25, 3.55)}
"""K1 and K2 of the modified Wheeler expression (Mohan et al. 1999, table I; values from memory)."""

CURRENT_SHEET_BIAS = {
    "square": (0.000, 0.060),
    "hexagonal": (-0.065, 0.005),
    "octagonal": (-0.035, 0.030),
    "round": (-0.040, 0.020),
}
"""Range of the relative deviation from the exact value, computed here: 5 to 15 turns, fill ratio 0.1 to 0.6,
trace 0.3 to 0.8 of the pitch. The largest are of few turns, narrow or wide, that fill the winding."""
MODIFIED_WHEELER_BIAS = {
    "square": (-0.050, 0.060),
    "hexagonal": (-0.115, 0.005),
    "octagonal": (-0.080, 0.035),
}
"""As CURRENT_SHEET_BIAS."""
WHEELER_FLAT_BIAS = (-0.045, 0.030)
"""As CURRENT_SHEET_BIAS, of round spirals."""
INCH = 25.4e-3
"""m."""


def current_sheet_inductance(turns: float, outer: float, inner: float, shape: str) -> float:
    """Inductance of a planar spiral as four current sheets, H.

    turns > 0; outer and inner size over the copper, m (diameter, or across flats), 0 <= inner < outer; shape
    square, hexagonal, octagonal or round. L = mu0 n^2 d c1/2 [ln(c2/f) + c3 f + c4 f^2] with the mean size d
    and the fill ratio f = (outer - inner)/(outer + inner). S. S. Mohan, M. del Mar Hershenson, S. P. Boyd,
    T. H. Lee, IEEE J. Solid-State Circuits 34 (10), 1999. The deviation from the exact value is in
    CURRENT_SHEET_BIAS. Raises ValueError for a shape that has no coefficients, or sizes out of range.

    >>> round(current_sheet_inductance(10, 16.3e-3, 11.7e-3, "round") * 1e6, 3)
    2.385
    """
    mean, fill = _mean_and_fill(turns, outer, inner)
    c1, c2, c3, c4 = _coefficients(CURRENT_SHEET, shape)
    return 0.5 * MU0 * turns**2 * mean * c1 * (log(c2 / fill) + c3 * fill + c4 * fill**2)


def modified_wheeler_inductance(turns: float, outer: float, inner: float, shape: str) -> float:
    """Inductance of a polygonal planar spiral by the modified Wheeler expression, H.

    Arguments and source as in current_sheet_inductance; round is not covered. L = K1 mu0 n^2 d / (1 + K2 f).

    >>> round(modified_wheeler_inductance(10, 16.8e-3, 11.7e-3, "square") * 1e6, 3)
    2.808
    """
    mean, fill = _mean_and_fill(turns, outer, inner)
    k1, k2 = _coefficients(MODIFIED_WHEELER, shape)
    return k1 * MU0 * turns**2 * mean / (1.0 + k2 * fill)


def wheeler_flat_inductance(turns: float, outer: float, inner: float) -> float:
    """Inductance of a round flat coil, H: a^2 n^2 / (8 a + 11 c) uH in inches, mean radius a, depth c.

    turns > 0; outer and inner diameter over the copper, m. H. A. Wheeler, Proc. IRE 16, 1928; within 5 % for
    0.2 < c/a < 1.9 (as quoted in a handbook).

    >>> round(wheeler_flat_inductance(10, 3 * 25.4e-3, 1 * 25.4e-3) * 1e6, 3)
    5.263
    """
    mean, _ = _mean_and_fill(turns, outer, inner)
    radius, depth = 0.5 * mean / INCH, 0.5 * (outer - inner) / INCH
    return 1e-6 * radius**2 * turns**2 / (8.0 * radius + 11.0 * depth)


def _mean_and_fill(turns: float, outer: float, inner: float) -> tuple[float, float]:
    if not (turns > 0.0 and 0.0 <= inner < outer):
        raise ValueError(f"no spiral has {turns} turns between {inner} m and {outer} m")
    return 0.5 * (outer + inner), (outer - inner) / (outer + inner)


def _coefficients(table: Mapping[str, tuple[float, ...]], shape: str) -> tuple[float, ...]:
    if shape not in table:
        raise ValueError(f"no coefficients for {shape} spirals, only {', '.join(table)}")
    return table[shape]
