"""A soft-magnetic body: its measures, and which equal cells seen from the top belong to it."""

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

Form = Literal["plate", "disc", "rod", "ring"]


@dataclass(frozen=True, kw_only=True)
class Body:
    """One soft-magnetic body, axis along z, SI units.

    size: (x, y) m over all; the diameter twice for a disc, rod or ring. hole: m, inner diameter of a ring.
    bottom, thickness: m. centre: (x, y) m. turn: rad, of a plate about its centre, counter-clockwise; no
    quarter turns, which exchange its sizes. curve: which magnetisation curve it follows.
    """

    form: Form
    size: tuple[float, float]
    thickness: float
    bottom: float
    hole: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0
    curve: int = 0

    @property
    def straight(self) -> bool:
        """Whether its sides run along x and y."""
        return self.form == "plate" and not self.turn

    @property
    def span(self) -> tuple[float, float]:
        """(x, y) m over all where it lies."""
        (x, y), c, s = self.size, abs(math.cos(self.turn)), abs(math.sin(self.turn))
        return (x * c + y * s, x * s + y * c) if self.form == "plate" and self.turn else self.size

    @property
    def area(self) -> float:
        """Seen from the top, m2."""
        if self.form == "plate":
            return self.size[0] * self.size[1]
        return 0.25 * np.pi * (self.size[0] ** 2 - self.hole**2)

    @property
    def narrowest(self) -> float:
        """The least extent seen from the top, m."""
        return min(*self.size, (self.size[0] - self.hole) / 2 if self.hole else math.inf)

    @property
    def spread(self) -> float:
        """Mean square distance of its points from its centre, seen from the top, m2."""
        x, y = self.size
        return (x**2 + y**2) / 12 if self.form == "plate" else (x**2 + self.hole**2) / 8

    def covers(self, x: Floats, y: Floats) -> NDArray[np.bool_]:
        """Which cells with their middles at x (nx,), y (ny,) m belong to it, (nx, ny).

        Outlines that do not run along the cells take the cells nearest to the centre, by the outline's own
        measure, all as near as one another or none, whose area comes nearest to the true one.
        """
        dx, dy = x[:, None] - self.centre[0], y[None, :] - self.centre[1]
        if self.straight:
            return np.asarray((np.abs(dx) < 0.5 * self.size[0]) & (np.abs(dy) < 0.5 * self.size[1]))
        cell = float((x[1] - x[0]) * (y[1] - y[0]))
        if self.form == "plate":
            c, s = math.cos(self.turn), math.sin(self.turn)
            along, across = abs(c * dx + s * dy) / self.size[0], abs(c * dy - s * dx) / self.size[1]
            return _nearest(np.maximum(along, across), cell, self.area)
        rho2 = (dx**2 + dy**2) / cell
        whole, hole = (0.25 * np.pi * diameter**2 for diameter in (self.size[0], self.hole))
        return _nearest(rho2, cell, whole) & ~_nearest(rho2, cell, hole)


def _nearest(rank: Floats, cell: float, area: float) -> NDArray[np.bool_]:
    """The cells of least rank, all of a rank or none, with an area as nearly as may be; cell: that of one."""
    rounded = np.round(rank, 6)
    steps, counts = np.unique(rounded, return_counts=True)
    filled = np.append(0, np.cumsum(counts)) * cell
    rings = int(np.argmin(np.abs(filled - area)))
    return np.asarray(rounded < np.append(steps, np.inf)[rings])
