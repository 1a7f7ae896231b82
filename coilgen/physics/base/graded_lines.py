"""Lines of a mesh: close together at edges, wider apart with the distance from them."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

SLOPE = 0.8
"""How fast the spacing grows with the distance from an edge."""
_SAME = 1e-9
_SAMPLES = 200


@dataclass(frozen=True, kw_only=True)
class Fine:
    """From low to high (m, equal for an edge) lines are no further apart than `spacing`, m."""

    low: float
    high: float
    spacing: float


def graded_lines(fine: Sequence[Fine], low: float, high: float, slope: float = SLOPE) -> Floats:
    """Lines (n,) m from low to high, with one at both ends and at each edge.

    slope: how fast the spacing grows with the distance from an edge.
    """
    edges = _distinct([low, high, *(one.low for one in fine if one.low == one.high)])
    pieces = [edges[:1]] + [_between(fine, a, b, slope) for a, b in pairwise(edges.tolist())]
    return np.concatenate(pieces)


def _distinct(values: Sequence[float]) -> Floats:
    sorted_values = np.unique(values)
    return np.asarray(sorted_values[np.append(True, np.diff(sorted_values) > _SAME)])


def _between(fine: Sequence[Fine], low: float, high: float, slope: float) -> Floats:
    """Lines after `low` up to `high`, at equal parts of the integral of 1 / spacing."""
    toward = np.append(0.0, np.geomspace(1e-6, 0.5, _SAMPLES)) * (high - low)
    x = np.concatenate([low + toward, (high - toward)[-2::-1]])
    parts = np.append(0.0, np.cumsum(np.diff(x) / _spacing(fine, 0.5 * (x[1:] + x[:-1]), slope)))
    count = max(1, round(parts[-1]))
    lines = np.interp(np.arange(1, count + 1) / count * parts[-1], parts, x)
    lines[-1] = high
    return np.asarray(lines)


def _spacing(fine: Sequence[Fine], x: Floats, slope: float) -> Floats:
    spacing = np.full_like(x, np.inf)
    for one in fine:
        aside = np.maximum(0.0, np.maximum(one.low - x, x - one.high))
        np.minimum(spacing, one.spacing + slope * aside, out=spacing)
    return spacing
