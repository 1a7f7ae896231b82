"""A core's faces without those in air: the charges they make, and what these do, on a whole grid."""

import numpy as np
import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_charges import charges, split
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.magnetisation_curve import saturating_curve
from coilgen.physics.core.soft_core import core

CURVE = saturating_curve(500.0, 0.3)
ROD = Body(form="rod", size=(3e-3, 3e-3), thickness=4e-3, bottom=0.5e-3)
SHEET = Body(form="plate", size=(12e-3, 9e-3), thickness=0.1e-3, bottom=-0.4e-3)
AT = (-4.5e-3, 0.0), (4.5e-3, 1.5e-3)


@pytest.fixture(scope="module", params=["a rod over a sheet", "two rods apart"])
def one(request):
    rods = tuple(Body(form="rod", size=(3e-3, 3e-3), thickness=4e-3, bottom=0.0, centre=at) for at in AT)
    bodies = (SHEET, ROD) if "sheet" in request.param else rods
    return core(brick_grid(bodies, 0.5e-3), (CURVE,) * 2)


def test_faces_in_air_are_left_out(one):
    assert len(one.packing().faces) == one.active.sum() < 0.5 * len(one.active)
    told = np.random.default_rng(1).normal(size=one.active.shape)
    assert np.array_equal(one.spread(one.pack(told)), told * one.active)


def test_charges_are_those_of_the_grid(one):
    """Each kind's in a row, and none in sum."""
    m = one.active * np.random.default_rng(2).normal(size=one.active.shape)
    every = charges(one.grid, one.outer, split(one.grid, m))
    stands = [one.grid.filled, *(sheet != 0.0 for sheet in (one.outer.x, one.outer.y, one.outer.z))]
    expected = np.concatenate([each[where] for each, where in zip(every, stands, strict=True)])
    found = one.packing().to_charges @ one.pack(m)
    assert found == pytest.approx(expected, abs=1e-12 * np.abs(expected).max())
    assert abs(found.sum()) < 1e-10 * np.abs(found).sum()


def test_what_charges_do_is_mutual_and_never_negative(one):
    rng = np.random.default_rng(3)
    first, second = rng.normal(size=(2, len(one.packing().faces)))
    by_first, by_second = (one.packed.demagnetising(each) for each in (first, second))
    assert first @ by_second == pytest.approx(second @ by_first, rel=1e-9)
    assert first @ by_first > 0.0


def test_what_two_charges_do_is_told_by_place(one):
    if one.between.far is not None:
        pytest.skip("of several windows")
    charge = one.packing().to_charges
    m = np.random.default_rng(4).normal(size=charge.shape[1])
    found = charge.T @ (one.between.of_each @ (charge @ m))
    assert found == pytest.approx(one.packed.demagnetising(m), rel=1e-9, abs=1e-9 * np.abs(found).max())


def test_each_seat_holds_one_charge(one):
    seats, rows = one.between.seats
    assert len(np.unique(seats)) == len(seats) == one.packing().to_charges.shape[0]
    assert np.all(rows.reshape(-1)[seats // (one.between.places[1] + 1)])
