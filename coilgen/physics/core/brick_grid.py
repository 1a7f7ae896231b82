"""Soft-magnetic bodies as bricks: one grid of equal cells in x and y, layers of any thickness in z."""

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.body import Body
from coilgen.physics.core.cell_fit import Fit, fitted_cells
from coilgen.physics.field.filaments import Indices

_SAME_HEIGHT = 1e-9
_LEAST = 0.5
"""Cells across a body or the wall of a ring, least."""
_SLENDER = 2.0
_DEEP = 12
_TALLEST = 3.0


class UnresolvedError(ValueError):
    """A body that is too fine for the cells it was to be cut into."""


@dataclass(frozen=True, kw_only=True)
class BrickGrid:
    """nz layers of nx by ny cells, SI units.

    cell: (hx, hy) m. origin: (x, y) m of the grid's corner. bottom, thickness: (nz,) m.
    body: (nz, nx, ny) int, which body fills a cell, -1 for none.
    level: (nl,) m, heights of horizontal faces; low, high: (nz,) int, the levels below and above each layer.
    """

    cell: tuple[float, float]
    origin: tuple[float, float]
    bottom: Floats
    thickness: Floats
    body: Indices
    level: Floats
    low: Indices
    high: Indices

    @property
    def filled(self) -> NDArray[np.bool_]:
        """(nz, nx, ny), where there is material."""
        return np.asarray(self.body >= 0)

    @property
    def volume(self) -> Floats:
        """(nz, 1, 1) m3 of one cell in each layer."""
        return np.asarray(self.cell[0] * self.cell[1] * self.thickness[:, None, None])


def _middles(corner: float, step: float, count: int) -> Floats:
    return np.asarray(corner + (np.arange(count, dtype=np.float64) + 0.5) * step)


def brick_grid(bodies: tuple[Body, ...], cell: float, like: "BrickGrid | None" = None) -> BrickGrid:
    """Grid of cells about `cell` (m) wide and at most as high, but in deep bodies (see `layer_counts`).

    The cells suit the bodies' outlines as `fitted_cells` finds them, or are those of another grid, `like`.
    Raises ValueError where there is no body, where a size is not positive, or where two bodies overlap, and
    UnresolvedError where a body holds no cell.
    """
    _check(bodies)
    fit = fitted_cells(bodies, cell) if like is None else Fit(cell=like.cell, line=like.origin)
    (hx, hy), (west, nx), (south, ny) = fit.cell, *(_extent(bodies, axis, fit) for axis in (0, 1))
    origin = (west, south)
    for body in bodies:
        if body.narrowest < _LEAST * min(hx, hy):
            raise UnresolvedError(f"a {body.form} is too narrow beside its size for cells to be laid in it")
    bottom, thickness = _layers(bodies, max(hx, hy))
    x, y = _middles(origin[0], hx, nx), _middles(origin[1], hy, ny)
    filling = _filling(bodies, bottom + 0.5 * thickness, x, y)
    level, low, high = _levels(bottom, thickness)
    return BrickGrid(
        cell=(hx, hy),
        origin=origin,
        bottom=bottom,
        thickness=thickness,
        body=filling,
        level=level,
        low=low,
        high=high,
    )


def _check(bodies: tuple[Body, ...]) -> None:
    if not bodies:
        raise ValueError("a soft core needs at least one body")
    for body in bodies:
        if min(*body.size, body.thickness) <= 0.0:
            raise ValueError(f"a {body.form} needs a positive size and thickness, not {body.size}")
        if body.form == "ring" and not 0.0 < body.hole < body.size[0]:
            raise ValueError(f"a ring's hole must lie between 0 and its diameter, not {body.hole}")


def _extent(bodies: tuple[Body, ...], axis: int, fit: Fit) -> tuple[float, int]:
    """Where cells along an axis begin, m, and their number: enough for all bodies."""
    spare = 0 if all(body.straight for body in bodies) else 1
    west = min(body.centre[axis] - 0.5 * body.span[axis] for body in bodies)
    east = max(body.centre[axis] + 0.5 * body.span[axis] for body in bodies)
    low, high = ((end - fit.line[axis]) / fit.cell[axis] for end in (west, east))
    # A straight edge is on the line nearest to it.
    first = round(low) if not spare else math.floor(low + 1e-6) - spare
    last = round(high) if not spare else math.ceil(high - 1e-6) + spare
    return fit.line[axis] + first * fit.cell[axis], max(1, last - first)


def layer_counts(bodies: tuple[Body, ...], width: float) -> list[tuple[float, float, int]]:
    """Bottom, top (m) and number of layers of each span of heights that holds some body.

    Cells are no taller than wide (m), but up to three times where only bodies stand that are over twice as
    tall as wide: along those the magnetisation changes slowly.
    """
    ends = sorted({b.bottom for b in bodies} | {b.bottom + b.thickness for b in bodies})
    edges = [ends[0]] + [b for a, b in pairwise(ends) if b - a > _SAME_HEIGHT]
    found = []
    for low, high in pairwise(edges):
        middle = 0.5 * (low + high)
        here = [b for b in bodies if b.bottom < middle < b.bottom + b.thickness]
        if here:
            slender = all(b.thickness > _SLENDER * min(b.size) for b in here)
            count = int(np.ceil((high - low) / width - 1e-6))
            if slender and count > _DEEP:
                count = max(_DEEP, int(np.ceil((high - low) / (_TALLEST * width) - 1e-6)))
            found.append((low, high, max(1, count)))
    return found


def _layers(bodies: tuple[Body, ...], width: float) -> tuple[Floats, Floats]:
    """Bottoms and thicknesses of the layers that hold some body, as `layer_counts` says."""
    bottom: list[float] = []
    thickness: list[float] = []
    for low, high, parts in layer_counts(bodies, width):
        bottom += [low + k * (high - low) / parts for k in range(parts)]
        thickness += [(high - low) / parts] * parts
    return np.array(bottom), np.array(thickness)


def _filling(bodies: tuple[Body, ...], middle: Floats, x: Floats, y: Floats) -> Indices:
    body = np.full((len(middle), len(x), len(y)), -1, dtype=np.int64)
    for number, one in enumerate(bodies):
        inside = one.covers(x, y)
        for k in np.flatnonzero((middle > one.bottom) & (middle < one.bottom + one.thickness)):
            if np.any(body[k][inside] >= 0):
                raise ValueError(f"bodies {body[k][inside].max()} and {number} overlap")
            body[k][inside] = number
        if not np.any(body == number):
            raise UnresolvedError(f"a {one.form} is too narrow beside its size for cells to be laid in it")
    return body


def _levels(bottom: Floats, thickness: Floats) -> tuple[Floats, Indices, Indices]:
    """Distinct heights of faces, and which of them bound each layer."""
    low, high = [0], [1]
    level = [float(bottom[0]), float(bottom[0] + thickness[0])]
    for b, t in zip(bottom[1:], thickness[1:], strict=True):
        if b - level[-1] > _SAME_HEIGHT:
            level.append(float(b))
        low.append(len(level) - 1)
        level.append(float(b + t))
        high.append(len(level) - 1)
    return np.array(level), np.array(low, dtype=np.int64), np.array(high, dtype=np.int64)
