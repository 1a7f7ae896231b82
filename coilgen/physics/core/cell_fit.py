"""Cells that suit the outlines of bodies: widths and places with which edges are on lines between cells."""

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import product

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.body import Body

NARROWEST, WIDEST = 0.68, 1.15
"""Of the width that is asked for, from and to which cells are fitted: twice it gives others."""
_WIDTHS, _PHASES = 120, 24
_BEST, _SQUARES = 12, 24
"""How many fits along each axis are tried together, and how many squares where no edge runs along them."""
_ROUNDS, _LEAST = 4, 0.1
_AS_ONE = 1e-9
"""m, by which centres may differ and count as one."""
_FINER = 0.01
"""Misfit that would be worth cells twice as narrow."""


@dataclass(frozen=True, kw_only=True)
class Fit:
    """cell: (hx, hy) m; line: (x, y) m of some lines between cells."""

    cell: tuple[float, float]
    line: tuple[float, float]

    def middles(self, axis: int, low: float, high: float) -> Floats:
        """Of the cells between two places (m) along an axis, and of one more on either side."""
        h, line = self.cell[axis], self.line[axis]
        first, last = np.floor((low - line) / h) - 1, np.ceil((high - line) / h) + 1
        return np.asarray(line + (np.arange(first, last) + 0.5) * h)


def fitted_cells(bodies: tuple[Body, ...], cell: float) -> Fit:
    """About `cell` (m) wide, for the outlines as seen from the top; each axis has its width.

    What is least are the squares of the edges' distances from lines over their body's size and of what
    outlines of other forms gain or lose in area and second moment, and how far the number of cells is from
    that which was asked for.
    """
    return _fitted(tuple(replace(body, bottom=0.0, thickness=1.0, curve=0) for body in bodies), cell)


@lru_cache(maxsize=256)
def _fitted(bodies: tuple[Body, ...], cell: float) -> Fit:
    """Kept, as bodies that only stand higher or lower share their cells."""
    others = [each for body in bodies if not body.straight for each in _solids(body)]
    best = (np.inf, Fit(cell=(cell, cell), line=bodies[0].centre))
    for off, fit in _candidates(bodies, cell):
        if off < best[0]:
            whole = off + sum(part**2 for body in others for part in _off(body, fit))
            best = min(best, (whole, fit), key=lambda one: one[0])
    return best[1]


def _candidates(bodies: tuple[Body, ...], cell: float) -> Iterator[tuple[float, Fit]]:
    """Cells that suit the edges along x and y, and by how much they do not; squares without such edges."""
    if any(body.straight for body in bodies):
        along = [_along(bodies, axis, cell) for axis in (0, 1)]
        for (off_x, hx, x), (off_y, hy, y) in product(*along):
            yield off_x + off_y, Fit(cell=(hx, hy), line=(x, y))
        return
    for share, phase in product(np.linspace(NARROWEST, WIDEST, _SQUARES), (0.0, 0.5)):
        fit = _squares(bodies, float(share * cell), phase)
        yield 2.0 * float(_unlike(cell, fit.cell[0])), fit


def _squares(bodies: tuple[Body, ...], h: float, phase: float) -> Fit:
    """Square cells near `h` (m) that have the areas of bodies of other forms as nearly as may be.

    phase: how far lines are from the first body's centre, of a width.
    """
    for _ in range(_ROUNDS):
        x, y = (centre + phase * h for centre in bodies[0].centre)
        fit = Fit(cell=(h, h), line=(x, y))
        share = [max(1.0 + _off(body, fit)[0], _LEAST) for body in bodies]
        h *= float(np.sqrt(np.sum(share) / np.sum(np.square(share))))
    return fit


def _along(bodies: tuple[Body, ...], axis: int, cell: float) -> list[tuple[float, float, float]]:
    """Misfits, widths (m) and places of a line (m) of the cells that suit the edges across an axis best."""
    straight = [body for body in bodies if body.straight]
    centre = straight[0].centre[axis]
    middle = np.array([body.centre[axis] - centre for body in straight])
    size = np.array([body.size[axis] for body in straight])
    edges = np.stack([middle - 0.5 * size, middle + 0.5 * size], axis=-1)
    free = bool(np.any(np.abs(middle) > _AS_ONE))
    width, phase = (
        one.ravel()
        for one in np.meshgrid(
            cell * np.linspace(NARROWEST, WIDEST, _WIDTHS), np.arange(0.0, 1.0, 1 / _PHASES if free else 0.5)
        )
    )
    number = np.round(edges / width[:, None, None] - phase[:, None, None])
    # Where no body is as wide as a cell, no line tells a width.
    told = np.any(number[..., 1] > number[..., 0], axis=1)
    phase, number = phase[told], number[told]
    # The edges' own numbers of cells, with the widths and places that suit them best.
    width, line = _least_squares(edges, number, 1.0 / size, phase, free=free)
    off = np.sum(
        ((edges - line[:, None, None] - number * width[:, None, None]) / size[:, None]) ** 2, axis=(1, 2)
    )
    weighed = off + _unlike(cell, width)
    weighed[(width < NARROWEST * cell) | (width > WIDEST * cell)] += 1.0
    # Many widths lead to the same cells.
    _, first = np.unique(np.round(np.stack([width, line]) / cell, 9), axis=1, return_index=True)
    order = first[np.argsort(weighed[first], kind="stable")][:_BEST]
    return [(float(weighed[k]), float(width[k]), float(centre + line[k])) for k in order]


def _unlike(cell: float, width: Floats | float) -> Floats:
    """What counts against cells of other widths than that asked for, m."""
    return np.asarray((_FINER * np.log2(cell / width)) ** 2)


def _least_squares(
    edges: Floats, number: Floats, weight: Floats, phase: Floats, *, free: bool
) -> tuple[Floats, Floats]:
    """Widths and places of line 0, m, with which lines of these numbers lie nearest to the edges.

    edges: (k, 2) m; number: (n, k, 2); weight: (k,). Lines stand at `phase` (n,) of a width, or are free.
    """
    square = np.broadcast_to((weight**2)[:, None], edges.shape)
    if not free:
        steps = number + phase[:, None, None]
        width = np.sum(square * steps * edges, axis=(1, 2)) / np.sum(square * steps**2, axis=(1, 2))
        return width, phase * width
    total = square.sum()
    mean, middle = np.sum(square * number, axis=(1, 2)) / total, float(np.sum(square * edges) / total)
    apart = number - mean[:, None, None]
    width = np.sum(square * apart * (edges - middle), axis=(1, 2)) / np.sum(square * apart**2, axis=(1, 2))
    return width, middle - mean * width


def _solids(body: Body) -> tuple[Body, ...]:
    """A ring as its disc and its hole, whose moments would make up for each other; others as they are."""
    if body.form != "ring":
        return (body,)
    return tuple(replace(body, form="disc", size=(d, d), hole=0.0) for d in (body.size[0], body.hole))


def _off(body: Body, fit: Fit) -> tuple[float, float]:
    """Area and second moment of a body's cells over its own, each less 1: rough outlines have more moment."""
    ends = [0.5 * span for span in body.span]
    x, y = (fit.middles(k, body.centre[k] - ends[k], body.centre[k] + ends[k]) for k in (0, 1))
    covered, (hx, hy) = body.covers(x, y), fit.cell
    square = (x[:, None] - body.centre[0]) ** 2 + (y - body.centre[1]) ** 2 + (hx**2 + hy**2) / 12
    area = float(np.count_nonzero(covered)) * hx * hy
    moment = float(square[covered].sum()) * hx * hy
    return area / body.area - 1.0, moment / (body.area * body.spread) - 1.0
