"""Fields alike all around an axis, at many points of few heights: told along a radius, then by place."""

from collections.abc import Callable

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Indices

_NODES = np.arange(-2, 4)
"""Steps from a place down to the six nodes about it."""
_STEP = 1 / 12
"""Of the distance to the nearest source: what six nodes then miss of a field is some 1e-6 of it."""
_SAME_HEIGHT = 1e12
"""1/m: heights are told apart to this part."""


def round_flux_density(
    field: Callable[[Floats], Floats], axis: tuple[float, float], points: Floats, distance: float
) -> Floats:
    """Flux density (n, 3) T at points (n, 3) m of a field about an upright axis through (x, y) m.

    field: flux density (k, 3) T at points (k, 3) m, none of it around the axis. distance: m, of the nearest
    source from the points. Few points, or such of many heights, are asked of the field itself.
    """
    off = points[:, :2] - np.asarray(axis)
    radius = np.hypot(*off.T)
    heights, level = np.unique(np.round(points[:, 2] * _SAME_HEIGHT), return_inverse=True)
    step = _STEP * distance
    count = 0 if step <= 0.0 else int(radius.max(initial=0.0) / step) + 1 - _NODES[0] + _NODES[-1]
    if not 0 < 2 * count * len(heights) < len(points):
        return field(points)
    along = (np.arange(count) + _NODES[0]) * step  # below 0: beyond the axis
    at = np.zeros((len(heights), count, 3))
    at[..., 0], at[..., 1], at[..., 2] = axis[0] + along, axis[1], heights[:, None] / _SAME_HEIGHT
    told = field(at.reshape(-1, 3)).reshape(at.shape)
    outward, upward = _between(told[..., 0::2], level, radius / step)
    share = np.divide(outward, radius, out=np.zeros_like(radius), where=radius > 0.0)
    return np.column_stack([share[:, None] * off, upward])


def _between(told: Floats, level: Indices, place: Floats) -> tuple[Floats, Floats]:
    """Two quantities told at steps (levels, steps, 2), at places (n,) in steps, by Lagrange's polynomial."""
    first = np.floor(place).astype(np.int64)
    past = (place - first)[:, None] - _NODES
    found = np.zeros((len(place), 2))
    for k, node in enumerate(_NODES):
        others = np.delete(_NODES, k)
        weight = np.prod(np.delete(past, k, axis=1), axis=1) / np.prod(node - others)
        found += weight[:, None] * told[level, first + node - _NODES[0]]
    return found[:, 0], found[:, 1]
