"""The error that two grids tell holds against a finer one: added inductances and pulls of twelve designs."""

import numpy as np
import pytest
from core_cases import flat_loops, pull_on_target
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.effect import core_effect
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.on_grid import set_up
from coilgen.physics.core.saturation import onset_error, saturation_current
from coilgen.physics.core.two_grids import COARSER

ABOVE = np.array([[0.0, 0.0, 3e-3]])
FERRITE, SHEET, STEEL = straight_curve(2300.0), saturating_curve(150.0, 0.3), straight_curve(500.0)


def body(form, across, thickness, bottom, *, deep=None, hole=0.0):
    """Measures in mm."""
    size = (across * 1e-3, (deep or across) * 1e-3)
    return Body(form=form, size=size, thickness=thickness * 1e-3, bottom=bottom * 1e-3, hole=hole * 1e-3)


BEHIND = {
    "ferrite plate": (body("plate", 11, 1.0, -1.5), FERRITE, 0.6e-3),
    "thin sheet": (body("plate", 12, 0.2, -0.5), SHEET, 0.5e-3),
    "iron disc": (body("disc", 12, 1.0, -1.5), STEEL, 0.6e-3),
    "ring": (body("ring", 12, 0.8, -1.3, hole=5), FERRITE, 0.5e-3),
    "small plate": (body("plate", 5, 0.5, -1.0), STEEL, 0.3e-3),
    "rod": (body("rod", 4, 4.0, -4.5), STEEL, 0.4e-3),
}
TOGETHER = {
    "rod and plate": (body("rod", 4, 1.5, -1.6), body("plate", 11, 1, -2.7)),
    "disc and bar": (body("disc", 9, 0.6, -1.0), body("plate", 10, 0.5, 0.3, deep=3)),
    "plate and bar": (body("plate", 11, 0.6, -1.0), body("plate", 10, 0.4, 0.25, deep=3.3)),
}
HELD = {
    "disc": (body("disc", 9, 1.5, 0.3), (), 0.6e-3),
    "bar": (body("plate", 12, 1.0, 0.4, deep=3), (), 0.5e-3),
    "ring": (body("ring", 10, 1.0, 0.3, hole=4), (), 0.5e-3),
    "plate before a plate": (body("plate", 11, 1.0, 0.35), (body("plate", 11, 1.0, -1.5),), 0.8e-3),
    "disc before a disc": (body("disc", 8, 1.0, 0.5), (body("disc", 12, 0.5, -1.0),), 0.6e-3),
    "bar close to a rod": (body("plate", 12, 1.0, 0.2, deep=4), (body("rod", 4, 2.0, -1.9),), 0.5e-3),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", BEHIND)
def test_the_band_of_an_inductance_holds_that_of_a_finer_grid(name):
    one, curve, cell = BEHIND[name]
    rough, fine = (
        core_effect(flat_loops(), (one,), (curve,), current=1.0, cell=size, probes=ABOVE)
        for size in (cell, cell / 2)
    )
    assert abs(rough.added_inductance - fine.added_inductance) < rough.added_inductance_error
    assert rough.added_inductance_error < 0.045 * rough.added_inductance


@pytest.mark.slow
@pytest.mark.parametrize("name", TOGETHER)
def test_of_bodies_whose_outlines_do_not_fit_the_cells_too(name):
    rough, fine = (
        core_effect(flat_loops(), TOGETHER[name], (STEEL,) * 2, current=1.0, cell=size, probes=ABOVE)
        for size in (0.6e-3, 0.3e-3)
    )
    assert abs(rough.added_inductance - fine.added_inductance) < rough.added_inductance_error
    assert rough.added_inductance_error < 0.045 * rough.added_inductance


@pytest.mark.slow
@pytest.mark.parametrize("name", HELD)
def test_the_band_of_a_pull_holds_that_of_a_finer_grid(name):
    target, cores, cell = HELD[name]
    curves = (STEEL,) * (1 + len(cores))
    rough, fine = (
        pull_on_target(flat_loops(), target, cores, curves, current=1.0, cell=size)
        for size in (cell, cell / 2)
    )
    assert abs(rough.force - fine.force) < rough.error
    assert rough.error < 0.065 * abs(rough.force)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["ring", "rod", "small plate", "plate and bar", "rod and plate"])
def test_saturation_begins_where_a_finer_grid_has_it(name):
    bodies = TOGETHER[name] if name in TOGETHER else BEHIND[name][:1]
    cell = 0.6e-3 if name in TOGETHER else BEHIND[name][2]
    rough, fine = (
        saturation_current(set_up(flat_loops(), bodies, (SHEET,) * len(bodies), size))
        for size in (2 * cell, cell)
    )
    assert abs(fine / rough - 1) < onset_error(len(bodies))


@settings(max_examples=30)
@given(
    st.sampled_from(["plate", "disc", "ring"]),
    st.floats(1.0, 3.0),
    st.floats(4.0, 16.0),
    st.lists(st.floats(4.0, 8.0), max_size=2),
)
def test_the_two_grids_are_never_one(form, narrow, count, others):
    """However well a cell would suit all bodies: else their change, and with it the band, would be none."""
    first = body(form, narrow, 0.5, -1.0, hole=0.4 * narrow if form == "ring" else 0.0)
    bodies = (first, *(body("disc", size, 0.5, -3.0 - 2.0 * k) for k, size in enumerate(others)))
    cell = narrow * 1e-3 / count
    fine, rough = (brick_grid(bodies, size).cell[0] for size in (cell, COARSER * cell))
    assert rough > 1.15 * fine
