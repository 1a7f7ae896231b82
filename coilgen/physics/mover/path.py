"""A coil's path as points on the levels of its layers, and the sums over them that a field is put into."""

from collections.abc import Iterator

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments, Indices

_GAUSS = 3
_STEP = 0.4
"""Longest straight part over the distance of the nearest magnet: Gauss's rule is then good to 1e-6."""
_DIGITS = 11.0
"""Natural logarithm of one over the error that interpolation may leave."""
_SLENDER = 0.25
"""Least distance that counts, over the path's half width: below it, details of the field average out."""


@dataclass(frozen=True, kw_only=True)
class Level:
    """Points of a path on one level: place (n, 2) m, step along the current (n, 2) m, both by share.

    height: m. distance: to the nearest end face of a magnet, m. volume, width: of the copper that each point
    stands for, (n,) m3 and m. piece: number of the strip that each lies on, (n,).
    """

    height: float
    distance: float
    piece: Indices
    at: Floats
    along: Floats
    volume: Floats
    width: Floats


def levels(path: Filaments, faces: tuple[float, ...]) -> Iterator[Level]:
    """The path's points on each of its levels; faces: heights of the end faces of all magnets, m.

    What stands upright is left out: magnets along z have no potential along z. What goes aslant from level
    to level, as the link between a coil's ends, counts as level at its start, upright at its end.
    """
    heights = np.round(path.start[:, 2], 9)
    step = (path.end - path.start)[:, :2]
    flat = np.hypot(step[:, 0], step[:, 1]) > 1e-12
    for height in np.unique(heights[flat]):
        chosen = flat & (heights == height)
        distance = min(abs(float(height) - face) for face in faces)
        yield _level(path, np.flatnonzero(chosen), float(height), distance)


def _level(path: Filaments, strips: Indices, height: float, distance: float) -> Level:
    """Gauss's points on equal parts of each strip."""
    step = (path.end - path.start)[strips, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    parts = np.maximum(1, np.ceil(length / (_STEP * distance))).astype(np.int64)
    piece = np.repeat(np.arange(len(strips)), parts)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(parts) - parts, parts)
    node, weight = np.polynomial.legendre.leggauss(_GAUSS)
    along = ((number[:, None] + 0.5 * (1.0 + node)) / parts[piece, None]).ravel()
    share = (0.5 * weight / parts[piece, None]).ravel()
    piece = np.repeat(piece, _GAUSS)
    of = strips[piece]
    return Level(
        height=height,
        distance=distance,
        piece=piece,
        at=path.start[of, :2] + along[:, None] * step[piece],
        along=(share * path.shares[of])[:, None] * step[piece],
        volume=share * length[piece] * path.width[of] * path.thickness[of],
        width=path.width[of],
    )


@dataclass(frozen=True, kw_only=True)
class Across:
    """Chebyshev's nodes (m,) between the ends of a path across the direction of motion."""

    nodes: Floats
    low: float
    high: float

    def weights(self, places: Floats) -> Floats:
        """What each node's value counts at each place, (n, m): Lagrange's polynomials."""
        count = len(self.nodes)
        scaled = (2.0 * places - self.low - self.high) / (self.high - self.low)
        at_nodes = np.polynomial.chebyshev.chebvander(self._scaled_nodes, count - 1)
        factor = np.full(count, 2.0 / count)
        factor[0] = 1.0 / count
        spectrum = np.polynomial.chebyshev.chebvander(np.clip(scaled, -1.0, 1.0), count - 1)
        return np.asarray(spectrum @ (factor[:, None] * at_nodes.T))

    @property
    def _scaled_nodes(self) -> Floats:
        return np.asarray((2.0 * self.nodes - self.low - self.high) / (self.high - self.low))

    def slope(self) -> Floats:
        """From values at the nodes to slopes at them, (m, m) 1/m: T_k' = k sin(k t) / sin(t) at cos(t)."""
        count = len(self.nodes)
        at_nodes = np.polynomial.chebyshev.chebvander(self._scaled_nodes, count - 1)
        factor = np.full(count, 2.0 / count)
        factor[0] = 1.0 / count
        angle = np.arccos(self._scaled_nodes)[:, None]
        slopes = np.arange(count) * np.sin(np.arange(count) * angle) / np.sin(angle)
        return np.asarray(slopes @ (factor[:, None] * at_nodes.T) * 2.0 / (self.high - self.low))


def across(places: Floats, distance: float) -> Across:
    """Nodes between the outermost places, m, as many as a field needs whose sources are a distance, m, off.

    A Chebyshev series about sources off the interval falls as the sum of half axes of the ellipse through
    them (L. N. Trefethen, Approximation Theory and Approximation Practice, 2013, chapter 8).
    """
    low, high = float(places.min()), float(places.max())
    half = max(0.5 * (high - low), 1e-9)
    count = 4 + int(np.ceil(_DIGITS / np.arcsinh(distance / half)))
    unit = np.cos(np.pi * (np.arange(count) + 0.5) / count)
    return Across(nodes=0.5 * (low + high) + half * unit, low=low, high=high)


def details(level: Level, size: float) -> float:
    """Distance, m, that tells how finely the field is to be sampled over a coil of this size, m."""
    return max(level.distance, _SLENDER * 0.1 * size)
