"""Cores at windings of all shapes: a wide plate of high permeability is a mirror."""

from dataclasses import replace

import numpy as np
import pytest
from core_cases import case, core, shaped
from designs import SHAPES

from coilgen.physics.field.biot_savart import filaments
from coilgen.physics.field.filaments import together
from coilgen.physics.inductance.facing import linkage_apart

SIZES = {
    "rectangular": "outer_size = [20, 9]",
    "racetrack": "outer_size = [20, 9]",
    "oval": "outer_size = [20, 11]",
    "other": "outer_size = 12",
    "wedge": "inner_radius = 8\nouter_radius = 22\nangle = 45",
}


@pytest.mark.parametrize(
    "shape", ["wedge", *(pytest.param(each, marks=pytest.mark.slow) for each in SHAPES if each != "wedge")]
)
def test_a_wide_plate_is_a_mirror(shape):
    """(mu - 1) / (mu + 1) of the flux of the image (Jackson, 5.10 and its problems); mu is large."""
    plate = core("soft iron", form="plate", width=50, depth=40, thickness=3, place="bottom")
    found = case(shaped(shape, SIZES, width=0.3), plate)
    whole = together([filaments(strand.conductor) for strand in found.strands])
    (top,) = (standing.top for standing in found.design.stand.standing)
    mirror, shift = np.array([1.0, 1.0, -1.0]), np.array([0.0, 0.0, 2 * top])
    image = replace(whole, start=whole.start * mirror + shift, end=whole.end * mirror + shift)
    added = found.value("inductance_in_place") - found.value("inductance")
    assert 0.95 < added / linkage_apart(whole, image) < 1.0, "the plate ends, and its permeability does"
