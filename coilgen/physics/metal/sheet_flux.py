"""Flux of a coil through the cells of a sheet grid, one cell about each corner."""

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere
from coilgen.physics.metal.ring_field import Rings, slopes
from coilgen.physics.metal.sheet_grid import SheetGrid

_UPWARD, _ACROSS = 2, 3
_IN_A_CELL = 4
"""Radii a cell at which the field of rings is found; cubic between them."""


def ring_flux(grid: SheetGrid, rings: Rings) -> Floats:
    """Flux of one ampere in rings about x = y = 0, (nz, nx - 1, ny - 1) Wb."""
    from scipy.interpolate import CubicSpline

    x, y = grid.corners
    node, weight = (0.5 * each for each in np.polynomial.legendre.leggauss(_ACROSS))
    aside = [np.hypot(x[:, None] + grid.cell[0] * a, y + grid.cell[1] * b) for a in node for b in node]
    share = np.outer(weight, weight).ravel()
    most = max(float(one.max()) for one in aside)
    radii = np.linspace(0.0, most, 2 + int(_IN_A_CELL * most / min(grid.cell)))
    radii[0] = 1e-3 * radii[1]
    out = np.zeros((len(grid.middle), len(x), len(y)))
    for layer, part, height in _heights(grid):
        upward = CubicSpline(radii, slopes(rings, radii, np.full_like(radii, height))[0] / radii)
        out[layer] += part * sum(w * upward(r) for w, r in zip(share, aside, strict=True))
    return out * grid.cell[0] * grid.cell[1]


def path_flux(grid: SheetGrid, path: Filaments) -> Floats:
    """Flux of one ampere in a closed path, (nz, nx - 1, ny - 1) Wb, by the field at the cells' middles."""
    x, y = (axis.ravel() for axis in np.meshgrid(*grid.corners, indexing="ij"))
    out = np.zeros((len(grid.middle), len(x)))
    for layer, part, height in _heights(grid):
        points = np.column_stack([x, y, np.full_like(x, height)])
        out[layer] += part * flux_density_per_ampere(path, points)[:, 2]
    return out.reshape(len(grid.middle), *grid.metal.shape) * grid.cell[0] * grid.cell[1]


def _heights(grid: SheetGrid) -> list[tuple[int, float, float]]:
    """Layer, weight and height, m, of Gauss's points through every layer."""
    node, weight = (0.5 * each for each in np.polynomial.legendre.leggauss(_UPWARD))
    return [
        (layer, float(w), float(middle + thickness * at))
        for layer, (middle, thickness) in enumerate(zip(grid.middle, grid.thickness, strict=True))
        for at, w in zip(node, weight, strict=True)
    ]
