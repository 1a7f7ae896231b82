"""How wide the cells are that soft bodies are divided into."""

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from coilgen.errors import UnsolvedError
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body

CELLS = 4000
"""Cells of a core's finer grid, about; three unknowns each."""
MOST_CELLS = 12_000
"""What a slender body among large ones may add up to."""
MOST_WORK = 2e6
"""Products of one step of the solver, about."""
ACROSS = 6
"""Cells across the narrowest body or wall, least."""
LEAST_ACROSS = 1.2
"""Cells across a body or wall where bounds make them wide: with fewer, none may fit the second grid."""
_NARROWEST, _FOUND = 1e-6, 1e-9
"""Of the largest body, the least width of a cell; of itself, to what a width is found."""
_PLANES = 4
"""Planes that carry charge in a layer of cells: the cells, their faces across x, y and z."""


def cell_size(bodies: "tuple[Body, ...]", wider: float = 1.0) -> float:
    """Width of the finer grid's cells, m: a bounded number of them, yet some across the narrowest body.

    wider: by how much they may be wider, where no bound makes them so. A thin body is one cell high. Where
    bodies of many heights stand on a wide grid, the work of the grid bounds it.
    """
    largest = max(max(body.size) for body in bodies)
    enough, most, worked = (
        _width(count, limit, largest)
        for count, limit in (
            (lambda width: _cells(bodies, width), CELLS),
            (lambda width: _cells(bodies, width), MOST_CELLS),
            (lambda width: _work(bodies, width), MOST_WORK),
        )
    )
    narrow = min(body.narrowest for body in bodies) / ACROSS
    return max(wider * min(enough, narrow), most, worked)


def _width(count: Callable[[float], float], limit: float, largest: float) -> float:
    """Least width (m) at which a count that falls with it is within a limit."""
    # In parts of the largest size, until rounding alone is left: a board twice as large has the same grid,
    # and one a little larger nearly the same.
    low, high = _NARROWEST * largest, largest
    while high > (1.0 + _FOUND) * low:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if count(middle) > limit else (low, middle)
    return high


def _cells(bodies: "tuple[Body, ...]", width: float) -> float:
    from coilgen.physics.core.brick_grid import layer_counts

    return sum(body.area / width**2 * layer_counts((body,), width)[0][2] for body in bodies)


def _work(bodies: "tuple[Body, ...]", width: float) -> float:
    """Products of a step of the solver: places seen from the top times the square of the planes' number."""
    from coilgen.physics.core.brick_grid import layer_counts

    layers = sum(count for _, _, count in layer_counts(bodies, width))
    wide, deep = (max(abs(b.centre[axis]) + b.size[axis] / 2 for b in bodies) for axis in (0, 1))
    return 4.0 * wide * deep / width**2 * (_PLANES * layers) ** 2


def check_width(key: str, bodies: "Sequence[Body]", cell: float) -> None:
    """Refuses bodies too narrow for cells of a width (m), of which a second grid has twice as wide ones."""
    body = min(bodies, key=lambda one: one.narrowest)
    least = LEAST_ACROSS * cell
    if body.narrowest < least:
        raise UnsolvedError.at(
            key,
            f"cannot be computed: a {body.form} is too narrow, {readable(body.narrowest, 'm', 2)} across, "
            f"beside the sizes of all bodies, for which cells of {readable(cell, 'm', 2)} are the finest; "
            f"make it {readable(least, 'm', 2)} or more, the others less wide or tall, or leave it out",
        )
