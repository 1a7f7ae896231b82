"""A magnet's side as what a field from outside acts on, with points as near to one another as it asks for."""

from functools import cache
from typing import Literal

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0

DENSITY = 1.0
"""Points along the rim in the distance to the nearest source, about; halved it changes a force by 0.1 %."""
_UP = 4
"""Points in a step of height."""
_LEAST = 24
"""Points around a round magnet."""
_NEAREST = 1e-3
"""Of a magnet's size: nothing is nearer than that."""
_ALONG, _WIDTHS = 4, 3.0
"""Points in a step along a straight side, and the distances to the nearest source in such a step."""


@dataclass(frozen=True, kw_only=True)
class Magnet:
    """Evenly magnetised permanent magnet, its axis along z, SI units.

    size: (x, y) m; the diameter twice for a disc or ring. hole: m, a ring's inner diameter. height: m, along
    z. remanence: T. pole: (3,), where its north pole points, any length. centre: (3,) m.
    The magnet's own permeability (about 1.05 for neodymium) is taken as 1.
    """

    form: Literal["disc", "ring", "block"]
    size: tuple[float, float]
    height: float
    remanence: float
    hole: float = 0.0
    pole: tuple[float, float, float] = (0.0, 0.0, 1.0)
    centre: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def ends(self) -> tuple[float, float]:
        """Heights of the lower and the upper face, m."""
        return self.centre[2] - 0.5 * self.height, self.centre[2] + 0.5 * self.height

    @property
    def magnetisation(self) -> Floats:
        """(3,) A/m. Raises ValueError for sizes that are not positive or a pole without direction."""
        if min(*self.size, self.height) <= 0.0 or not 0.0 <= self.hole < self.size[0]:
            raise ValueError("a magnet needs a positive size and height, and a hole smaller than itself")
        direction = np.asarray(self.pole, dtype=np.float64)
        if not np.any(direction):
            raise ValueError("a magnet's pole needs a direction")
        return np.asarray(self.remanence / MU0 * direction / np.linalg.norm(direction))


@dataclass(frozen=True, kw_only=True)
class MagnetSide:
    """Points (n, 3) m on a magnet's side, with the current (n, 3) A m and the charge (n,) A m of each."""

    points: Floats
    current: Floats
    charge: Floats


def magnet_side(magnet: Magnet, below: float, above: float, density: float = DENSITY) -> MagnetSide:
    """What stands for a magnet in fields whose sources are no nearer than `below` and `above` its faces, m.

    The magnetisation along the axis as the current M x n, the one across as the charge M . n: force and
    torque in a field from outside are those of the magnet itself (J. D. Jackson, Classical Electrodynamics,
    section 5.10), and both are nothing on the end faces. So only the rims come near a board, where charges
    all over an end face would have to resolve every trace. Inf for no source. density: of the points.
    """
    strength = magnet.magnetisation
    points, normals, areas = (_block if magnet.form == "block" else _round)(
        magnet, _heights(magnet, below, above), density
    )
    along = np.array([0.0, 0.0, strength[2]])
    return MagnetSide(
        points=points + np.asarray(magnet.centre),
        current=areas[:, None] * np.cross(along, normals),
        charge=areas * (normals @ (strength - along)),
    )


def _heights(magnet: Magnet, below: float, above: float) -> list[tuple[float, float, float]]:
    """Steps of height about the middle: lower and upper end, m, and the distance to the nearest source there.

    Each step is as high as its near end is far from the source.
    """
    least, half = _NEAREST * max(magnet.size), 0.5 * magnet.height
    near, far = max(below, least), max(above, least)
    up, down = _steps(near, far, magnet.height)
    steps = [(a - half, b - half, near + a) for a, b in up]
    return [*steps, *((half - b, half - a, far + a) for a, b in down)]


def _steps(near: float, far: float, height: float) -> tuple[list[tuple[float, float]], ...]:
    """Steps from the lower end up and from the upper end down that meet."""
    found: tuple[list[tuple[float, float]], ...] = ([], [])
    ends = [0.0, 0.0]
    while (left := height - sum(ends)) > 0.0:
        side = 0 if near + ends[0] <= far + ends[1] else 1
        step = (near, far)[side] + ends[side]
        step = left if step > 0.7 * left else step
        found[side].append((ends[side], ends[side] + step))
        ends[side] += step
    return found


def _round(
    magnet: Magnet, steps: list[tuple[float, float, float]], density: float
) -> tuple[Floats, Floats, Floats]:
    walls = [(0.5 * magnet.size[0], 1.0), (0.5 * magnet.hole, -1.0)]
    parts = [_ring(radius, sense, step, density) for radius, sense in walls if radius > 0.0 for step in steps]
    points, normals, areas = (np.concatenate(each) for each in zip(*parts, strict=True))
    return points, normals, areas


def _ring(
    radius: float, sense: float, step: tuple[float, float, float], density: float
) -> tuple[Floats, Floats, Floats]:
    """A step of a round wall: evenly around, where what repeats converges fastest."""
    low, high, distance = step
    count = int(np.ceil(max(_LEAST, 2 * np.pi * density * radius / distance)))
    node, weight = _gauss(_UP)
    around = 2.0 * np.pi * (np.arange(count) + 0.5) / count
    out = np.column_stack([np.cos(around), np.sin(around), np.zeros(count)])
    points = np.tile(radius * out, (_UP, 1))
    points[:, 2] = np.repeat(low + (high - low) * node, count)
    areas = np.repeat(2.0 * np.pi / count * radius * (high - low) * weight, count)
    return points, np.tile(sense * out, (_UP, 1)), areas


def _block(
    magnet: Magnet, steps: list[tuple[float, float, float]], density: float
) -> tuple[Floats, Floats, Floats]:
    parts = [
        _wall(magnet, axis, sense, step, density) for axis in (0, 1) for sense in (-1, 1) for step in steps
    ]
    points, normals, areas = (np.concatenate(each) for each in zip(*parts, strict=True))
    return points, normals, areas


def _wall(
    magnet: Magnet, axis: int, sense: int, step: tuple[float, float, float], density: float
) -> tuple[Floats, Floats, Floats]:
    """A step of a straight wall across an axis, by Gauss's rules on equal parts of its length."""
    low, high, distance = step
    length = magnet.size[1 - axis]
    parts = int(np.ceil(max(2.0, density * length / (_WIDTHS * distance))))
    node, weight = _gauss(_ALONG)
    along = length * ((np.arange(parts)[:, None] + node) / parts - 0.5).ravel()
    share = np.tile(length / parts * weight, parts)
    up, height = _gauss(_UP)
    points = np.zeros((_UP * len(along), 3))
    points[:, axis] = 0.5 * sense * magnet.size[axis]
    points[:, 1 - axis] = np.tile(along, _UP)
    points[:, 2] = np.repeat(low + (high - low) * up, len(along))
    normals = np.zeros_like(points)
    normals[:, axis] = sense
    return points, normals, np.outer((high - low) * height, share).ravel()


@cache
def _gauss(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights on 0 ... 1."""
    node, weight = np.polynomial.legendre.leggauss(count)
    return 0.5 * (node + 1.0), 0.5 * weight
