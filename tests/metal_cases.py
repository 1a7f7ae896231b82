"""Coils of circles and bodies whose effect is known, for the tests of metal near a coil."""

import numpy as np

from coilgen.physics.base.constants import MU0
from coilgen.physics.field.filaments import Filaments, together
from coilgen.physics.metal.ring_field import Rings
from coilgen.physics.metal.round_mesh import RoundBody
from coilgen.physics.metal.sheet_grid import SheetGrid, layers, openings

MM = 1e-3


def circles(first: float, count: int, pitch: float = 0.8 * MM) -> Rings:
    """Turns in series at z = 0, from the radius of the first, m."""
    radius = first + pitch * np.arange(count)
    return Rings(radius=radius, height=np.zeros(count), share=np.ones(count))


INNER = circles(2.0 * MM, 10)
OUTER = circles(6.0 * MM, 8)
COPPER_WASHER = RoundBody(inner=4 * MM, outer=12 * MM, bottom=-0.5 * MM, top=-0.3 * MM, conductivity=58e6)
STEEL_DISC = RoundBody(
    inner=0.0, outer=12 * MM, bottom=-1.3 * MM, top=-0.3 * MM, conductivity=6e6, permeability=1000.0
)
IRON_ROD = RoundBody(
    inner=0.0, outer=5 * MM, bottom=-2.5 * MM, top=2.5 * MM, conductivity=8e6, permeability=500.0
)


def skin_depth(conductivity: float, frequency: float, permeability: float = 1.0) -> float:
    return float(1.0 / np.sqrt(np.pi * frequency * MU0 * permeability * conductivity))


def plate_grid(width, count, conductivity, highest, *, depth=None, centre=(0.0, 0.0), blocked=None):
    """A plate of 1 mm, 0.3 mm under the circles, `count` cells wide; blocked(x, y): no metal there."""
    depth = depth or width
    rows = round(count * depth / width)
    thickness = layers(MM, skin_depth(conductivity, highest))
    x, y = ((np.arange(1, n) / n - 0.5) * size for n, size in ((count, width), (rows, depth)))
    grid = np.meshgrid(x, y, indexing="ij")
    metal, holes = openings(np.zeros(grid[0].shape, dtype=bool) if blocked is None else blocked(*grid))
    return SheetGrid(
        cell=(width / count, depth / rows),
        origin=(centre[0] - width / 2, centre[1] - depth / 2),
        middle=-0.3 * MM - np.cumsum(thickness) + thickness / 2,
        thickness=thickness,
        metal=metal,
        holes=holes,
        conductivity=conductivity,
    )


def circle_path(rings, sides=180):
    """The circles as closed paths of straight strips that have their area."""
    angle = 2 * np.pi * np.arange(sides + 1) / sides
    wider = np.sqrt(angle[1] / np.sin(angle[1]))
    vertices = [
        np.column_stack([a * wider * np.cos(angle), a * wider * np.sin(angle), np.full(len(angle), z)])
        for a, z in zip(rings.radius, rings.height, strict=True)
    ]
    thin = np.full(sides, 1e-6)
    return together([Filaments(start=v[:-1], end=v[1:], width=thin, thickness=thin) for v in vertices])
