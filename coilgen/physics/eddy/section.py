"""A strip's cross-section as filaments graded to its edges, and the mean distances between them."""

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.inductance.mean_distance import geometric_mean_distance

_GRADING = 1.5


@dataclass(frozen=True, kw_only=True)
class Section:
    """Rectangular filaments in units of half the width and half the thickness; their edges run from -1 to 1.

    Filament k = i * (cells through) + j sits in column i (across) and row j (through).
    """

    across: Floats
    through: Floats

    @property
    def y(self) -> Floats:
        """Middles across the width, (filaments,), -1 ... 1."""
        return np.repeat(_middles(self.across), len(self.through) - 1)

    @property
    def z(self) -> Floats:
        """Middles through the thickness, (filaments,), -1 ... 1."""
        return np.tile(_middles(self.through), len(self.across) - 1)

    @property
    def dy(self) -> Floats:
        """Sizes across the width, (filaments,), sum over a row 2."""
        return np.repeat(np.diff(self.across), len(self.through) - 1)

    @property
    def dz(self) -> Floats:
        """Sizes through the thickness, (filaments,), sum over a column 2."""
        return np.tile(np.diff(self.through), len(self.across) - 1)


def section(*, edge: float, largest: float, through: float) -> Section:
    """Filaments graded by a factor of 1.5 from both edges; sizes relative to half the width or thickness.

    edge: width of the outermost filament; largest: limit in the middle; through: height of the outermost
    filament, 1 or more for a single one.
    """
    rows = np.array([-1.0, 1.0]) if through >= 1.0 else _graded(through, 1.0)
    return Section(across=_graded(edge, largest), through=rows)


def _graded(first: float, largest: float) -> Floats:
    """Symmetric edges from -1 to 1."""
    steps: list[float] = []
    size = min(first, 1.0)
    while sum(steps) < 1.0 - 0.5 * size:
        steps.append(size)
        size = min(size * _GRADING, max(largest, first))
    half = np.append(0.0, np.cumsum(steps)) / sum(steps)
    return np.append(half - 1.0, (1.0 - half)[-2::-1])


def _middles(edges: Floats) -> Floats:
    return 0.5 * (edges[1:] + edges[:-1])


def mean_distances(cells: Section, width: float, thickness: float) -> Floats:
    """Geometric mean distances (filaments, filaments) m within a strip of this width and thickness, m."""
    first, second = np.triu_indices(len(cells.y))
    y, dy, z, dz = (
        0.5 * width * cells.y,
        0.5 * width * cells.dy,
        0.5 * thickness * cells.z,
        0.5 * thickness * cells.dz,
    )
    across, above = y[second] - y[first], z[second] - z[first]
    half = geometric_mean_distance(across, above, dy[first], dz[first], dy[second], dz[second])
    distances = np.empty((len(y), len(y)))
    distances[first, second] = distances[second, first] = half
    return distances
