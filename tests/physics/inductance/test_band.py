"""The band of the inductance: how much current crowds at bends, against solved flow."""

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from spirals import MM, Section, loop, polygon_spiral, polyline

from coilgen.physics.inductance.band import CORNER_SHIFT, crowding, rings_error, vias
from coilgen.physics.inductance.mitred_strips import mitred_strips


def corner_moment(cells):
    """Area that a right-angled corner's real flow leaves inside the mitred mean path, over width squared."""
    legs = 4
    size = (legs + 1) * cells
    copper = np.zeros((size, size), dtype=bool)
    copper[:, :cells] = copper[legs * cells :, :] = True
    number = np.where(copper, np.cumsum(copper.ravel()).reshape(size, size) - 1, -1)
    x, y = np.meshgrid(np.arange(size) + 0.5 - legs * cells, np.arange(size) + 0.5, indexing="ij")
    level = number[:-1][copper[:-1] & copper[1:]], number[1:][copper[:-1] & copper[1:]]
    upright = number[:, :-1][copper[:, :-1] & copper[:, 1:]], number[:, 1:][copper[:, :-1] & copper[:, 1:]]
    first, last = (np.concatenate([one, other]) for one, other in zip(level, upright, strict=True))
    entry, leave = number[0, :cells], number[legs * cells :, -1]
    ends = np.concatenate([entry, leave])
    rows = np.concatenate([first, last, first, last, ends])
    columns = np.concatenate([first, last, last, first, ends])
    values = np.concatenate([np.ones(2 * len(first)), -np.ones(2 * len(first)), np.full(len(ends), 2.0)])
    source = np.zeros(copper.sum())
    source[entry] = 2.0
    potential = spsolve(coo_matrix((values, (rows, columns))).tocsc(), source)
    px, py = x[copper], y[copper]
    along_x, along_y = (
        potential[level[0]] - potential[level[1]],
        potential[upright[0]] - potential[upright[1]],
    )
    into, out = 2 * (1 - potential[entry]), 2 * potential[leave]
    moment = (px[upright[0]] @ along_y - py[level[0]] @ along_x) / 2
    moment += (px[leave] @ out - py[entry] @ into) / 4
    uniform = (np.arange(1000) + 0.5) / 1000
    mitred = np.mean((1 - 2 * uniform) * (legs + 1 - uniform)) / 2
    return mitred - moment / into.sum() / cells**2


def test_shift_at_a_right_angle():
    # The error falls with the cell's size: 12 and 24 cells a width, carried on to none.
    coarse, fine = corner_moment(12), corner_moment(24)
    assert 2 * fine - coarse == pytest.approx(CORNER_SHIFT * np.pi / 2, rel=0.03)


def test_crowding_grows_with_the_square_of_the_width():
    narrow, wide = (
        crowding(mitred_strips(polygon_spiral(4, 3, 5.0, 1.0, Section(width=w)))) for w in (0.2, 0.4)
    )
    assert wide == pytest.approx(4 * narrow)
    assert crowding(mitred_strips(polyline(np.array([0, 1, 2]), Section(width=0.2)))) == 0.0


def test_crowding_in_a_ring_bounds_that_of_its_real_current():
    # Current in proportion to 1/r leaves width^2 / 12 a radian; half of that share lowers the inductance.
    width, radius = 1.0, 5.0
    share = crowding(mitred_strips(loop(radius, Section(width=width))))
    assert share > 0.5 * (2 * np.pi * width**2 / 12) / (np.pi * radius**2)


def test_vias_cost_by_the_board_they_cross():
    strips = mitred_strips(polygon_spiral(4, 2, 5.0, 1.0, Section(width=0.2, heights=(0.0, -0.2, -1.6))))
    assert vias(strips) == pytest.approx(0.5e-6 * 1.6 * MM)


def test_few_turns_as_rings_are_less_exact():
    assert rings_error(1, 1, 1.0) == pytest.approx(3 * rings_error(10**9, 1, 1.0), rel=1e-5)
    assert rings_error(10, 1, 1e-8) > rings_error(10, 1, 1e-6)
