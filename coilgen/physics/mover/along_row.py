"""What a magnet gives at even places along a row, from fewer places the farther they are from its walls."""

from collections.abc import Callable

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.mover.magnets import Magnets

_DEGREE = 7
_STEPS = 6.0
"""Places in the distance to the nearest wall: what is between them is then known to some 1e-7."""
_MEETS = 1e-6


def at_even_places(
    field: Callable[[Floats], Floats], places: Floats, magnet: Magnets, distance: float
) -> Floats:
    """A field's values (..., n) at even places (n,) m from 0 on, beside one magnet at the origin.

    distance: m, that tells how finely the field is to be sampled beside the walls.
    """
    from scipy.interpolate import make_interp_spline

    wall = max(abs(end.real) for outline in magnet.outlines for piece in outline for end in piece[:2])
    nodes = _nodes(float(places[-1]), wall, distance)
    if len(nodes) <= _DEGREE or len(nodes) >= len(places):
        return field(places)
    return np.asarray(make_interp_spline(nodes, field(nodes), k=_DEGREE, axis=-1)(places))


def _nodes(last: float, wall: float, distance: float) -> Floats:
    """Places from 0 to the last, farther apart the farther they are beyond the wall, m.

    One that meets the last but for rounding is the last: between the two a spline would run wild.
    """
    found = list(np.arange(0.0, min(wall + distance, last), distance / _STEPS))
    while found[-1] < last * (1 - _MEETS):
        found.append(found[-1] + max(distance, found[-1] - wall) / _STEPS)
    return np.array([*found[:-1], last]) if len(found) > 1 else np.array(found)
