"""A flat conductor as layers of bricks whose currents go round: one stream function for each layer.

The stream function psi lives on the corners between bricks. The current across the edge between two corners
is the difference of their psi, so what flows in flows out. psi is 0 on the outline and one number on the rim
of each hole; slits that reach the outline belong to it. No current passes from layer to layer.
"""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

Mask = NDArray[np.bool_]
OF_SKIN = 0.4
"""Thickness of the layers at the faces over the skin depth."""
_GROWTH = 1.9


@dataclass(frozen=True, kw_only=True)
class SheetGrid:
    """nx by ny bricks of each layer, SI units.

    cell: (hx, hy) m. origin: (x, y) m of the grid's corner. middle, thickness: (nz,) m of the layers.
    metal: (nx - 1, ny - 1), which corners within the outline have metal all round. holes: (nh, nx - 1,
    ny - 1), corners in and on the rim of each. conductivity: S/m.
    """

    cell: tuple[float, float]
    origin: tuple[float, float]
    middle: Floats
    thickness: Floats
    metal: Mask
    holes: Mask
    conductivity: float

    @property
    def corners(self) -> tuple[Floats, Floats]:
        """x (nx - 1,) and y (ny - 1,) of the corners, m."""
        x, y = (
            start + step * np.arange(1, count + 1)
            for start, step, count in zip(self.origin, self.cell, self.metal.shape, strict=True)
        )
        return x, y

    def spread(self, free: Floats) -> Floats:
        """Unknowns (n,) as stream functions on all corners, (nz, nx - 1, ny - 1)."""
        layers, count = len(self.middle), int(self.metal.sum())
        out = np.zeros((layers, *self.metal.shape))
        out[:, self.metal] = free[: layers * count].reshape(layers, count)
        rims = free[layers * count :].reshape(layers, len(self.holes))
        for number, hole in enumerate(self.holes):
            out[:, hole] = rims[:, number, None] / np.sqrt(hole.sum())
        return out

    def gathered(self, stream: Floats) -> Floats:
        """The transpose of `spread`."""
        rims = [stream[:, hole].sum(axis=1) / np.sqrt(hole.sum()) for hole in self.holes]
        parts = [stream[:, self.metal].ravel()]
        if rims:
            parts.append(np.stack(rims, axis=1).ravel())
        return np.concatenate(parts)


def layers(thickness: float, skin: float) -> Floats:
    """Layers (nz,) m of a plate, thin at its two faces where the skin depth (m) is small."""
    half: list[float] = []
    thin = OF_SKIN * skin
    while sum(half) + thin < 0.5 * thickness:
        half.append(thin)
        thin *= _GROWTH
    rest = 0.5 * thickness - sum(half)
    if half and rest < 0.6 * half[-1]:
        half[-1] += rest
    else:
        half.append(rest)
    return np.array(half + half[::-1])


def openings(blocked: Mask) -> tuple[Mask, Mask]:
    """Corners with metal, and those of each hole, from corners without metal, (nx - 1, ny - 1) each.

    What touches the grid's edge belongs to the outline.
    """
    if not blocked.any():
        return ~blocked, np.zeros((0, *blocked.shape), dtype=bool)
    edge = np.zeros_like(blocked)
    edge[[0, -1]], edge[:, [0, -1]] = True, True
    inner, holes = blocked & ~_joined(edge & blocked, blocked), []
    while inner.any():
        first = np.zeros_like(inner)
        first.flat[np.argmax(inner)] = True
        holes.append(_joined(first, inner))
        inner = inner & ~holes[-1]
    return ~blocked, np.array(holes, dtype=bool).reshape(len(holes), *blocked.shape)


def _joined(seeds: Mask, among: Mask) -> Mask:
    """Corners that are joined to seeds by corners among those told, also across a brick."""
    found, count = seeds & among, 0
    while found.sum() > count:
        count = found.sum()
        for axis in (0, 1):
            wide = np.pad(np.moveaxis(found, axis, 0), ((1, 1), (0, 0)))
            found = np.moveaxis(wide[:-2] | wide[1:-1] | wide[2:], 0, axis)
        found &= among
    return found
