"""Pull between a mover and an iron plate or its other half, and the flux that a pole's plate carries."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.mover.magnets import Magnets, Outline, Walls, walls
from coilgen.physics.mover.potential import flux_density, walls_potential

_BEYOND = 4.0
"""Distances beyond the magnets after which the field across the gap has died away."""
_SHRUNK = 0.97
"""Of a pole's outline, along which its flux is told apart from the current on its wall."""
_FINE = 0.02
_SEEN = 0.2


def ring_pull(magnets: Magnets, height: float, distance: float, poles: int) -> float:
    """Force, N, that draws together what lies above and below a level, m, where the field stands upright.

    Maxwell's stress B^2 / 2 mu0 over the level (J. D. Jackson, Classical Electrodynamics, section 6.7): the
    face of an iron plate, or the middle between two halves alike. distance: of the magnets' faces, m.
    """
    radii = np.array([abs(end) for outline in magnets.outlines for piece in outline for end in piece[:2]])
    beyond = _BEYOND * (distance + np.pi * radii.mean() / poles)
    radius, across = _panels(max(0.0, float(radii.min()) - beyond), float(radii.max()) + beyond, distance)
    angle, around = _panels(0.0, 2.0 * np.pi / poles, distance / float(radii.max()))
    points = (radius[:, None] * np.exp(1j * angle)).ravel()
    field = flux_density(np.column_stack([points.real, points.imag]), height, magnets, distance)
    areas = np.outer(across * radius, around).ravel()
    return float(poles * np.sum(areas * field**2) / (2.0 * MU0))


def row_pull(magnets: Magnets, height: float, distance: float, pitch: float) -> float:
    """As `ring_pull`, of a row along x with poles at a pitch, m."""
    ends = np.array([end for outline in magnets.outlines for piece in outline for end in piece[:2]])
    beyond = _BEYOND * distance + 2.0 * pitch
    x, along = _panels(float(ends.real.min()) - beyond, float(ends.real.max()) + beyond, distance)
    y, across = _panels(float(ends.imag.min()) - beyond, float(ends.imag.max()) + beyond, distance)
    points = (x[:, None] + 1j * y).ravel()
    field = flux_density(np.column_stack([points.real, points.imag]), height, magnets, distance)
    return float(np.sum(np.outer(along, across).ravel() * field**2) / (2.0 * MU0))


def _panels(low: float, high: float, distance: float) -> tuple[Floats, Floats]:
    """Gauss's points and weights on panels about twice as long as the distance."""
    count = max(2, int(np.ceil((high - low) / (2.0 * distance))))
    node, weight = np.polynomial.legendre.leggauss(6)
    edges = low + (high - low) * (np.arange(count)[:, None] + 0.5 * (node + 1.0)) / count
    return edges.ravel(), np.tile(0.5 * weight * (high - low) / count, count)


def pole_flux_density(magnets: Magnets, height: float) -> float:
    """Mean flux density, T, through the first magnet at a level within it or at its end, m.

    From the potential along its outline drawn in a little, off the current on its wall.
    """
    outline = magnets.outlines[0]
    centre = complex(np.mean([piece[0] for piece in outline[:4]]))
    size = max(abs(piece[0] - centre) for piece in outline)
    inside = walls([_drawn_in(outline, centre)], [1], _FINE * size)
    shells = [
        walls([each], [sign], max(_FINE * size, _apart(inside, each, size)))
        for each, sign in zip(magnets.outlines, magnets.signs, strict=True)
    ]
    shell = Walls(
        at=np.concatenate([one.at for one in shells]), along=np.concatenate([one.along for one in shells])
    )
    potential = walls_potential(inside.at, height, shell, magnets.sheets)
    flux = magnets.signs[0] * magnets.polarisation * float(np.sum(potential * inside.along))
    return flux / _area(inside)


def _apart(inside: Walls, outline: Outline, size: float) -> float:
    """At least so far is an outline from points inside another of such a size, m; may be under 0."""
    seen = walls([outline], [1], _SEEN * size).at
    least = min(float(np.hypot(*(inside.at - place).T).min()) for place in seen)
    return least - _SEEN * size


def _drawn_in(outline: Outline, centre: complex) -> Outline:
    return [
        (centre + _SHRUNK * (a - centre), centre + _SHRUNK * (b - centre), turn) for a, b, turn in outline
    ]


def _area(shell: Walls) -> float:
    x, y = shell.at.T
    return float(0.5 * np.sum(x * shell.along[:, 1] - y * shell.along[:, 0]))
