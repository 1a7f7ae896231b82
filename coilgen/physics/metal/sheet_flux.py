"""Flux of a coil through the cells of a sheet grid, one cell about each corner."""

from dataclasses import replace

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.metal.ring_field import Rings, flux_function
from coilgen.physics.metal.sheet_grid import SheetGrid

_UPWARD, _ACROSS = 2, 3
_IN_A_PART = 2
"""Radii at which the flux of rings is found, over each of the parts of a cell: with more, what a plate under
the turns adds changes by 0.1 %."""


def ring_flux(grid: SheetGrid, rings: Rings) -> Floats:
    """Flux of one ampere in rings about x = y = 0, (nz, nx - 1, ny - 1) Wb.

    Each cell in parts, each with the mean field over its extent along r, from the flux between two circles:
    turns close to the plate and narrower than a cell do no more than their mean.
    """
    x, y = grid.corners
    shift = (np.arange(_ACROSS) + 0.5) / _ACROSS - 0.5
    aside = [np.hypot(x[:, None] + grid.cell[0] * a, y + grid.cell[1] * b) for a in shift for b in shift]
    part = min(grid.cell) / _ACROSS
    radii = np.arange(0.0, max(float(one.max()) for one in aside) + part, part / _IN_A_PART)
    out = np.zeros((len(grid.middle), len(x), len(y)))
    for layer, weight, height in _heights(grid):
        flux = flux_function(rings, radii, np.full_like(radii, height))
        out[layer] += weight * sum(_mean_field(radii, flux, one, part) for one in aside) / len(aside)
    return out * grid.cell[0] * grid.cell[1]


def _mean_field(radii: Floats, flux: Floats, aside: Floats, part: float) -> Floats:
    """Upward field between circles half a part inside and outside of each place, T."""
    low, high = np.maximum(aside - 0.5 * part, 0.0), aside + 0.5 * part
    between = np.interp(high, radii, flux) - np.interp(low, radii, flux)
    return np.asarray(2.0 * between / (high**2 - low**2))


_THIN = 1e-3


def path_flux(grid: SheetGrid, path: Filaments) -> Floats:
    """Flux of one ampere in a closed path, (nz, nx - 1, ny - 1) Wb, by the field at the cells' middles.

    Strips narrower than a cell are spread over its width; a line without a section gets a thin one.
    """
    from coilgen.physics.field.kernel import flux_density_per_ampere

    x, y = (axis.ravel() for axis in np.meshgrid(*grid.corners, indexing="ij"))
    cell = max(grid.cell)
    width, thickness = np.maximum(path.width, cell), np.maximum(path.thickness, _THIN * cell)
    spread = replace(path, width=width, thickness=thickness)
    out = np.zeros((len(grid.middle), len(x)))
    for layer, part, height in _heights(grid):
        points = np.column_stack([x, y, np.full_like(x, height)])
        out[layer] += part * flux_density_per_ampere(spread, points)[:, 2]
    return out.reshape(len(grid.middle), *grid.metal.shape) * grid.cell[0] * grid.cell[1]


def _heights(grid: SheetGrid) -> list[tuple[int, float, float]]:
    """Layer, weight and height, m, of Gauss's points through every layer."""
    node, weight = (0.5 * each for each in np.polynomial.legendre.leggauss(_UPWARD))
    return [
        (layer, float(w), float(middle + thickness * at))
        for layer, (middle, thickness) in enumerate(zip(grid.middle, grid.thickness, strict=True))
        for at, w in zip(node, weight, strict=True)
    ]
