"""Back plates of a width and a permeability, by the core solver, beside images in planes without end."""

import numpy as np
import pytest
from mover_cases import HIGH, LOW, field_of, loops, ring_of, ring_sources, wedge_coil

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.load import field_load, winding_load
from coilgen.physics.core.magnetisation_curve import straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.mover.magnets import Magnets, rectangle, with_images
from coilgen.physics.mover.ring import ring_harmonics
from coilgen.physics.mover.row import passing, row

pytestmark = pytest.mark.slow
COPPER = 1.7e-8
BAND = 0.05
"""Of what plates add, that their bands tell."""


def added(body, sources, path):
    """Flux, Wb, that a plate of permeability 2000 adds to a coil, in magpylib's field of the magnets."""
    grid = brick_grid((body,), 1e-3)
    state = magnetised(
        core(grid, (straight_curve(2000.0),)), field_load(grid, lambda points: field_of(sources, points))
    )
    return coupled(state, winding_load(grid, path))


@pytest.mark.parametrize(("form", "thickness", "over"), [("segment", 2e-3, 1e-3), ("disc", 1.5e-3, 0.5e-3)])
def test_a_ring_plate_behind_a_ring_of_magnets(form, thickness, over):
    path, mirrored = wedge_coil(), with_images(((LOW, HIGH),), None, HIGH, 0.06)
    bare, whole = (
        float(ring_harmonics(path, each, 8, COPPER).linkage.real.sum())
        for each in (ring_of(form), ring_of(form, mirrored))
    )
    size, hole = 40e-3 + 2 * over, 20e-3 - 2 * over
    body = Body(form="ring", size=(size, size), thickness=thickness, bottom=HIGH + 1e-6, hole=hole)
    assert added(body, ring_sources(form), path) == pytest.approx(whole - bare, rel=BAND)


def test_a_plate_behind_a_row_of_magnets():
    import magpylib

    at, polarisation = 5e-3, 1.3
    corners = [
        share * np.array([-6e-3 - 12e-3j, 6e-3 - 12e-3j, 6e-3 + 12e-3j, -6e-3 + 12e-3j]) for share in (0.4, 1)
    ]
    path = loops(corners, [-0.1e-3, -1.5e-3])

    def flux(sheets):
        one = Magnets(
            outlines=(rectangle(0j, 8e-3, 20e-3),), signs=(1,), polarisation=polarisation, sheets=sheets
        )
        return float(row(passing(path, one, 10e-3, 40e-3, COPPER), 4, 10e-3).linkage(np.array([at]))[0])

    sources = [
        magpylib.magnet.Cuboid(
            polarization=(0, 0, (-1) ** k * polarisation),
            position=(10e-3 * (k - 1.5) + at, 0, (LOW + HIGH) / 2),
            dimension=(8e-3, 20e-3, HIGH - LOW),
        )
        for k in range(4)
    ]
    body = Body(form="plate", size=(42e-3, 22e-3), thickness=2.5e-3, bottom=HIGH + 1e-6, centre=(at, 0.0))
    images = flux(with_images(((LOW, HIGH),), None, HIGH, 0.2)) - flux(((LOW, HIGH),))
    assert added(body, sources, path) == pytest.approx(images, rel=BAND)
