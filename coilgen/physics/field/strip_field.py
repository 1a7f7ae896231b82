"""Closed-form fields of straight filaments and bars carrying one ampere; numpy only, for small jobs."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import NEVER, Filaments, Indices

MU0_OVER_4PI = 1e-7
SOFTENING = 0.22313
"""Self geometric mean distance of a line over its length, exp(-3/2) (Maxwell; Lyle 1914)."""
_POINTS_AT_ONCE, _STRIPS_AT_ONCE, _BARS_AT_ONCE = 64, 256, 2048
_HALVES = np.array([[0.5], [-0.5]])
_TINY = 1e-40


def strips_flux_density(path: Filaments, points: Floats) -> Floats:
    """Flux density of all strips carrying one ampere, (n, 3) T, at points (n, 3) m.

    >>> square = np.array([[-1e-2, -1e-2, 0], [1e-2, -1e-2, 0], [1e-2, 1e-2, 0], [-1e-2, 1e-2, 0]])
    >>> path = Filaments(start=square, end=np.roll(square, -1, 0), width=np.zeros(4), thickness=np.zeros(4))
    >>> field = strips_flux_density(path, np.array([[0, 0, 0.0], [0, 0, 1e-2]]))
    >>> [round(float(b) * 1e6, 5) for b in field[:, 2]]
    [56.56854, 23.09401]
    """
    steps = path.chain
    middle = steps[:3].mean(axis=1)
    place, seen = steps[:3] - middle[:, None], _seen(points - middle)
    vertices, products = _vertices(place), _products(place)
    sources, limit = _sources(place[:, 1:], steps[3:6, 1:]), steps[7, 1:, None]
    # A jump before a strip is a step of its own.
    strip = np.cumsum(steps[7] != NEVER) - 1
    sums, near_ones = np.zeros((6, len(points))), [np.zeros((2, 0), np.intp)]
    portions = [slice(k, k + _POINTS_AT_ONCE) for k in range(0, len(points), _POINTS_AT_ONCE)]
    clear = [2.0 * _apart(place[2], seen[2, some]) > limit.max() for some in portions]
    at_once = max(_STRIPS_AT_ONCE, _STRIPS_AT_ONCE * _POINTS_AT_ONCE // max(1, len(points)))
    for first in range(0, steps.shape[1] - 1, at_once):
        run, ends = slice(first, first + at_once), slice(first, first + at_once + 1)
        for some, far in zip(portions, clear, strict=True):
            square, product = vertices[ends] @ seen[:, some], products[run] @ seen[:, some]
            factor, near = _factors(square, product, None if far else limit[run])
            sums[:, some] += sources[:, run] @ factor
            if len(near):
                column, row = np.divmod(near, factor.shape[1])
                near_ones.append(np.stack([some.start + row, strip[first + 1 + column]]))
    out = MU0_OVER_4PI * (np.cross(sums[:3].T, points - middle) - sums[3:].T)
    return np.asarray(out + _bars(path, points, *np.concatenate(near_ones, axis=1)))


def _sources(end: Floats, current: Floats) -> Floats:
    """Columns (6, k) of ends (3, k) and steps times currents (3, k): L, and that crossed with its end."""
    return np.vstack([current, np.cross(current.T, end.T).T])


def _apart(some: Floats, others: Floats) -> float:
    """Least difference in height between some places and others, m; 0 where their ranges overlap."""
    return max(0.0, float(some.min() - others.max()), float(others.min() - some.max()))


def _factors(square: Floats, product: Floats, limit: Floats | None) -> tuple[Floats, Indices]:
    """Of a chain's steps as filaments, (k, n) 1/m2; what it is given is overwritten.

    square: (k + 1, n) m2, of the distances of their vertices; product: (k, n) m2, a . b of the ways to a
    step's two ends; limit: (k, 1) m, None where nothing is near. A filament with ends |a| and |b| away gives
    (|a| + |b|) / (|a| |b| (|a| |b| + a . b)) L x d, d from its end to the point: the sum of L x d is that of
    L, crossed with the point, less that of L x end. Also tells the places, in one row, of the steps that are
    near; their factors are 0. Steps come before points so that neighbours lie whole rows apart.
    """
    radius = np.sqrt(_positive(square), out=square)
    both = radius[:-1] * radius[1:]
    product += both
    product *= both
    around = np.add(radius[:-1], radius[1:], out=both)
    near = np.zeros(0, np.intp) if limit is None else np.flatnonzero(around < limit)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.divide(around, product, out=product)
    factor.ravel()[near] = 0.0
    return factor, near


def _positive(square: Floats) -> Floats:
    """Squares that rounding may have taken to 0 or below, put right in place; quicker than a maximum."""
    np.abs(square, out=square)
    square += _TINY
    return square


def _seen(points: Floats) -> Floats:
    """Columns (5, n) of points, p, p . p, 1, to be multiplied by what follows."""
    return np.vstack([points.T, np.einsum("nk,nk->n", points, points), np.ones(len(points))])


def _vertices(place: Floats) -> Floats:
    """Rows (k + 1, 5) of vertices, -2 v, 1, v . v: times a point's column the distance's square."""
    return np.column_stack([-2.0 * place.T, np.ones(place.shape[1]), np.einsum("kn,kn->n", place, place)])


def _products(place: Floats) -> Floats:
    """Rows (k, 5) of each two vertices in a row: times a point's column (p - v) . (p - w)."""
    before, after = place[:, :-1], place[:, 1:]
    crossed = np.einsum("kn,kn->n", before, after)
    return np.column_stack([-(before + after).T, np.ones(before.shape[1]), crossed])


def _bars(path: Filaments, points: Floats, row: Indices, strip: Indices) -> Floats:
    """Field (n, 3) T of strip number strip[k] at points[row[k]], summed for each point (n, 3) m."""
    portions = (slice(k, k + _BARS_AT_ONCE) for k in range(0, len(row), _BARS_AT_ONCE))
    fields = [strip_flux_density(path, strip[some], points[row[some]]) for some in portions]
    each = np.concatenate([np.zeros((0, 3)), *fields])
    return np.column_stack([np.bincount(row, part, len(points)) for part in each.T])


def strip_flux_density(path: Filaments, strip: Indices, points: Floats) -> Floats:
    """Flux density (n, 3) T of strip number strip[k] at points[k], its share of one ampere spread over it.

    B is the curl of u times the sum of 1/r over the bar: differences in x, y, z of the integral of 1/r over a
    rectangle (O. D. Kellogg, Foundations of Potential Theory, chapter III). Exact and finite everywhere.
    """
    along, across, normal = strip_axes(path, strip)
    offset = points - path.start[strip]
    x, y, z = (np.einsum("nk,nk->n", offset, axis) for axis in (along, across, normal))
    length = np.linalg.norm(path.end[strip] - path.start[strip], axis=1)
    width, thickness = path.width[strip], path.thickness[strip]
    sideways, upward = _bar_integrals(np.stack([x, x - length]), y + _HALVES * width, z + _HALVES * thickness)
    scale = MU0_OVER_4PI * path.shares[strip] / (width * thickness)
    return np.asarray((scale * sideways)[:, None] * across + (scale * upward)[:, None] * normal)


def _bar_integrals(x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Integrals of 1/r over a bar's faces across z, and across y, each the first less the second; (n,) m.

    x, y, z (2, n): of a point from the two ends of each side. Over a rectangle the integral is x asinh(y /
    hypot(x, z)) + y asinh(x / hypot(y, z)) - |z| atan(xy / |z|r), differenced over its corners; the corners
    at the ends of an edge share one logarithm, and one angle.
    """
    x, y, z = x[:, None, None], y[None, :, None], z[None, None, :]
    r = np.sqrt(x * x + y * y + z * z)
    log_x, log_y, log_z = (
        _edge_logarithm(u, r, square, axis)
        for axis, (u, square) in enumerate(((x, y * y + z * z), (y, x * x + z * z), (z, x * x + y * y)))
    )
    depth, height = np.abs(z), np.abs(y)
    across_z = _corners(x * log_y) + _corners(y * log_x) - _corners(depth * _angles(x * y, depth * r))
    across_y = _corners(x * log_z) + _corners(z * log_x) - _corners(height * _angles(x * z, height * r))
    return across_z, -across_y


def _edge_logarithm(u: Floats, r: Floats, square: Floats, axis: int) -> Floats:
    """asinh(u / h) at an edge's first end less that at its second, h^2 = `square`: of u + r the logarithm."""
    far = np.abs(u) + r + _TINY
    sums = np.where(u < 0.0, (square + _TINY) / far, far)
    first, second = np.split(sums, 2, axis)
    return np.asarray(np.log(first / second))


def _angles(a: Floats, b: Floats) -> Floats:
    """atan(a / b) at an edge's first end, along x, less that at its second; b >= 0."""
    (a0, a1), (b0, b1) = a, b
    return np.asarray(np.arctan2(a0 * b1 - a1 * b0, b0 * b1 + a0 * a1))[None]


def _corners(values: Floats) -> Floats:
    """Of values at the ends of two sides, alternating from corner to corner, their sum, (n,)."""
    a, b, c, d = values.reshape(4, -1)
    return np.asarray(a - b - c + d)


def strip_axes(path: Filaments, strip: Indices) -> tuple[Floats, Floats, Floats]:
    """Unit vectors (n, 3) along the current, across the strip (level with the board), and along x across."""
    along = path.end[strip] - path.start[strip]
    along = along / np.linalg.norm(along, axis=1)[:, None]
    flat = np.hypot(along[:, 0], along[:, 1])
    upright = flat < 1e-9
    safe = np.where(upright, 1.0, flat)
    across = np.column_stack([-along[:, 1] / safe, along[:, 0] / safe, np.zeros(len(along))])
    across[upright] = (0.0, 1.0, 0.0)
    return along, across, np.cross(along, across)


def strips_vector_potential(path: Filaments, points: Floats) -> Floats:
    """Vector potential (n, 3) T m of all strips carrying one ampere, each taken as a filament.

    Straight filament: mu0/4pi u ln((ra + rb + L) / (ra + rb - L)), with ra + rb held off L by the strip's own
    geometric mean distance, so that it is finite on the copper.
    """
    vertices, soft, length, along = _softened(path)
    middle = vertices.mean(axis=1)
    known, seen = _vertices(vertices - middle[:, None]), _seen(points - middle)
    out = np.zeros((len(points), 3))
    for first in range(0, len(length), _STRIPS_AT_ONCE):
        run, ends = slice(first, first + _STRIPS_AT_ONCE), slice(first, first + _STRIPS_AT_ONCE + 1)
        for k in range(0, len(points), _POINTS_AT_ONCE):
            some = slice(k, k + _POINTS_AT_ONCE)
            radius = _positive(known[ends] @ seen[:, some])
            radius += soft[ends, None]
            np.sqrt(radius, out=radius)
            around = radius[:-1] + radius[1:]
            ratio = around + length[run, None]
            around -= length[run, None]
            ratio /= around
            out[some] += np.log(ratio, out=ratio).T @ along[run]
    return MU0_OVER_4PI * out


def _softened(path: Filaments) -> tuple[Floats, Floats, Floats, Floats]:
    """Vertices (3, m + 1), the softening (m + 1,) m2 at them, and lengths (m,) m and directions times shares
    (m, 3) of the steps between them; one of no current leads to a strip that does not go on from the last."""
    step, soft = path.end - path.start, softening(path)
    length = np.linalg.norm(step, axis=1)
    before = np.column_stack([np.vstack([np.full((1, 3), np.nan), path.end[:-1]]), np.roll(soft, 1)])
    wanted = np.any(np.column_stack([path.start, soft]) != before, axis=1)
    strips = np.column_stack([path.end, soft, length, (path.shares / length)[:, None] * step])
    jumps = np.column_stack([path.start, soft, np.zeros((len(step), 4))])
    both = np.stack([jumps, strips], axis=1).reshape(-1, 8)
    kept = both[np.column_stack([wanted, np.ones_like(wanted)]).ravel()].T
    return kept[:3], kept[3], kept[4, 1:], kept[5:, 1:].T


def softening(path: Filaments) -> Floats:
    """Square of the geometric mean distance of each strip's section from itself, (m,) m2."""
    return np.asarray((SOFTENING * (path.width + path.thickness)) ** 2)
