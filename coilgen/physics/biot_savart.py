"""Magnetic field of the winding in free space, by the law of Biot and Savart."""

from itertools import pairwise

import numpy as np

from coilgen.physics.conductor import Conductor, Floats
from coilgen.physics.filaments import CHORD_TOLERANCE, Filaments, dipole_moment, filaments, lifted, refined
from coilgen.physics.strip_field import MU0_OVER_4PI, strips_flux_density, strips_vector_potential

SMALL_JOB = 6_000_000
"""Pairs of point and strip up to which plain numpy beats loading the compiled kernel."""
_REACH_CHORDS = 20e-6
_REACH_PRECISION = 1e-3


def flux_density(conductor: Conductor, points: Floats, current: float = 1.0) -> Floats:
    """Flux density of the winding, (n, 3) T, at points (n, 3) m, for a current in A.

    Straight strips in closed form, arcs as chords (see `filaments`); finite on and inside the copper, where
    the current is spread over the trace's section. A straight link between the two ends closes the path.
    """
    return path_flux_density(filaments(conductor), points, current)


def path_flux_density(path: Filaments, points: Floats, current: float = 1.0) -> Floats:
    """As `flux_density`, for a path already cut into strips."""
    points = np.asarray(points, dtype=np.float64)
    if len(points) * len(path.start) <= SMALL_JOB:
        return current * strips_flux_density(path, points)
    from coilgen.physics.field_kernel import flux_density_per_ampere

    return current * flux_density_per_ampere(path, points)


def axis_flux_density(conductor: Conductor, heights: Floats, current: float = 1.0) -> Floats:
    """Flux density (n, 3) T on the axis x = y = 0 at z = heights, (n,) m, for a current in A; numpy only."""
    heights = np.asarray(heights, dtype=np.float64)
    points = np.column_stack([np.zeros((len(heights), 2)), heights])
    return current * strips_flux_density(filaments(conductor), points)


def vector_potential(conductor: Conductor, points: Floats, current: float = 1.0) -> Floats:
    """Vector potential of the winding, (n, 3) T m, at points (n, 3) m, for a current in A."""
    return current * strips_vector_potential(filaments(conductor), points)


def flux_linkage(source: Conductor, linked: Conductor, offset: Floats) -> float:
    """Flux of one ampere in `source` through all turns of `linked`, in Wb: their mutual inductance in H.

    offset: (3,) m, where the linked winding's origin stands in the source's frame. Neumann's formula: the
    line integral of A along the linked path, by Gauss's three-point rule on parts at most half as long as the
    gap between the windings.
    """
    path = lifted(filaments(linked, tolerance=5e-6), np.asarray(offset, dtype=np.float64))
    source_path = filaments(source, tolerance=5e-6)
    gap = max(float(np.min(path.start[:, 2]) - np.max(source_path.start[:, 2])), 0.0)
    gap = max(gap, float(np.min(source_path.start[:, 2]) - np.max(path.start[:, 2])))
    path = refined(path, max(0.5 * gap, 0.5e-3))
    step = path.end - path.start
    total = 0.0
    for at, weight in ((0.5 - np.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + np.sqrt(0.15), 5 / 18)):
        potential = strips_vector_potential(source_path, path.start + at * step)
        total += weight * float(np.einsum("nk,nk->", potential, step))
    return total


def moment(conductor: Conductor, current: float = 1.0) -> Floats:
    """Magnetic dipole moment of the closed winding, (3,) A m2."""
    return current * dipole_moment(filaments(conductor))


def reach(conductor: Conductor, current: float, level: float) -> float:
    """Distance from the coil's centre beyond which the flux density stays under `level` (T), in m; 0 if none.

    The centre is the origin, at the mean height of the copper. Looks outward along 28 directions over both
    sides of the board, from where the dipole's field is far below the level, inward until the level is met.
    """
    path = filaments(conductor, tolerance=_REACH_CHORDS)
    height = float(0.5 * (path.start[:, 2].min() + path.start[:, 2].max()))
    path = lifted(path, np.array([0.0, 0.0, -height]))
    size = float(np.abs(path.start).max())
    strength = abs(current) * float(np.linalg.norm(dipole_moment(path)))
    far = 2.0 * (2.0 * MU0_OVER_4PI * strength / level) ** (1.0 / 3.0) + 4.0 * size
    while _strongest(path, far, current) > level:
        far *= 2.0
    radii = np.geomspace(far, 0.05 * size, 60)
    for outer, inner in pairwise(radii):
        if _strongest(path, inner, current) > level:
            return _crossing(path, current, level, inner, outer)
    return 0.0


def _crossing(path: Filaments, current: float, level: float, inner: float, outer: float) -> float:
    """Bisection between a radius where the field is over the level and one where it is under."""
    while outer - inner > _REACH_PRECISION * outer:
        middle = 0.5 * (inner + outer)
        inner, outer = (middle, outer) if _strongest(path, middle, current) > level else (inner, middle)
    return outer


def _strongest(path: Filaments, radius: float, current: float) -> float:
    """Largest flux density (T) over the directions at this radius (m)."""
    elevation, turn = np.meshgrid(np.radians([-90, -60, -30, 0, 30, 60, 90]), np.radians([0, 90, 180, 270]))
    flat = np.cos(elevation)
    directions = np.stack([flat * np.cos(turn), flat * np.sin(turn), np.sin(elevation)], axis=-1)
    field = strips_flux_density(path, radius * directions.reshape(-1, 3))
    return abs(current) * float(np.linalg.norm(field, axis=1).max())


__all__ = [
    "CHORD_TOLERANCE",
    "Filaments",
    "axis_flux_density",
    "filaments",
    "flux_density",
    "flux_linkage",
    "moment",
    "path_flux_density",
    "reach",
    "vector_potential",
]
