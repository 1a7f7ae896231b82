"""Cells suit outlines: of single bodies exactly, of several to some per cent, at any height alike."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.cell_fit import NARROWEST, WIDEST, fitted_cells

CELL = 0.5e-3


def body(form, x, y=None, *, centre=(0.0, 0.0), turn=0.0, bottom=0.0):
    """Measures in mm."""
    return Body(
        form=form,
        size=(1e-3 * x, 1e-3 * (y or x)),
        thickness=1e-3,
        bottom=1e-3 * bottom,
        hole=0.4e-3 * x if form == "ring" else 0.0,
        centre=(1e-3 * centre[0], 1e-3 * centre[1]),
        turn=turn,
    )


def areas(*bodies):
    """Of each body's cells over its own."""
    grid = brick_grid(bodies, CELL)
    cells = [np.count_nonzero(grid.body == number, axis=(1, 2)).max() for number in range(len(bodies))]
    return [n * grid.cell[0] * grid.cell[1] / one.area for n, one in zip(cells, bodies, strict=True)]


@settings(max_examples=30)
@given(st.floats(3.0, 20.0), st.floats(3.0, 20.0), st.floats(-5.0, 5.0))
def test_the_edges_of_a_plate_are_on_lines(x, y, aside):
    one = body("plate", x, y, centre=(aside, -0.3 * aside))
    fit = fitted_cells((one,), CELL)
    for axis in (0, 1):
        edges = one.centre[axis] + 0.5 * one.size[axis] * np.array([-1, 1])
        steps = (edges - fit.line[axis]) / fit.cell[axis]
        assert np.abs(steps - np.round(steps)).max() < 1e-6
        assert NARROWEST <= fit.cell[axis] / CELL <= WIDEST


@settings(max_examples=30)
@given(st.floats(3.0, 6.0), st.floats(7.0, 15.0), st.floats(7.0, 15.0), st.sampled_from([0.0, 1.3]))
def test_two_plates_have_their_area_nearly(narrow, wide, deep, aside):
    """Cells of one plate alone, as wide as asked for, are up to half a cell off the other's edges."""
    found = areas(body("plate", narrow, centre=(aside, 0.0)), body("plate", wide, deep, bottom=-2.0))
    assert found == pytest.approx([1.0, 1.0], abs=0.04)


@settings(max_examples=20)
@given(st.sampled_from(["disc", "rod", "ring"]), st.floats(3.0, 12.0))
def test_round_outlines_are_neither_small_nor_jagged(form, across):
    """A row of single cells at each end took up to a tenth more flux."""
    one = body(form, across)
    grid = brick_grid((one,), CELL)
    filled = grid.filled[0]
    assert areas(one) == pytest.approx([1.0], abs=1e-6)
    assert filled.any(axis=1).sum() * grid.cell[0] < 1.04 * one.size[0] + 0.3 * grid.cell[0]
    assert np.array_equal(filled, filled.T)
    assert np.array_equal(filled, filled[::-1])


def test_bodies_moved_up_keep_their_cells():
    bodies = (
        body("rod", 4.0),
        body("plate", 11.3, 7.1, bottom=-2.0),
        body("plate", 9.7, 3.1, turn=0.4, bottom=3.0),
    )
    moved = tuple(replace(one, bottom=one.bottom - 7e-5) for one in bodies)
    assert fitted_cells(bodies, CELL) == fitted_cells(moved, CELL)
