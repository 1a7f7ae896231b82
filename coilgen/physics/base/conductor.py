"""A winding as arrays: straight and circular pieces of flat strip in the order the current meets them."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)  # known by itself: what is found of it may be kept
class Conductor:
    """Flat strip conductor of n pieces, SI units; the current flows from each piece's start to its end.

    start, end: (n, 2) m, ends of the centre line, seen from the top.
    centre: (n, 2) m, centre of an arc; nan for a straight piece.
    sweep: (n,) rad, signed angle of an arc (counter-clockwise positive); 0 for a straight piece.
    width, thickness: (n,) m, of the copper. z: (n,) m, height of the copper's middle plane.
    layer: (n,) int, copper layer counted from the top (1 ...).
    Pieces of one layer follow one another; between layers the current passes vertical vias.
    """

    start: Floats
    end: Floats
    centre: Floats
    sweep: Floats
    width: Floats
    thickness: Floats
    z: Floats
    layer: NDArray[np.int64]
