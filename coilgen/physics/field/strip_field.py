"""Closed-form fields of straight filaments and bars carrying one ampere; numpy only, for small jobs."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0_OVER_4PI
from coilgen.physics.field.filaments import NEVER, Filaments, Indices

Reals = NDArray[np.floating[Any]]
"""In single precision where that will do."""
SOFTENING = 0.22313
"""Self geometric mean distance of a line over its length, exp(-3/2) (Maxwell; Lyle 1914)."""
_POINTS_AT_ONCE, _STRIPS_AT_ONCE, _BARS_AT_ONCE = 128, 256, 4096
_HALVES = np.array([[0.5], [-0.5]])
_TINY = 1e-40
_ROUNDING = 4e-15
_HAIR = 1e-9


def strips_flux_density(path: Filaments, points: Floats, *, brisk: bool = False) -> Floats:
    """Flux density of all strips carrying one ampere, (n, 3) T, at points (n, 3) m.

    brisk: to 3e-5 in about half the time: once their distances are known, filaments are added in single
    precision.

    >>> square = np.array([[-1e-2, -1e-2, 0], [1e-2, -1e-2, 0], [1e-2, 1e-2, 0], [-1e-2, 1e-2, 0]])
    >>> path = Filaments(start=square, end=np.roll(square, -1, 0), width=np.zeros(4), thickness=np.zeros(4))
    >>> field = strips_flux_density(path, np.array([[0, 0, 0.0], [0, 0, 1e-2]]))
    >>> [round(float(b) * 1e6, 5) for b in field[:, 2]]
    [56.56854, 23.09401]
    """
    steps = path.chain
    middle = steps[:3].mean(axis=1)
    place, seen = steps[:3] - middle[:, None], _seen(points - middle)
    vertices = _vertices(place)
    kind: type[np.floating[Any]] = np.float32 if brisk else np.float64
    sources = _sources(place[:, 1:], steps[3:6, 1:]).astype(kind, copy=False)
    square, limit = steps[6:, 1:, None].astype(kind)
    # A jump before a strip is a step of its own.
    strip = np.cumsum(steps[7] != NEVER) - 1
    sums, near_ones = np.zeros((6, len(points))), [np.zeros((2, 0), np.intp)]
    portions = [slice(k, k + _POINTS_AT_ONCE) for k in range(0, len(points), _POINTS_AT_ONCE)]
    clear = [2.0 * _apart(place[2], seen[2, some]) > limit.max() for some in portions]
    at_once = max(_STRIPS_AT_ONCE, _STRIPS_AT_ONCE * _POINTS_AT_ONCE // max(1, len(points)))
    room = Room.of(min(at_once, len(square)) + 1, min(_POINTS_AT_ONCE, len(points)), kind)
    for first in range(0, steps.shape[1] - 1, at_once):
        run, ends = slice(first, first + at_once), slice(first, first + at_once + 1)
        for some, far in zip(portions, clear, strict=True):
            factor, near = room.factors(
                vertices[ends], square[run], seen[:, some], None if far else limit[run]
            )
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


@dataclass(frozen=True, kw_only=True)
class Room:
    """Where factors of a chain's steps are found, for blocks of rows and columns: memory is taken once.

    squares: double, where distances cancel; the others of the kind of the factors.
    """

    squares: Floats
    radius: Reals
    around: Reals
    product: Reals

    @classmethod
    def of(cls, vertices: int, points: int, kind: type[np.floating[Any]] = np.float64) -> "Room":
        """For blocks of at most so many."""
        radius, around, product = (np.empty(vertices * points, kind) for _ in range(3))
        squares = radius if kind is np.float64 else np.empty(vertices * points)
        return cls(squares=squares, radius=radius, around=around, product=product)

    def factors(
        self, vertices: Floats, square: Reals, seen: Floats, limit: Reals | None = None
    ) -> tuple[Reals, Indices]:
        """Of a chain's k steps as filaments, (k, n) 1/m2, to be used before the next ones are found.

        vertices: (k + 1, c), times columns seen (c, n) the squares of their distances, m2, over 0.
        square: (k, 1) m2, of the steps' lengths. limit: (k, 1) m, of |a| + |b|, None where nothing is near.

        A filament L with ends |a| and |b| away gives 2 (|a| + |b|) / (|a| |b| ((|a| + |b|)^2 - L^2)) L x d,
        d from its end to the point: the sum of L x d is that of L, crossed with the point, less that of
        L x end. Also tells the places, in one row, of the steps that are near; their factors are 0. Steps
        come before points so that neighbours lie whole rows apart.
        """
        k, n = len(square), seen.shape[1]
        squares, radius = (each[: (k + 1) * n].reshape(k + 1, n) for each in (self.squares, self.radius))
        around, product = (each[: k * n].reshape(k, n) for each in (self.around, self.product))
        np.matmul(vertices, seen, out=squares)
        if self.squares is not self.radius:
            radius[:] = squares
        np.sqrt(radius, out=radius)
        np.add(radius[:-1], radius[1:], out=around)
        np.multiply(radius[:-1], radius[1:], out=product)
        near = np.zeros(0, np.intp) if limit is None else np.flatnonzero(around < limit)
        spread = np.multiply(around, around, out=self.radius[: k * n].reshape(k, n))
        spread -= square
        product *= spread
        around *= 2.0
        with np.errstate(divide="ignore"):  # within a strip, which is near
            factor = np.divide(around, product, out=product)
        factor.ravel()[near] = 0.0
        return factor, near


def _seen(points: Floats) -> Floats:
    """Columns (5, n) of points, p, p . p, 1, to be multiplied by what follows."""
    return np.vstack([points.T, np.einsum("nk,nk->n", points, points), np.ones(len(points))])


def _vertices(place: Floats) -> Floats:
    """Rows (k + 1, 5) of vertices, -2 v, 1, v . v: times a point's column the distance's square.

    That is longer by what rounding may take from it: some nanometres off a vertex.
    """
    square = np.einsum("kn,kn->n", place, place)
    square += _ROUNDING * square.max()
    return np.column_stack([-2.0 * place.T, np.ones(place.shape[1]), square])


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
    axes, length = path.axes[strip], path.length[strip]
    width, thickness = path.width[strip], path.thickness[strip]
    x, y, z = np.einsum("nak,nk->an", axes, points - path.start[strip])
    found = np.stack(_bar_integrals(np.stack([x, x - length]), y + _HALVES * width, z + _HALVES * thickness))
    found *= MU0_OVER_4PI * path.shares[strip] / (width * thickness)
    return np.asarray(np.einsum("an,nak->nk", found, axes[:, 1:]))


def _bar_integrals(x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Integrals of 1/r over a bar's faces across z, and across y, each the first less the second; (n,) m.

    x, y, z (2, n): of a point from the two ends of each side. Over a rectangle the integral is x asinh(y /
    hypot(x, z)) + y asinh(x / hypot(y, z)) - |z| atan(xy / |z|r), differenced over its corners; what has one
    factor in common shares one logarithm, and the four corners of a face one angle, under which it is seen.
    """
    squares = x * x, y * y, z * z
    x_, y_, z_ = x[:, None, None], y[None, :, None], z[None, None, :]
    xx, yy, zz = squares[0][:, None, None], squares[1][None, :, None], squares[2][None, None, :]
    r = np.sqrt(xx + yy + zz)
    ratio_x = _edge_ratio(x_, r, yy + zz, 0)
    ratio_y = _edge_ratio(y_, r, xx + zz, 1)
    ratio_z = _edge_ratio(z_, r, xx + yy, 2)
    log_x = np.log(ratio_x)
    log_y, log_z = (np.log(ratio[:, 0] / ratio[:, 1]) for ratio in (ratio_y, ratio_z))
    depth, height = np.abs(z), np.abs(y)
    under_z = _seen_angle(*_turned(x_ * y_, np.abs(z_) * r), axis=0)
    under_y = _seen_angle(*_turned(x_ * z_, np.abs(y_) * r), axis=1)
    across_z = _less(x * log_y) + _less(y * (log_x[:, 0] - log_x[:, 1])) - _less(depth * under_z)
    across_y = _less(x * log_z) + _less(z * (log_x[0] - log_x[1])) - _less(height * under_y)
    return across_z, -across_y


def _edge_ratio(u: Floats, r: Floats, square: Floats, axis: int) -> Floats:
    """u + r at an edge's first end over that at its second: its logarithm is asinh(u / h) at the one less
    that at the other, h^2 = `square`."""
    far = np.abs(u) + r
    far += _TINY
    sums = np.where(u < 0.0, (square + _TINY) / far, far)
    first, second = np.moveaxis(sums, axis, 0)
    return np.asarray(first / second)


def _turned(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Cosine and sine, times what is over 0, of atan(a / b) at an edge's first end, along x, less that at its
    second, (2, 2, n); b >= 0."""
    (a0, a1), (b0, b1) = np.broadcast_to(a, b.shape), b
    return b0 * b1 + a0 * a1, a0 * b1 - a1 * b0


def _seen_angle(cosine: Floats, sine: Floats, axis: int) -> Floats:
    """Angle at the first place along an axis less that at the second, (2, n): of a whole face, 0 ... 2 pi.

    Under 0 by a hair is rounding; a face so near that 2 pi less a hair is meant counts for nothing.
    """
    (c0, c1), (s0, s1) = np.moveaxis(cosine, axis, 0), np.moveaxis(sine, axis, 0)
    angle = np.arctan2(s0 * c1 - c0 * s1, c0 * c1 + s0 * s1)
    return np.asarray(np.where(angle < -_HAIR, angle + 2.0 * np.pi, angle))


def _less(values: Floats) -> Floats:
    """Of values (2, n) the first less the second."""
    return np.asarray(values[0] - values[1])


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
            radius = known[ends] @ seen[:, some]
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
