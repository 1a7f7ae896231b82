"""All metal near a winding: which method, and plates that are not round against a solution in space."""

import numpy as np
import pytest
from edge_elements import Block, added_inductances
from metal_cases import INNER, MM, circle_path

from coilgen.physics.base.graded_lines import Fine, graded_lines
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnetisation_curve import straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.metal.near_coil import MetalBody, metal_near_coil
from coilgen.physics.metal.relaxation import added_impedance, added_inductance

PATH = circle_path(INNER)


def plate(width, depth, **facts):
    given = {"conductivity": 6e6, "permeability": 1000.0, "thickness": MM, "bottom": -1.3 * MM} | facts
    return MetalBody(round=False, size=(width, depth), **given)


def at_rest(body):
    brick = Body(form="plate", size=body.size, thickness=body.thickness, bottom=body.bottom)
    one = core(brick_grid((brick,), 0.5 * MM), (straight_curve(body.permeability),))
    load = winding_load(one.grid, PATH)
    return coupled(magnetised(one, load), load)


def of_blocks(body, frequency):
    """Edge elements, scaled to the same inductance at rest: their coarse mesh takes some per cent of it."""
    block = Block(
        half=(body.size[0] / 2, body.size[1] / 2),
        bottom=body.bottom,
        top=body.top,
        conductivity=body.conductivity,
        permeability=body.permeability,
    )
    across = [
        graded_lines(
            [
                Fine(low=half, high=half, spacing=0.1 * MM),
                Fine(low=0.0, high=min(half, 10 * MM), spacing=max(1.7 * MM * half / (12 * MM), 0.9 * MM)),
            ],
            0.0,
            80 * MM,
        )
        for half in block.half
    ]
    upward = [Fine(low=z, high=z, spacing=0.05 * MM) for z in (block.bottom, block.top)]
    lines = (*across, graded_lines(upward, -80 * MM, 80 * MM))
    return added_inductances(block, [(a, 0.0) for a in INNER.radius], lines, frequency)


@pytest.mark.slow
@pytest.mark.parametrize("depth", [24 * MM, 8 * MM])
def test_iron_plate_that_is_not_round(depth):
    """A square and a bar of iron of a third its depth, within the bands that are told."""
    body, frequency = plate(24 * MM, depth), np.array([1.0, 1e4])
    rest = at_rest(body)
    found = metal_near_coil([body], PATH, 10.0, 1e5, round_winding=True, at_rest=rest)
    exact = of_blocks(body, frequency)
    exact *= rest / exact[0].real
    added = added_inductance(found.relaxation, frequency)
    assert found.method == "equal area"
    assert np.abs(added.real - exact.real).max() < found.inductance_error * rest
    resistance = added_impedance(found.relaxation, frequency).real[1:]
    assert resistance == pytest.approx(-2 * np.pi * (frequency * exact.imag)[1:], rel=found.resistance_error)


def test_methods():
    round_disc = MetalBody(
        round=True, size=(24 * MM, 24 * MM), bottom=-2 * MM, thickness=MM, conductivity=25e6
    )
    for bodies, winding, method in (
        ([round_disc], True, "round"),
        ([round_disc], False, "sheets"),
        ([round_disc, plate(10 * MM, 10 * MM, bottom=MM)], True, "equal area"),
    ):
        assert metal_near_coil(bodies, PATH, 1e2, 1e3, round_winding=winding).method == method


def test_the_methods_agree_on_a_disc():
    """Finite elements with rings, sheets with the path: 2 %, as their errors tell."""
    disc = MetalBody(round=True, size=(24 * MM, 24 * MM), bottom=-1.3 * MM, thickness=MM, conductivity=25e6)
    frequency = np.array([3e2, 1e4])
    one, other = (
        added_inductance(metal_near_coil([disc], PATH, 1e2, 1e5, round_winding=winding).relaxation, frequency)
        for winding in (True, False)
    )
    assert np.abs(one - other).max() < 0.02 * np.abs(one).max()
    assert other.imag == pytest.approx(one.imag, rel=0.03)
