"""Nodes between -1 and 1 by which smooth functions are told, and how many it takes.

L. N. Trefethen, Approximation Theory and Approximation Practice, 2013.
"""

import math
from functools import cache

import numpy as np

from coilgen.physics.base.conductor import Floats


@cache
def chebyshev(count: int) -> Floats:
    """Nodes (count,) between -1 and 1."""
    return np.asarray(np.cos(np.pi * (np.arange(count) + 0.5) / count))


def lagrange(points: Floats, count: int) -> Floats:
    """At points (...,) the polynomials that are 1 at one of the nodes and 0 at the others, (..., count)."""
    node = chebyshev(count)
    values = np.empty((*points.shape, count))
    for k in range(count):
        others = np.delete(node, k)
        values[..., k] = np.prod((points[..., None] - others) / (node[k] - others), axis=-1)
    return values


def growth(far: Floats | float) -> Floats:
    """Sum of the half axes of the ellipse about -1 ... 1 through a point so far out: what a node less costs
    (theorem 8.2)."""
    return np.asarray(far + np.sqrt(np.square(far) - 1.0))


def count_for(far: float, accuracy: float) -> int:
    """Nodes that tell to an accuracy what comes from points so far out."""
    return max(2, math.ceil(-math.log(accuracy) / math.log(growth(far))))
