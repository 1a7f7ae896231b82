"""Closed-form fields of straight filaments and bars carrying one ampere; numpy only, for small jobs."""

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.conductor import Floats
from coilgen.physics.filaments import Filaments, Indices

MU0_OVER_4PI = 1e-7
NEAR_WIDTHS = 6.0
"""Strips within this many widths of a point count as bars, others as filaments (0.2 % of their field)."""
SOFTENING = 0.22313
"""Self geometric mean distance of a line over its length, exp(-3/2) (Maxwell; Lyle 1914)."""
_PAIRS_AT_ONCE = 40_000
_TINY = 1e-40


def strips_flux_density(path: Filaments, points: Floats) -> Floats:
    """Flux density of all strips carrying one ampere, (n, 3) T, at points (n, 3) m.

    >>> square = np.array([[-1e-2, -1e-2, 0], [1e-2, -1e-2, 0], [1e-2, 1e-2, 0], [-1e-2, 1e-2, 0]])
    >>> path = Filaments(start=square, end=np.roll(square, -1, 0), width=np.zeros(4), thickness=np.zeros(4))
    >>> field = strips_flux_density(path, np.array([[0, 0, 0.0], [0, 0, 1e-2]]))
    >>> [round(float(b) * 1e6, 5) for b in field[:, 2]]
    [56.56854, 23.09401]
    """
    rows = max(1, _PAIRS_AT_ONCE // len(path.start))
    blocks = [_block(path, points[k : k + rows]) for k in range(0, len(points), rows)]
    return np.concatenate(blocks) if blocks else np.zeros((0, 3))


def _block(path: Filaments, points: Floats) -> Floats:
    step = path.end - path.start
    square = np.einsum("mk,mk->m", step, step)
    radius_a, radius_b = _distances(points, path.start), _distances(points, path.end)
    around = radius_a + radius_b
    near = around < np.sqrt(square) + 2.0 * NEAR_WIDTHS * path.width
    factor = _filament(radius_a, radius_b, around, square, near)
    # The sum of L x (p - s) over the strips, their steps L and starts s apart from the points p.
    current = path.shares[:, None] * step
    field = np.cross(factor @ current, points) - factor @ np.cross(current, path.start)
    row, strip = np.nonzero(near)
    np.add.at(field, row, strip_flux_density(path, strip, points[row]))
    return np.asarray(field)


def _distances(points: Floats, vertices: Floats) -> Floats:
    """(n, m) m, from each point to each vertex."""
    square = np.subtract.outer(points[:, 0], vertices[:, 0]) ** 2
    for axis in (1, 2):
        square += np.subtract.outer(points[:, axis], vertices[:, axis]) ** 2
    return np.asarray(np.sqrt(square))


def _filament(
    radius_a: Floats, radius_b: Floats, around: Floats, square: Floats, left_out: NDArray[np.bool_]
) -> Floats:
    """Straight filament, ends ra and rb away, L long: its field over L x a, T/m2 for one ampere.

    2 (ra + rb) / (ra rb ((ra + rb)^2 - L^2)).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = 2.0 * MU0_OVER_4PI * around / (radius_a * radius_b * (around * around - square))
    factor[left_out] = 0.0
    return np.asarray(factor)


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
    sideways, upward = np.zeros(len(x)), np.zeros(len(x))
    for i, j, k in np.ndindex(2, 2, 2):
        sign = (-1.0) ** (i + j + k)
        corner = (x - i * length, y + (0.5 - j) * width, z + (0.5 - k) * thickness)
        sideways += sign * rectangle_integral(corner[0], corner[1], corner[2])
        upward -= sign * rectangle_integral(corner[0], corner[2], corner[1])
    scale = MU0_OVER_4PI * path.shares[strip] / (width * thickness)
    return np.asarray((scale * sideways)[:, None] * across + (scale * upward)[:, None] * normal)


def rectangle_integral(x: Floats, y: Floats, z: Floats) -> Floats:
    """Twice-integrated 1/r: x asinh(y / hypot(x, z)) + y asinh(x / hypot(y, z)) - z atan(xy / zr)."""
    r = np.sqrt(x * x + y * y + z * z)
    first = x * np.arcsinh(y / np.sqrt(x * x + z * z + _TINY))
    second = y * np.arcsinh(x / np.sqrt(y * y + z * z + _TINY))
    return np.asarray(first + second - np.abs(z) * np.arctan2(x * y, np.abs(z) * r))


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
    length = np.linalg.norm(path.end - path.start, axis=1)
    along = (path.shares / length)[:, None] * (path.end - path.start)
    softening = (SOFTENING * (path.width + path.thickness)) ** 2
    rows = max(1, _PAIRS_AT_ONCE // len(length))
    blocks = [
        _potential(points[k : k + rows], path, softening, length) @ along for k in range(0, len(points), rows)
    ]
    return np.concatenate(blocks) if blocks else np.zeros((0, 3))


def _potential(points: Floats, path: Filaments, softening: Floats, length: Floats) -> Floats:
    a = np.sqrt(((points[:, None, :] - path.start) ** 2).sum(axis=2) + softening)
    b = np.sqrt(((points[:, None, :] - path.end) ** 2).sum(axis=2) + softening)
    return np.asarray(2.0 * MU0_OVER_4PI * np.arctanh(length / (a + b)))
