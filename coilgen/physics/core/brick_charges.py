"""Faces of a brick grid and the magnetic charges that their magnetisation makes."""

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.field.filaments import Indices


@dataclass(frozen=True, kw_only=True)
class Faces:
    """One value for every face normal to x (nz, nx+1, ny), y (nz, nx, ny+1), z (nl, nx, ny)."""

    x: Floats
    y: Floats
    z: Floats

    @property
    def flat(self) -> Floats:
        """All values in a row."""
        return np.concatenate([self.x.ravel(), self.y.ravel(), self.z.ravel()])


@dataclass(frozen=True, kw_only=True)
class Planes:
    """The sheets of charge of a grid: kind 0 cells, 1 to 3 faces across x, y, z; middles and extents, m."""

    kind: Indices
    middle: Floats
    extent: Floats


def split(grid: BrickGrid, flat: Floats) -> Faces:
    """Values in a row, back on their faces."""
    nz, nx, ny = grid.body.shape
    first, second = nz * (nx + 1) * ny, nz * nx * (ny + 1)
    return Faces(
        x=flat[:first].reshape(nz, nx + 1, ny),
        y=flat[first : first + second].reshape(nz, nx, ny + 1),
        z=flat[first + second :].reshape(len(grid.level), nx, ny),
    )


def sides(grid: BrickGrid) -> tuple[Faces, Faces]:
    """1 where the cell on the lower, and on the upper, side of a face is filled, else 0."""
    full = grid.filled.astype(np.float64)
    nl = len(grid.level)
    below, above = np.zeros((nl, *full.shape[1:])), np.zeros((nl, *full.shape[1:]))
    below[grid.high], above[grid.low] = full, full
    pad_x, pad_y = ((0, 0), (1, 0), (0, 0)), ((0, 0), (0, 0), (1, 0))
    lower = Faces(x=np.pad(full, pad_x), y=np.pad(full, pad_y), z=below)
    upper = Faces(x=np.pad(full, [p[::-1] for p in pad_x]), y=np.pad(full, [p[::-1] for p in pad_y]), z=above)
    return lower, upper


def face_areas(grid: BrickGrid) -> tuple[Floats, Floats, float]:
    """Areas of faces across x and y, (nz, 1, 1), and across z, m2."""
    height = grid.thickness[:, None, None]
    return height * grid.cell[1], height * grid.cell[0], grid.cell[0] * grid.cell[1]


def cell_ends(grid: BrickGrid, m: Faces) -> tuple[tuple[Floats, Floats], ...]:
    """For x, y, z: the values on the lower and upper face of every cell, (nz, nx, ny)."""
    return (
        (m.x[:, :-1], m.x[:, 1:]),
        (m.y[:, :, :-1], m.y[:, :, 1:]),
        (m.z[grid.low], m.z[grid.high]),
    )


def from_cell_ends(grid: BrickGrid, ends: tuple[tuple[Floats, Floats], ...]) -> Faces:
    """The transpose of `cell_ends`: what the cells say of their two faces, summed on the faces."""
    (xl, xh), (yl, yh), (zl, zh) = ends
    nz, nx, ny = grid.body.shape
    x, y, z = np.zeros((nz, nx + 1, ny)), np.zeros((nz, nx, ny + 1)), np.zeros((len(grid.level), nx, ny))
    x[:, :-1] += xl
    x[:, 1:] += xh
    y[:, :, :-1] += yl
    y[:, :, 1:] += yh
    z[grid.low] += zl
    z[grid.high] += zh
    return Faces(x=x, y=y, z=z)


def planes(grid: BrickGrid) -> Planes:
    """Cells, x faces, y faces of each layer, then the levels of z faces."""
    middle = grid.bottom + 0.5 * grid.thickness
    nz, nl = len(middle), len(grid.level)
    return Planes(
        kind=np.repeat(np.arange(4), [nz, nz, nz, nl]),
        middle=np.concatenate([middle, middle, middle, grid.level]),
        extent=np.concatenate([grid.thickness, grid.thickness, grid.thickness, np.zeros(nl)]),
    )


def charges(grid: BrickGrid, outer: Faces, m: Faces) -> list[Floats]:
    """Charges (A m) of cells and of x, y, z faces for normal magnetisations m (A/m).

    Cells: minus the sum of outward M_n A; faces: outward M_n A where only one side is filled.
    """
    ax, ay, az = face_areas(grid)
    x, y, z = ax * m.x, ay * m.y, az * m.z
    inside = x[:, :-1] - x[:, 1:] + y[:, :, :-1] - y[:, :, 1:] + z[grid.low] - z[grid.high]
    return [grid.filled * inside, outer.x * x, outer.y * y, outer.z * z]
