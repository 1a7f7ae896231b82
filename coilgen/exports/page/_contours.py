"""Contours over a grid: the lines along which a quantity crosses a level, told where it jumps."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

Place = tuple[float, float]
Line = tuple[Place, ...]
Grid = NDArray[np.float64]
Side = tuple[int, int, int]
"""Of the grid, between two neighbours: column and row of its first end, and 0 along x, 1 along y."""


def contours(
    xs: Sequence[float],
    ys: Sequence[float],
    values: Mapping[Place, float],
    level: float,
    jumps: Sequence[Line] = (),
) -> tuple[Line, ...]:
    """The lines along which values at (x, y), straight between neighbours, cross a level; closed ones end
    where they begin.

    jumps: lines at which the values jump; between neighbours on two sides of one, a level is crossed there.

    >>> slope = {(x, y): x for x in (0.0, 1.0) for y in (0.0, 1.0)}
    >>> contours((0.0, 1.0), (0.0, 1.0), slope, 0.25)
    (((0.25, 0.0), (0.25, 1.0)),)
    """
    grid = np.array([[values[x, y] for x in xs] for y in ys]) - level
    links: dict[Side, list[Side]] = {}
    for one, other in _crossings(grid):
        links.setdefault(one, []).append(other)
        links.setdefault(other, []).append(one)
    shares = {side: _share(grid, side) for side in links} | _shares_at(xs, ys, links, jumps)
    return tuple(tuple(_place(xs, ys, side, shares[side]) for side in chain) for chain in _chains(links))


def _crossings(grid: Grid) -> Iterator[tuple[Side, Side]]:
    """Pairs of sides that a contour joins across a cell."""
    corners = np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]], axis=-1)
    above = np.count_nonzero(corners > 0.0, axis=-1)
    for j, i in np.argwhere((above > 0) & (above < 4)).tolist():
        over = (corners[j, i] > 0.0).tolist()
        sides = ((i, j, 0), (i + 1, j, 1), (i, j + 1, 0), (i, j, 1))
        crossed = [side for k, side in enumerate(sides) if over[k] != over[(k + 1) % 4]]
        if len(crossed) == 4 and (sum(corners[j, i].tolist()) > 0.0) != over[0]:
            crossed = [*crossed[1:], crossed[0]]
        yield from zip(crossed[::2], crossed[1::2], strict=True)


def _chains(links: Mapping[Side, Sequence[Side]]) -> Iterator[tuple[Side, ...]]:
    """Sides in the order of the lines through them: first lines that end at the border, then closed ones."""
    left = {side: set(others) for side, others in links.items()}
    for first in sorted(links, key=lambda side: (len(links[side]), side)):
        while left[first]:
            chain = [first]
            while left[chain[-1]]:
                following = left[chain[-1]].pop()
                left[following].discard(chain[-1])
                chain.append(following)
            yield tuple(chain)


def _share(grid: Grid, side: Side) -> float:
    """Of a side, where the level is crossed."""
    i, j, up = side
    ends = float(grid[j, i]), float(grid[j + up, i + 1 - up])
    return ends[0] / (ends[0] - ends[1])


def _shares_at(
    xs: Sequence[float], ys: Sequence[float], sides: Iterable[Side], lines: Sequence[Line]
) -> dict[Side, float]:
    """Of those sides that have their ends on two sides of a line, where it crosses them."""
    found: dict[Side, float] = {}
    for line in lines:
        places = np.array(line)
        for i, j, up in sides:
            begin, end = (ys[j], ys[j + 1]) if up else (xs[i], xs[i + 1])
            met = _meetings(places[:, ::-1] if up else places, xs[i] if up else ys[j])
            inside = met[(met > begin) & (met <= end)]
            if len(inside) % 2:
                found[i, j, up] = float((inside[0] - begin) / (end - begin))
    return found


def _meetings(places: Grid, level: float) -> Grid:
    """First coordinates at which a line (n, 2) meets a level of the second one."""
    (a, low), (b, high) = places[:-1].T, places[1:].T
    met = (low <= level) != (high <= level)
    return np.asarray(a[met] + (b - a)[met] * (level - low[met]) / (high - low)[met])


def _place(xs: Sequence[float], ys: Sequence[float], side: Side, share: float) -> Place:
    """At a share of a side."""
    i, j, up = side
    if up:
        return xs[i], ys[j] + share * (ys[j + 1] - ys[j])
    return xs[i] + share * (xs[i + 1] - xs[i]), ys[j]
