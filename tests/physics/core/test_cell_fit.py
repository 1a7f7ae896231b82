"""Cells of cores: their lines lie on the bodies' edges, or as near as one width along each axis allows."""

import numpy as np
import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.cell_fit import fitted_cells

CELL = 1e-3


def plate(width, depth, at=(0.0, 0.0)):
    """Measures and place of the middle in mm."""
    centre = (at[0] * 1e-3, at[1] * 1e-3)
    return Body(form="plate", size=(width * 1e-3, depth * 1e-3), thickness=1e-3, bottom=0.0, centre=centre)


def off_lines(bodies, fit):
    """How far the farthest edge is from a line, in widths."""
    places = [
        (body.centre[axis] + side * body.size[axis] / 2 - fit.line[axis]) / fit.cell[axis]
        for body in bodies
        for axis in (0, 1)
        for side in (-1, 1)
    ]
    return np.abs(places - np.round(places)).max()


@pytest.mark.parametrize(
    "bodies",
    [
        (plate(11.3, 4.7),),
        (plate(12, 12), plate(9.4, 3.3)),
        (plate(10, 6), plate(4, 4, at=(8, 1))),
    ],
    ids=("one", "two about one middle", "two side by side"),
)
def test_edges_lie_on_lines(bodies):
    fit = fitted_cells(bodies, CELL)
    assert off_lines(bodies, fit) < 0.12
    assert all(0.5 < width / CELL < 1.6 for width in fit.cell)


def test_a_body_narrower_than_a_cell_has_cells_of_its_own_width():
    assert fitted_cells((plate(0.2, 0.2),), CELL).cell == pytest.approx((0.2e-3, 0.2e-3))
