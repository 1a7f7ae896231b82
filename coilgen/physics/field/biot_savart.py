"""Magnetic field of the winding in free space, by the law of Biot and Savart."""

import numpy as np

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.field.filaments import (
    CHORD_TOLERANCE,
    Filaments,
    dipole_moment,
    filaments,
    lifted,
    refined,
)
from coilgen.physics.field.strip_field import strips_flux_density, strips_vector_potential

SMALL_JOB = 60_000_000
"""Pairs of point and strip up to which plain numpy beats loading the compiled kernel."""
SMALL_POTENTIAL = 20_000_000
"""The same for the vector potential."""
_OF_ARC = 3e-4
"""Of an arc's radius: how far its chords may stand off it as the axis sees them."""


def flux_density(conductor: Conductor, points: Floats, current: float = 1.0) -> Floats:
    """Flux density of the winding, (n, 3) T, at points (n, 3) m, for a current in A.

    Straight strips in closed form, arcs as chords (see `filaments`); finite on and inside the copper, where
    the current is spread over the trace's section. A straight link between the two ends closes the path.
    """
    return path_flux_density(filaments(conductor), points, current)


def path_flux_density(
    path: Filaments, points: Floats, current: float = 1.0, *, brisk: bool = False
) -> Floats:
    """As `flux_density`, for a path already cut into strips; brisk: to 3e-5, where that saves time."""
    points = np.asarray(points, dtype=np.float64)
    if len(points) * len(path.start) <= SMALL_JOB:
        return current * strips_flux_density(path, points, brisk=brisk)
    from coilgen.physics.field.kernel import flux_density_per_ampere

    return current * flux_density_per_ampere(path, points)


def path_vector_potential(path: Filaments, points: Floats) -> Floats:
    """Vector potential (n, 3) T m at points (n, 3) m of a path cut into strips, for one ampere."""
    if len(points) * len(path.start) <= SMALL_POTENTIAL:
        return strips_vector_potential(path, points)
    from coilgen.physics.field.potential_kernel import vector_potential_per_ampere

    return vector_potential_per_ampere(path, points)


def axis_flux_density(conductor: Conductor, heights: Floats, current: float = 1.0) -> Floats:
    """Flux density (n, 3) T on the axis x = y = 0 at z = heights, (n,) m, for a current in A; numpy only.

    Arcs become chords by the angle they span: of round turns the field is right to 1e-7.
    """
    heights = np.asarray(heights, dtype=np.float64)
    points = np.column_stack([np.zeros((len(heights), 2)), heights])
    radius = np.hypot(*(conductor.start - conductor.centre).T)
    chords = np.where(conductor.sweep != 0.0, _OF_ARC * radius, CHORD_TOLERANCE)
    return current * strips_flux_density(filaments(conductor, tolerance=chords), points)


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


__all__ = [
    "CHORD_TOLERANCE",
    "Filaments",
    "axis_flux_density",
    "filaments",
    "flux_density",
    "flux_linkage",
    "moment",
    "path_flux_density",
    "path_vector_potential",
    "vector_potential",
]
