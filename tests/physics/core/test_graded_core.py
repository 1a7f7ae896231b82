"""Bodies on graded lines: demagnetising factors, the grid of equal cells, mirror images, fields outside."""

import numpy as np
import pytest
from graded_cells import (
    ALONG_X,
    CROSSED_Z,
    Box,
    GradedBody,
    Image,
    box_lines,
    graded_cells,
)
from graded_core import (
    applied_load,
    graded_core,
    graded_flux_density,
    graded_linkage,
    magnetised_cells,
    mean_flux_densities,
    section_flux_density,
)

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.charge_field import core_flux_density
from coilgen.physics.core.load import field_load
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised

HALF_TURN_Z = Image(flip=(-1, -1, 1), charge=1)


def block(low, high, counts, *, uneven=0.0):
    """One box, mm, in cells along x, y, z; uneven: how much they grow along it."""
    lines = []
    for a, b, n in zip(low, high, counts, strict=True):
        t = np.linspace(0, 1, n + 1)
        lines.append(1e-3 * (a + (b - a) * (t + uneven * t * (t - 1))))
    return GradedBody(
        boxes=(Box(low=tuple(1e-3 * v for v in low), high=tuple(1e-3 * v for v in high)),), lines=tuple(lines)
    )


def along(axis, strength=MU0):
    return lambda points: np.tile(strength * np.eye(3)[axis], (len(points), 1))


@pytest.mark.parametrize(
    ("size", "expected"), [((1, 1, 1), 1 / 3), ((1, 1, 5), 0.088315740), ((5, 5, 0.04), 0.971698599)]
)
def test_prisms_magnetised_along_z(size, expected):
    """A. Aharoni, Journal of Applied Physics 83, 1998, as magpylib has them (test_soft_core)."""
    one = graded_core((block((0, 0, 0), size, (4, 5, 3), uneven=0.6),), (straight_curve(2.0),))
    faces = np.zeros(one.cells.tie.shape[0])
    faces[one.cells.face[:, 4:].ravel()] = 1.0
    charge = one.cells.charge @ (one.cells.tie.T @ faces)
    factor = charge @ one.between @ charge / one.cells.volume.sum()
    assert factor == pytest.approx(expected, abs=1e-5)


def test_a_cube_of_infinite_permeability_needs_few_graded_cells():
    """3.644305 of its volume (J. Helsing and K.-M. Perfekt, 2013; value from memory).

    An eighth of ten cells a side, a third as wide at the edges, comes as near as sixteen equal ones.
    """
    fine = 0.5 * np.cumsum([0, 30, 26, 20, 15, 9])[None] / 100
    body = GradedBody(boxes=(Box(low=(0, 0, 0), high=(5e-4,) * 3),), lines=(1e-3 * fine[0],) * 3)
    one = graded_core((body,), (straight_curve(1e9),), (ALONG_X, Image(flip=(1, -1, 1), charge=1), CROSSED_Z))
    load = applied_load(one, along(2))
    state = magnetised_cells(one, load)
    assert float(load @ state.m) / one.cells.volume.sum() == pytest.approx(3.644305, rel=5e-3)


@pytest.mark.parametrize("strength", [1.0, 1e5, 1e6])
def test_equal_cells_agree_with_the_grid_of_equal_cells(strength):
    """Two plates across a gap: the same elements, their charges' energy by Fourier transforms there."""
    plates = [Body(form="plate", size=(4e-3, 4e-3), thickness=1e-3, bottom=z) for z in (0.0, 1.3e-3)]
    curves = (saturating_curve(500.0, 1.5), saturating_curve(200.0, 1.0))
    grid = core(brick_grid(tuple(plates), 0.5e-3), curves)
    theirs = magnetised(grid, strength * field_load(grid.grid, along(0)), tolerance=1e-7)
    bodies = [block((-2, -2, z), (2, 2, z + 1), (8, 8, 2)) for z in (0, 1.3)]
    one = graded_core(bodies, curves)
    ours = magnetised_cells(one, strength * applied_load(one, along(0)), tolerance=1e-7)
    per_ampere = applied_load(one, along(0))
    expected = coupled(theirs, field_load(grid.grid, along(0)))
    assert graded_linkage(ours, per_ampere) == pytest.approx(expected, rel=1e-4)
    points = 1e-3 * np.array([[0, 0, -0.2], [2.1, 0, 1.1], [9, 4, 20]])
    outside = core_flux_density(theirs, points)
    assert np.allclose(graded_flux_density(ours, points), outside, atol=1e-4 * np.abs(outside).max())


def test_the_part_and_its_images_are_the_whole():
    """A plate cut by a plane the flux crosses, with a bar on one side whose other is found by half a turn."""
    curves = (saturating_curve(500.0, 1.5),) * 3
    plate = block((-1, -1, -3), (1, 1, 3), (4, 4, 6))
    bars = [block((1.2, 0, -1), (4, 1, 1), (4, 2, 4)), block((-4, -1, -1), (-1.2, 0, 1), (4, 2, 4))]
    whole = graded_core((plate, *bars), curves)
    part = graded_core(
        (block((0, -1, 0), (1, 1, 3), (2, 4, 3)), block((1.2, 0, 0), (4, 1, 1), (4, 2, 2))),
        curves[:2],
        (HALF_TURN_Z, CROSSED_Z),
    )
    applied = along(2, 0.4)
    found = [magnetised_cells(one, applied_load(one, applied), tolerance=1e-8) for one in (whole, part)]
    linked = [graded_linkage(state, applied_load(state.core, applied)) for state in found]
    assert linked[1] == pytest.approx(linked[0], rel=1e-6)
    points = 1e-3 * np.array([[3, 2, 2], [-1, 0.4, -3.3], [0.5, -1.5, 0]])
    outside = [graded_flux_density(state, points) for state in found]
    assert np.allclose(outside[0], outside[1], atol=1e-6 * np.abs(outside[0]).max())
    sections = [[section_flux_density(state, 0, 2, z) for z in (0.0, 1e-3, 2.5e-3)] for state in found]
    assert sections[1] == pytest.approx(sections[0], rel=1e-6)
    with pytest.raises(ValueError, match="no section"):
        section_flux_density(found[1], 0, 2, 4e-3)
    flux = [np.abs(mean_flux_densities(state)[:, 2]).max() for state in found]
    assert flux[1] == pytest.approx(flux[0], rel=1e-6)


def test_a_plane_along_which_the_flux_runs():
    body, half = block((-1, -1, 0), (1, 1, 2), (4, 4, 4)), block((0, -1, 0), (1, 1, 2), (2, 4, 4))
    linked = []
    for one in (
        graded_core((body,), (straight_curve(50.0),)),
        graded_core((half,), (straight_curve(50.0),), (ALONG_X,)),
    ):
        load = applied_load(one, along(2))
        linked.append(graded_linkage(magnetised_cells(one, load, tolerance=1e-8), load))
    assert linked[1] == pytest.approx(linked[0], rel=1e-6)


def test_lines_come_together_at_a_gap():
    boxes = (Box(low=(0, 0, 0), high=(8e-3, 1e-3, 1e-3)), Box(low=(6e-3, 0, 0), high=(8e-3, 1e-3, 4e-3)))
    lines = box_lines(boxes, 0, [(8.1e-3, 0.1e-3)], 2e-3)
    assert {0.0, 6e-3, 8e-3} <= {round(float(x), 12) for x in lines}
    assert np.diff(lines)[-1] < 0.3e-3 < 1e-3 < np.diff(lines).max() < 2.5e-3


def test_bodies_that_cannot_be():
    with pytest.raises(ValueError, match="at least one body"):
        graded_cells(())
    box = Box(low=(0, 0, 0), high=(1e-3, 1e-3, 1e-3))
    short = (np.array([0, 0.5e-3]), *(np.array([0, 1e-3]),) * 2)
    with pytest.raises(ValueError, match="body 0 is not where its lines are"):
        graded_cells((GradedBody(boxes=(box,), lines=short),))
    beside = (np.array([2e-3, 3e-3]), *(np.array([0, 1e-3]),) * 2)
    with pytest.raises(ValueError, match="body 0 holds no cell"):
        graded_cells((GradedBody(boxes=(box,), lines=beside),))
