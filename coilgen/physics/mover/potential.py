"""Potentials of magnets along z, level with the board: the vector one of their walls, the scalar one."""

from collections.abc import Callable, Iterator

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.mover.magnets import Ends, Magnets, Sheets, Walls, end_faces, walls

SMALL_JOB = 80_000_000
"""Points times points of walls times their ends up to which numpy beats loading the compiled kernels."""
_POINTS_AT_ONCE = 256
_PAIRS_AT_ONCE = 8192
"""In arrays that stay in the fastest memory."""


def vector_potential(points: Floats, height: float, magnets: Magnets, distance: float) -> Floats:
    """A (n, 2) T m along x and y at points (n, 2) m of a level, m, that no magnet reaches; along z it is 0.

    distance: of the level from the nearest end face, m, or as far as details of the field matter.
    """
    return ends_potential(points, height, magnets, end_faces(magnets.sheets), distance)


def ends_potential(points: Floats, height: float, magnets: Magnets, ends: Ends, distance: float) -> Floats:
    """What some of the walls' ends give of `vector_potential`, (n, 2) T m; distance: of these ends.

    The integral of 1 / r along z over a wall is what its far end gives less what its near one does.
    """
    shell = walls(magnets.outlines, magnets.signs, distance)
    rise = ends.heights - height
    counted = np.sign(rise) * ends.charges
    near, far = np.abs(rise[counted < 0]), np.abs(rise[counted > 0])
    return magnets.polarisation * _along_walls(points, shell, near, far)


def walls_potential(points: Floats, height: float, shell: Walls, sheets: Sheets) -> Floats:
    """A (n, 2) m over the polarisation, T, at points (n, 2) m of any level."""
    return _along_walls(points, shell, *_seen(height, sheets))


def _along_walls(points: Floats, shell: Walls, near: Floats, far: Floats) -> Floats:
    """A (n, 2) m over the polarisation, T: the current M round every wall; near, far: ends, m off a level.

    A = mu0 / 4 pi times the integral of M dl dz / r (J. D. Jackson, Classical Electrodynamics, section 5.8),
    along z in closed form.
    """
    points = np.ascontiguousarray(points, dtype=np.float64)
    if _small(points, shell, near, far):
        out = np.empty((len(points), 2))
        for some, offset in _offsets(points, shell):
            out[some] = _logarithm(_square(offset), near, far) @ shell.along
        return out / (4.0 * np.pi)
    from coilgen.physics.mover.potential_kernels import add_potential

    return _summed(add_potential, points, shell, (near, far), np.zeros((len(points), 2)))


def _seen(height: float, sheets: Sheets) -> tuple[Floats, Floats]:
    """From a level to the near and the far end of each sheet, (s,) m."""
    spans = np.array([_span(height, low, high) for low, high in sheets])
    return np.ascontiguousarray(spans[:, 0]), np.ascontiguousarray(spans[:, 1])


def _span(height: float, low: float, high: float) -> tuple[float, float]:
    """From a level to the near and to the far end of a sheet, m."""
    return (low - height, high - height) if low >= height else (height - high, height - low)


def _small(points: Floats, shell: Walls, near: Floats, far: Floats) -> bool:
    return len(points) * len(shell.at) * (len(near) + len(far)) <= SMALL_JOB


def _offsets(points: Floats, shell: Walls) -> Iterator[tuple[slice, Floats]]:
    """Some points at a time, and x and y (2, n, w) m of them from all points of the walls."""
    step = max(1, _PAIRS_AT_ONCE // len(shell.at))
    at = shell.at.T[:, None, :]
    for first in range(0, len(points), step):
        some = slice(first, first + step)
        yield some, points[some].T[:, :, None] - at


def _square(offset: Floats) -> Floats:
    """Squared lengths (n, w) of offsets (2, n, w)."""
    squares = np.square(offset)
    squares[0] += squares[1]
    return np.asarray(squares[0])


def _logarithm(square: Floats, near: Floats, far: Floats) -> Floats:
    """Integral of 1 / r along z between all ends, (n, w), at squared level distances (n, w) m2."""
    ratio = np.ones_like(square)
    for rise in far.tolist():
        ratio *= _beyond(square, rise)
    for rise in near.tolist():
        ratio /= _beyond(square, rise)
    return np.log(ratio, out=ratio)


def _beyond(square: Floats, rise: float) -> Floats:
    """What lies a rise, m, above, and how far it is from there, at squared distances level with the board."""
    root = np.sqrt(square + rise * rise)
    root += rise
    return np.asarray(root)


def _summed(
    add: Callable[..., None], points: Floats, shell: Walls, ends: tuple[Floats, ...], out: Floats
) -> Floats:
    """What a kernel adds at points (n, 2) m of a level to out (n, ...), which begins with zeros."""
    from coilgen.physics.base.compiled import by_rows

    by_rows(
        lambda first, last: add(points, shell.at, shell.along, *ends, first, last, out),
        len(points),
        _POINTS_AT_ONCE,
    )
    return out


def flux_density(points: Floats, height: float, magnets: Magnets, distance: float) -> Floats:
    """Flux density along z (n,) T at points (n, 2) m of a level: the curl of A, as `vector_potential`."""
    shell = walls(magnets.outlines, magnets.signs, distance)
    points = np.ascontiguousarray(points, dtype=np.float64)
    near, far = _seen(height, magnets.sheets)
    if _small(points, shell, near, far):
        found = np.empty(len(points))
        for some, offset in _offsets(points, shell):
            found[some] = _upward(offset, shell, near, far)
        return magnets.polarisation / (4.0 * np.pi) * found
    from coilgen.physics.mover.potential_kernels import add_upward

    return magnets.polarisation * _summed(add_upward, points, shell, (near, far), np.zeros(len(points)))


def _upward(offset: Floats, shell: Walls, near: Floats, far: Floats) -> Floats:
    """4 pi times the flux density over the polarisation, (n,), at offsets (2, n, w) m from the walls."""
    square = _square(offset)
    slope = np.zeros_like(square)
    for ends, sign in ((near, 1.0), (far, -1.0)):
        for end in ends.tolist():
            slope += sign * end / np.sqrt(square + end * end)
    slope /= square
    turned = offset[0] * shell.along[:, 1] - offset[1] * shell.along[:, 0]
    return np.asarray(np.einsum("nw,nw->n", slope, turned))


def scalar_potential(points: Floats, height: float, magnets: Magnets, ends: Ends, distance: float) -> Floats:
    """Magnetic scalar potential (n,) A at points (n, 2) m of a level that some end faces give: H = -grad.

    The charges M and -M of the end faces over 4 pi r (J. D. Jackson, Classical Electrodynamics, section 5.9).
    The integral of 1 / r over a face is that of r - |z| over the angle under which its edge is seen.
    distance: of the level from the nearest of these faces, m, or as far as details matter.
    """
    from coilgen.physics.mover.potential_kernels import add_of_ends

    shell = walls(magnets.outlines, magnets.signs, distance)
    points = np.ascontiguousarray(points, dtype=np.float64)
    faces = (ends.heights - height, ends.charges)
    return magnets.polarisation / MU0 * _summed(add_of_ends, points, shell, faces, np.zeros(len(points)))
