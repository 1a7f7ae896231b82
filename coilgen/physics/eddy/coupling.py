"""Mutual inductances of the filaments of all turns: exact within a turn, on few nodes between turns."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.eddy.section import Section, mean_distances
from coilgen.physics.eddy.turns import Turns
from coilgen.physics.inductance.coaxial_circles import (
    circles_at_distance,
    mutual_inductance,
    mutual_inductance_and_slope,
)

_NEAR_WIDTHS = 2.5
_MIDDLE_WIDTHS = 4.0
_NEAR_PRECISION = 1e-3
_MIDDLE_NODES = 4
_FAR_NODES = 3
_LEAST_RADIUS = 1e-3
_SAME_SIZE = 1e-6
_OWN_PRECISION = 1e-9
_AT_ONCE = 12_000
"""Pairs of circles, to keep the arrays in the cache."""

Integers = NDArray[np.int64]
Singles = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True)
class _Blocks:
    """Blocks (n, nodes, neighbours * nodes) of each turn with its neighbours (n, neighbours)."""

    blocks: Floats
    neighbours: Integers

    def times(self, values: Floats) -> Floats:
        """Products (nodes, n, c) with values (nodes, n, c)."""
        _, count, cases = values.shape
        seen = values.transpose(1, 0, 2)[self.neighbours].reshape(count, -1, cases)
        return (self.blocks @ seen).transpose(1, 0, 2)


@dataclass(frozen=True, kw_only=True)
class _Slopes:
    """Of all turns' nodes at the turns' heights, (nodes n, nodes n) each.

    mutual: H. slope: H/m, what a metre of height adds. In single precision, 1e-7 of what nodes tell within
    1e-4: products take as long as the matrices take to be read.
    """

    mutual: Singles
    slope: Singles

    def times(self, currents: Floats, moments: Floats) -> tuple[Floats, Floats]:
        """Flux linkages and their slopes, of currents and their moments of height, (nodes, n, c) each."""
        here, up = (each.reshape(len(self.mutual), -1).astype(np.float32) for each in (currents, moments))
        risen = self.slope @ np.hstack([here, up])
        cases = here.shape[1]
        level, slope = self.mutual @ here - risen[:, cases:], risen[:, :cases]
        return _double(level, currents.shape), _double(slope, currents.shape)


def _double(values: Singles, shape: tuple[int, ...]) -> Floats:
    return values.astype(np.float64).reshape(shape)


@dataclass(frozen=True, kw_only=True)
class Coupling:
    """The inductance matrix of n turns of m filaments as a sum of parts.

    own: (n, m, m) H, filaments of one turn. near, middle: turns within 2.5 and 4 widths. far: all others.
    basis: (m, nodes), which interpolates from and to the filaments, the parts side by side: near, middle,
    far, and far times the filaments' heights in half thicknesses. thickness: (n,) m.
    """

    own: Floats
    near: _Blocks
    middle: _Blocks
    far: _Slopes
    basis: Floats
    thickness: Floats

    def flux(self, currents: Floats) -> Floats:
        """Flux linkages (n, m, c) Wb of currents (n, m, c) A."""
        count, filaments, cases = currents.shape
        flat = currents.transpose(1, 0, 2).reshape(filaments, -1)
        nodes = (self.basis.T @ flat).reshape(-1, count, cases)
        linked = self._between_turns(nodes).reshape(len(nodes), -1)
        return self.own @ currents + (self.basis @ linked).reshape(-1, count, cases).transpose(1, 0, 2)

    def _between_turns(self, nodes: Floats) -> Floats:
        """Flux linkages of nodes, (nodes, n, c), of the nodes' currents."""
        height = 0.5 * self.thickness[:, None]
        near, far = self.near.blocks.shape[1], len(nodes) - 2 * _FAR_NODES
        level, risen = self.far.times(nodes[far:-_FAR_NODES], height * nodes[-_FAR_NODES:])
        close = self.near.times(nodes[:near]), self.middle.times(nodes[near:far])
        return np.concatenate([*close, level, height * risen])


def coupling(turns: Turns, cells: Section) -> Coupling:
    """Mutual inductances of the circular filaments of the turns' radii and heights.

    Between turns the currents stand on Chebyshev nodes across the width, as many as the distance asks for.
    The inductance of circles is smooth there: its error falls as rho^-nodes, rho the sum of the half axes of
    the ellipse about the strip that the other copper stays out of (L. N. Trefethen, Approximation Theory and
    Approximation Practice, 2013, chapter 8). Through the thickness near turns stand on two heights where
    there are several rows of filaments; those beyond 4 widths take the slope over the height instead.
    """
    apart = np.hypot(*(np.subtract.outer(x, x) for x in (turns.radius, turns.z)))
    apart /= 0.5 * np.add.outer(turns.width, turns.width)
    rows = np.zeros(1) if len(cells.through) == 2 else np.array([-1.0, 1.0]) / np.sqrt(3.0)
    first, second = np.nonzero(np.triu(apart < _MIDDLE_WIDTHS, 1))
    near = apart[first, second] < _NEAR_WIDTHS
    near_pairs, middle_pairs = ((first[some], second[some]) for some in (near, ~near))
    near_columns = _near_columns(turns, cells)
    return Coupling(
        own=_own(turns, cells),
        near=_blocks(turns, near_pairs, near_columns, rows),
        middle=_blocks(turns, middle_pairs, _chebyshev(_MIDDLE_NODES), rows),
        far=_far(turns, apart < _MIDDLE_WIDTHS),
        basis=_basis(cells, near_columns, rows),
        thickness=turns.thickness,
    )


def radii(turns: Turns, y: Floats) -> Floats:
    """Radii (n, m) m at offsets y (m,) in half widths."""
    return _offset(turns.radius, 0.5 * turns.width[:, None], y)


def _offset(radius: Floats, half: Floats | float, y: Floats) -> Floats:
    return np.maximum(radius[:, None] + half * y, _LEAST_RADIUS * half)


def clearance(turns: Turns) -> float:
    """Least distance, m, of two turns' copper; infinite for a single turn."""
    r, z, w, t = turns.radius, turns.z, turns.width, turns.thickness
    across = np.abs(np.subtract.outer(r, r)) - 0.5 * np.add.outer(w, w)
    above = np.abs(np.subtract.outer(z, z)) - 0.5 * np.add.outer(t, t)
    gaps = np.maximum(across, above)
    np.fill_diagonal(gaps, np.inf)
    return float(gaps.min())


def _near_columns(turns: Turns, cells: Section) -> Floats:
    """Nodes across the width for the nearest turns; all filaments' own where those are no more."""
    half_axis = min(2.0 * max(clearance(turns), 0.0) / float(turns.width.max()), 1.0 / _NEAR_PRECISION)
    growth = np.arcsinh(half_axis)
    columns = np.unique(cells.y)
    count = -np.log(_NEAR_PRECISION) / growth if growth > 0.0 else np.inf
    return columns if count >= len(columns) else _chebyshev(max(_MIDDLE_NODES, int(np.ceil(count))))


def _chebyshev(count: int) -> Floats:
    return np.asarray(np.cos(np.pi * (np.arange(count) + 0.5) / count))


def _own(turns: Turns, cells: Section) -> Floats:
    """Circles at the mean distance of the filaments; turns of one section share what depends on it."""
    sizes = np.stack([turns.width, turns.thickness], axis=1)
    unit = _SAME_SIZE * sizes.max(axis=0)
    kinds, kind = np.unique(np.round(sizes / unit), axis=0, return_inverse=True)
    parts, shares = [], []
    for number, size in enumerate(kinds):
        alike = kind.ravel() == number
        values, weight = _within(turns.radius[alike], cells, *(size * unit))
        share = np.zeros((len(alike), len(values)))
        share[alike] = weight
        parts.append(values)
        shares.append(share)
    return np.tensordot(np.hstack(shares), np.concatenate(parts), 1)


def _within(radius: Floats, cells: Section, width: float, thickness: float) -> tuple[Floats, Floats]:
    """Inductances (q, m, m) H within some turns of one section, and the weights (k, q) that make of them
    those within turns of radii (k,) m.

    At Chebyshev nodes of the radius's logarithm, where these are fewer: divided by the radius they
    change slowly, and are singular where a filament comes to the axis; the error falls as in `coupling`.
    """
    logarithm = np.log(radius)
    middle, half = 0.5 * (logarithm.max() + logarithm.min()), 0.5 * float(np.ptp(logarithm))
    off = (middle - np.log(0.5 * width)) / half if half > 0.0 else np.inf
    count = -np.log(_OWN_PRECISION) / np.arccosh(off) if off > 1.0 else np.inf
    few = count < len(radius) - 1
    nodes = _chebyshev(int(count) + 1) if few else np.zeros(0)
    at = np.exp(middle + half * nodes) if few else radius
    first, second = np.triu_indices(len(cells.y))
    place = np.empty((len(cells.y), len(cells.y)), dtype=np.int64)
    place[first, second] = place[second, first] = np.arange(len(first))
    distances = mean_distances(cells, width, thickness)[first, second]
    values = np.empty((len(at), len(first)))
    for some in _portions(len(at), len(first)):
        r = _offset(at[some], 0.5 * width, cells.y)
        values[some] = circles_at_distance(r[:, first], r[:, second], 0.0, distances)
    weight = np.eye(len(radius))
    if few:
        weight = _lagrange(nodes, (logarithm - middle) / (half or 1.0)) * radius[:, None] / at
    return np.take(values, place, axis=1), weight


def _portions(count: int, pairs: int) -> list[slice]:
    """Slices of `count` rows of `pairs` circles each, about _AT_ONCE at a time."""
    step = max(1, _AT_ONCE // pairs)
    return [slice(start, start + step) for start in range(0, count, step)]


def _far(turns: Turns, excluded: NDArray[np.bool_]) -> _Slopes:
    """All pairs of turns but the excluded ones, by square tiles of the matrices and their mirror images."""
    count = len(turns.z)
    radius = radii(turns, _chebyshev(_FAR_NODES)).T.ravel().astype(np.float32)
    height, turn = np.tile(turns.z, _FAR_NODES), np.tile(np.arange(count), _FAR_NODES)
    aside = float(np.ptp(turns.z) + turns.width.max())  # none coincide
    mutual, slope = np.empty((2, len(radius), len(radius)), dtype=np.float32)
    tiles = _portions(len(radius), int(np.sqrt(_AT_ONCE)))
    for number, some in enumerate(tiles):
        for others in tiles[: number + 1]:
            left_out = excluded[np.ix_(turn[some], turn[others])]
            rise = (height[some, None] - height[others] + aside * left_out).astype(np.float32)
            both = mutual_inductance_and_slope(radius[some, None], radius[others], rise)
            for values, whole, sign in zip(both, (mutual, slope), (1.0, -1.0), strict=True):
                values[left_out] = 0.0
                whole[others, some] = sign * values.T
                whole[some, others] = values
    return _Slopes(mutual=mutual, slope=slope)


def _blocks(turns: Turns, pairs: tuple[Integers, Integers], columns: Floats, rows: Floats) -> _Blocks:
    """Mutual inductances H of nodes on columns across the width and rows through the thickness.

    Each turn's neighbours side by side; turns with fewer neighbours get blocks of zero.
    """
    radius = radii(turns, np.repeat(columns, len(rows))).T
    height = turns.z + 0.5 * turns.thickness * np.tile(rows, len(columns))[:, None]
    nodes, count = radius.shape
    here, there = np.append(pairs[0], pairs[1]), np.append(pairs[1], pairs[0])
    place, most = _places(here, count)
    blocks, neighbours = np.zeros((count, nodes, most, nodes)), np.zeros((count, most), dtype=np.int64)
    neighbours[here, place] = there
    places = np.split(place, 2)
    for some in _portions(len(pairs[0]), nodes**2):
        one, other = pairs[0][some], pairs[1][some]
        rise = height[:, None, one] - height[:, other]
        mutual = mutual_inductance(radius[:, None, one], radius[:, other], rise)
        blocks[one, :, places[0][some], :] = mutual.transpose(2, 0, 1)
        blocks[other, :, places[1][some], :] = mutual.transpose(2, 1, 0)
    return _Blocks(blocks=blocks.reshape(count, nodes, most * nodes), neighbours=neighbours)


def _places(here: Integers, count: int) -> tuple[Integers, int]:
    """Which neighbour of its turn each of these is, and the most that a turn has, at least one."""
    degree = np.bincount(here, minlength=count)
    order = np.argsort(here, kind="stable")
    place = np.empty(len(here), dtype=np.int64)
    place[order] = np.arange(len(here)) - np.repeat(np.cumsum(degree) - degree, degree)
    return place, max(1, int(degree.max()))


def _basis(cells: Section, near_columns: Floats, rows: Floats) -> Floats:
    """Values at the filaments of the polynomials that are one at one node, all parts side by side."""
    across, through = np.unique(cells.y), np.unique(cells.z)
    near = np.eye(len(across)) if np.array_equal(near_columns, across) else _lagrange(near_columns, across)
    levels = _lagrange(rows, through)
    by_rows = [np.kron(wide, levels) for wide in (near, _lagrange(_chebyshev(_MIDDLE_NODES), across))]
    sloped = np.repeat(_lagrange(_chebyshev(_FAR_NODES), across), len(through), axis=0)
    return np.hstack([*by_rows, sloped, cells.z[:, None] * sloped]).astype(np.float64)


def _lagrange(nodes: Floats, points: Floats) -> Floats:
    others = ~np.eye(len(nodes), dtype=bool)
    gaps = np.where(others, np.subtract.outer(nodes, nodes), 1.0)
    factors = np.where(others, points[:, None, None] - nodes, 1.0)
    return np.asarray(factors.prod(axis=2) / gaps.prod(axis=1))
