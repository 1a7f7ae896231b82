"""What a grid's outlines miss: bodies whose cells have not their true area, and what that changes.

Where no cells suit all bodies, those of some may be off by a part of a row. How a quantity grows with
such a body is found on the coarser grid, from the body with a row more or less.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from coilgen.frozen import dataclass
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import BrickGrid, brick_grid

_EXACT = 1e-3
_STEP, _STEPS = 0.02, 40
_STEEPEST, _FALLING = 1.0, -0.5
"""Powers of a body's area with which inductances and pulls may grow; others show too coarse a grid."""
_DRAWN_ON = 0.25
"""Of the change between grids, that finer ones go on by where all outlines fit."""
_FITTING, _OFF = (0.5, 0.01), (0.6, 0.02)
"""Errors over the change between grids and over the value, where all outlines fit and where some do not."""
_STEPS_OF_ROUNDS = 0.01
"""Of the value, besides, where an outline is round or turned: its steps take up to 1.3 % more flux."""


@dataclass(frozen=True, kw_only=True)
class Fitting:
    """whole: both grids give all bodies their true area. smooth: all outlines run along the cells."""

    whole: bool
    smooth: bool


@dataclass(frozen=True, kw_only=True)
class Outline:
    """A body whose area is off: its cells' area over the true one on both grids.

    bodies: all of them with this one a row of cells larger or smaller on the coarser grid, other: its share.
    """

    fine: float
    rough: float
    bodies: tuple[Body, ...]
    other: float


def fitting(bodies: tuple[Body, ...], fine: BrickGrid, rough: BrickGrid) -> Fitting:
    """How two grids' cells suit bodies."""
    shares = [share_of_area(grid, bodies, k) for grid in (fine, rough) for k in range(len(bodies))]
    return Fitting(
        whole=all(abs(share - 1.0) <= _EXACT for share in shares),
        smooth=all(body.straight for body in bodies),
    )


def outlines(bodies: tuple[Body, ...], fine: BrickGrid, rough: BrickGrid) -> Iterator[Outline]:
    """Of the bodies that two grids do not give their true area."""
    for number in range(len(bodies)):
        shares = [share_of_area(grid, bodies, number) for grid in (fine, rough)]
        if max(abs(share - 1.0) for share in shares) > _EXACT:
            found = _resized(bodies, number, rough, shares[1])
            if found is not None:
                yield Outline(fine=shares[0], rough=shares[1], bodies=found[0], other=found[1])


def share_of_area(grid: BrickGrid, bodies: tuple[Body, ...], number: int) -> float:
    """Area of a body's cells over its own."""
    cells = (grid.body == number).sum(axis=(1, 2)).max()
    return float(cells * grid.cell[0] * grid.cell[1] / bodies[number].area)


def _resized(
    bodies: tuple[Body, ...], number: int, grid: BrickGrid, share: float
) -> tuple[tuple[Body, ...], float] | None:
    """Bodies with one so much larger or smaller that its cells change; None where it meets another."""
    for step in range(1, _STEPS):
        size = 1.0 + math.copysign(_STEP * step, 1.0 - share)
        one = replace(bodies[number], size=(size * bodies[number].size[0], size * bodies[number].size[1]))
        other = (*bodies[:number], one, *bodies[number + 1 :])
        try:
            found = share_of_area(brick_grid(other, grid.cell[0], like=grid), bodies, number)
        except ValueError:
            return None
        if found != share:
            return other, found
    return None


def error_of_grids(
    fine: float, rough: float, found: Sequence[tuple[Outline, float]], fitting: Fitting
) -> float:
    """Error to expect of the finer grid's value; found: the coarser one's for each outline's bodies.

    Both are set right for their outlines. Where all fit, finer grids go on by a quarter of what is left
    between them; what is left of outlines hides that otherwise. Held against grids of half the width for some
    sixty designs drawn at random.
    """
    power = [_power(rough, outline, value) for outline, value in found]
    true_fine, true_rough = fine, rough
    for (outline, _), grown in zip(found, power, strict=True):
        true_fine *= outline.fine**-grown
        true_rough *= outline.rough**-grown
    left = true_fine - true_rough
    expected = true_fine + _DRAWN_ON * left if fitting.whole else true_fine
    of_change, of_value = _FITTING if fitting.whole else _OFF
    of_value += 0.0 if fitting.smooth else _STEPS_OF_ROUNDS
    return abs(expected - fine) + of_change * abs(left) + of_value * abs(fine)


def _power(rough: float, outline: Outline, value: float) -> float:
    """Of a body's area, with which a quantity grows on the coarser grid."""
    if value * rough <= 0.0:
        return 0.0
    found = math.log(value / rough) / math.log(outline.other / outline.rough)
    return min(max(found, _FALLING), _STEEPEST)
