"""Fast estimates of figures, learned from exact runs: a smooth surface through all of them.

A figure of a coil is nearly a product of powers of its sizes. Its logarithm over the logarithms of the keys
is therefore nearly a plane; a polynomial of second degree and a sum of bumps about the runs take up the rest
(kriging with a polynomial kernel and Matern's of order 5/2 [C. E. Rasmussen, C. K. I. Williams, Gaussian
Processes for Machine Learning, 2006, ch. 2 and 4]).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from coilgen.frozen import dataclass

Array = np.ndarray[Any, np.dtype[np.float64]]
_REACHES = (0.25, 0.5, 1.0, 2.0)
"""Lengths over which bumps fall, tried in turn, in widths of the space."""
_ROUGHNESS = (1e-9, 1e-6)
"""Shares of the polynomial's weight that are added to the diagonal, tried in turn: the first for solving to
stay stable where runs lie close together, the other for figures whose grid makes them jump by some parts in a
thousand."""
_LEAST_MISFIT = 1e-12
"""Of values that are all the same, which leave nothing to learn."""
_PLANE = 100.0
"""Weight of the polynomial against the bumps: they take up only what it leaves."""


@dataclass(frozen=True)
class Surface:
    """A figure as a function of features; `at` gives it at rows."""

    features: Array
    weights: Array
    reach: float
    middle: float
    size: float
    logarithmic: bool
    sign: float

    def at(self, features: Array) -> Array:
        """Estimates, (n,)."""
        told = self.middle + self.size * (_kernel(features, self.features, self.reach) @ self.weights)
        return self.sign * np.exp(np.minimum(told, 700.0)) if self.logarithmic else told


def surface(features: Array, values: Array, *, plain: bool = False) -> Surface:
    """The surface through runs: features (n, k), values (n,). Its reach is the one that is likeliest.

    plain: without the logarithm, even where all values have one sign.
    """
    sign = 1.0 if values[0] > 0 else -1.0
    logarithmic = not plain and bool(np.all(sign * values > 0))
    told = np.log(sign * values) if logarithmic else values
    middle, size = float(told.mean()), float(told.std()) or 1.0
    scaled = (told - middle) / size
    fits = (_fitted(features, scaled, reach, rough) for reach in _REACHES for rough in _ROUGHNESS)
    likeliest = max(fits, key=lambda each: each[0])
    _, weights, reach = likeliest
    return Surface(features, weights, reach, middle, size, logarithmic, sign)


def _fitted(features: Array, scaled: Array, reach: float, rough: float) -> tuple[float, Array, float]:
    """Logarithm of the likelihood, the weights and the reach. The bumps' height is the likeliest, too."""
    count = len(scaled)
    kernel = _kernel(features, features, reach) + rough * _PLANE * np.eye(count)
    root = np.linalg.cholesky(kernel)
    half = np.linalg.solve(root, scaled)
    weights = np.linalg.solve(root.T, half)
    misfit = max(float(half @ half) / count, _LEAST_MISFIT)
    likelihood = -0.5 * count * math.log(misfit) - float(np.log(np.diag(root)).sum())
    return likelihood, weights, reach


def _kernel(one: Array, other: Array, reach: float) -> Array:
    squares = (one**2).sum(1)[:, None] + (other**2).sum(1)[None] - 2 * one @ other.T
    far = np.sqrt(5 * np.maximum(squares, 0.0)) / reach
    bumps = (1 + far + far**2 / 3) * np.exp(-far)
    planes: Array = _PLANE * (1 + one @ other.T) ** 2
    both: Array = planes + bumps
    return both
