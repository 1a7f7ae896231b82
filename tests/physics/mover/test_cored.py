"""Cores in the coils that a mover passes: laws of forces and fluxes, and other solvers' values."""

from dataclasses import replace

import numpy as np
import pytest
from magnet_cases import magnet_flux_density
from mover_cases import HIGH, LOW, POLES, REMANENCE, ring_of, wedge_coil

from coilgen.physics.base.constants import MU0
from coilgen.physics.core import charge_field
from coilgen.physics.core.body import Body
from coilgen.physics.core.charge_field import boxes_flux_density
from coilgen.physics.core.load import field_load, winding_load
from coilgen.physics.core.magnet_force import forces_with_core
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.soft_core import core, magnetised
from coilgen.physics.field.filaments import together
from coilgen.physics.mover.cored import along_row, passed, pull, ring_cogging, stator, with_harmonics
from coilgen.physics.mover.images import images
from coilgen.physics.mover.magnets import Magnets, circle, end_faces, with_images
from coilgen.physics.mover.pocket import pocket
from coilgen.physics.mover.pockets import in_row, on_ring
from coilgen.physics.mover.potential import scalar_potential
from coilgen.physics.mover.ring import ring_harmonics
from coilgen.physics.mover.waves import ring_waves, row_waves

COILS, CELL = 9, 0.6e-3
IRON, FERRITE = straight_curve(1000.0), saturating_curve(2000.0, 0.45)
AT = (15e-3, 0.0)
ROD = Body(form="rod", size=(3e-3, 3e-3), thickness=2.5e-3, bottom=-2.5e-3, centre=AT)


def turning(curve=IRON, coils=COILS, below=None, above=None, lift=0.0, rod=ROD):
    """Rods under eight discs, with iron plates below the rods and behind the discs."""
    one = pocket((rod,), (curve,), CELL)
    ring = on_ring(coils, POLES, 24)
    sheets = with_images(((LOW + lift, HIGH + lift),), below, above, 30e-3)
    waves = ring_waves(one.carriers, ring_of("disc", sheets), POLES)
    return stator(one, ring, images(below, above, 30e-3)), ring, waves


@pytest.fixture(scope="module")
def iron():
    return passed(*turning())


def ring_sum(found, values):
    """What all pockets do together at each place of the mover."""
    return sum(values[other.states] for other in found.pockets.others)


@pytest.mark.parametrize("below, above", [(None, None), (-2.55e-3, 4e-3)])
def test_cogging_is_the_slope_of_the_coenergy_and_comes_back_with_every_coil_and_pole(below, above):
    of, ring, waves = turning(below=below, above=above)
    found = passed(of, ring, waves)
    coenergy = -0.5 * MU0 * ring_sum(found, np.sum(found.charge * waves.at(ring.places), axis=0))
    count = len(coenergy)
    phasors = np.fft.rfft(coenergy)
    slope = np.fft.irfft(phasors * 1j * POLES * np.arange(len(phasors)), count)
    cogging = ring_sum(found, found.force)
    assert slope == pytest.approx(cogging, abs=1e-4 * np.abs(cogging).max())
    assert abs(cogging.mean()) < 1e-6 * np.abs(found.force).max()
    places = 2 * np.pi / POLES * np.arange(360) / 360
    told = ring_cogging(found, COILS, POLES, places)
    assert told[::10] == pytest.approx(cogging, abs=0.02 * np.abs(cogging).max())
    # Least common multiple of 9 and 8: 72 periods a turn, 9 from pole to pole.
    assert told[:40] == pytest.approx(told[40:80], rel=1e-6, abs=1e-9 * np.abs(told).max())


def test_waves_of_many_images_in_a_narrow_gap_are_the_sum_over_their_end_faces():
    """Each face's potential at its carriers' points, all sampled as finely as the nearest."""
    one = pocket((ROD,), (IRON,), CELL)
    lift = -0.8e-3  # 0.2 mm above the rods
    sheets = with_images(((LOW + lift, HIGH + lift),), -2.6e-3, HIGH + lift, 30e-3)
    magnets = ring_of("disc", sheets)
    place = 0.1
    told = ring_waves(one.carriers, magnets, POLES).at(np.array([place]))[:, 0]
    some = np.arange(0, len(told), 31)
    at, size = one.carriers.at[some], one.carriers.size[some]
    c, s = np.cos(place), np.sin(place)
    expected = np.zeros(len(some))
    nodes = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)]) / np.sqrt(12.0)
    for node in nodes:
        points = (at + node * size) @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
        for n, (x, y, z) in enumerate(points):
            found = scalar_potential(np.array([[x, y]]), z, magnets, end_faces(sheets), 0.2e-3)
            expected[n] += float(found[0]) / len(nodes)
    assert len(sheets) > 10
    assert told[some] == pytest.approx(expected, abs=2e-5 * np.abs(expected).max())


@pytest.mark.parametrize("coils, periods", [(6, 3), (12, 3), (8, 1)])
def test_periods_of_cogging_from_pole_to_pole(coils, periods):
    """The least common multiple of coils and poles, over the poles."""
    found = passed(*turning(coils=coils))
    phasors = np.abs(np.fft.rfft(ring_sum(found, found.force)))
    assert phasors[periods] > 0.1 * phasors.max()
    assert np.delete(phasors, slice(None, None, periods)).max(initial=0.0) < 1e-6 * phasors.max()


def discs_charges(place):
    """Points and charges of the end faces of eight discs, turned by an angle."""
    node, weight = np.polynomial.legendre.leggauss(12)
    radius, around = 2.5e-3 * (1 + node), 2 * np.pi * (np.arange(64) + 0.5) / 64
    face = (radius[:, None] * np.exp(1j * around)).ravel()
    area = np.repeat(weight * 2.5e-3 * radius * 2 * np.pi / 64, 64)
    points, charges = [], []
    for k in range(POLES):
        at = (face + 15e-3) * np.exp(1j * (2 * np.pi * k / POLES + place))
        for height, sign in ((LOW, -1), (HIGH, 1)):
            points.append(np.column_stack([at.real, at.imag, np.full(len(at), height)]))
            charges.append(sign * (1 - 2 * (k % 2)) * REMANENCE / MU0 * area)
    return np.concatenate(points), np.concatenate(charges)


def test_what_cores_do_to_the_mover_is_what_their_field_does_to_its_charges(monkeypatch):
    """Third law: told is the torque on the cores in the mover's field; here, on the magnets in the cores'.

    As is usual farther boxes count as points, which costs 0.5 % of a torque that is a small difference.
    """
    monkeypatch.setattr(charge_field, "_FAR", 100.0)
    of, ring, waves = turning(coils=1)
    found = passed(of, ring, waves)
    state, carriers = 7, of.pocket.carriers
    size = np.maximum(carriers.size, 1e-4 * carriers.size.max())
    boxes = np.column_stack([carriers.at, size, found.charge[:, state]])
    points, charges = discs_charges(ring.places[state])
    force = charges[:, None] * boxes_flux_density(boxes, points)
    torque = np.sum(points[:, 0] * force[:, 1] - points[:, 1] * force[:, 0])
    assert torque == pytest.approx(found.force[state], rel=2e-4)
    step = 2e-5
    ends = [(other, near) for other, _, near in (turning(coils=1, lift=move) for move in (-step, step))]
    assert -force[:, 2].sum() == pytest.approx(pull(found, *ends, 2 * step)[state], rel=2e-3)


@pytest.mark.parametrize("curve", [IRON, FERRITE])
def test_one_magnet_beside_one_core_is_pushed_as_the_single_magnet_s_solver_has_it(curve):
    rod = replace(ROD, centre=(0.0, 0.0))
    one = pocket((rod,), (curve,), CELL)
    disc = Magnets(outlines=(circle(0j, 4e-3),), signs=(1,), polarisation=1.2, sheets=((1.2e-3, 4.2e-3),))
    row = in_row(1, 10e-3, 1, 1e-3 * np.arange(-4.0, 5.0))
    waves = row_waves(one.carriers, disc, 1, 10e-3, 4e-3)
    of = stator(one, row)
    found = passed(of, row, waves)
    magnet = Magnet(form="disc", size=(8e-3, 8e-3), height=3e-3, remanence=1.2, centre=(0, 0, 2.7e-3))
    whole = core(one.grid, (curve,))
    away = together([wedge_coil()])
    moves = np.array([[3e-3, 0, 0], [1e-3, 0, 0]])
    wanted, _, _ = forces_with_core(away, whole, np.zeros_like(whole.active), magnet, moves, 0.0)
    assert found.force[[7, 5]] == pytest.approx(wanted[:, 0], rel=5e-3)
    step = 1e-5
    ends = [
        (of, row_waves(one.carriers, replace(disc, sheets=((1.2e-3 + lift, 4.2e-3 + lift),)), 1, 10e-3, 4e-3))
        for lift in (-step, step)
    ]
    assert pull(found, *ends, 2 * step)[[7, 5]] == pytest.approx(-wanted[:, 2], rel=5e-3)
    # The force the other way on the other side.
    assert found.force[::-1] == pytest.approx(-found.force, abs=1e-6 * np.abs(found.force).max())
    applied = field_load(one.grid, lambda points: magnet_flux_density(magnet, points))
    alone = magnetised(whole, applied, tolerance=1e-7).m[one.face]
    assert found.m[:, 4] == pytest.approx(alone, abs=5e-3 * np.abs(alone).max())


def test_flux_of_coils_far_apart_is_that_of_each_with_its_own_core():
    rod = replace(ROD, centre=(0.0, 0.0))
    one, places = pocket((rod,), (IRON,), CELL), 2e-3 * np.arange(-3.0, 4.0)
    disc = Magnets(outlines=(circle(0j, 4e-3),), signs=(1,), polarisation=1.2, sheets=((1.2e-3, 4.2e-3),))
    coil = wedge_coil()
    coil = replace(coil, start=coil.start - [*AT, 0], end=coil.end - [*AT, 0])
    told = []
    for count in (1, 2):
        row = in_row(count, 0.2, 1, places)
        waves = row_waves(one.carriers, disc, 1, 10e-3, float(np.abs(row.places).max()))
        found = passed(stator(one, row), row, waves)
        told.append(found.linkage(coil, coil))
    load = winding_load(one.grid, coil)[one.face]
    assert told[0] == pytest.approx(MU0 * load @ found_of_one(one, disc, places), rel=1e-9)
    # A magnet that stays about the middle of two far coils hardly reaches either.
    assert np.abs(told[1]).max() < 1e-3 * np.abs(told[0]).max()


def found_of_one(one, disc, places):
    row = in_row(1, 0.2, 1, places)
    return passed(stator(one, row), row, row_waves(one.carriers, disc, 1, 10e-3, 6e-3)).m


def test_cores_of_air_do_nothing(iron):
    found = passed(*turning(straight_curve(1.0 + 1e-6)))
    coil = wedge_coil()
    assert np.abs(found.linkage(coil, coil)).max() < 1e-5 * np.abs(iron.linkage(coil, coil)).max()
    assert np.abs(found.force).max() < 1e-5 * np.abs(iron.force).max()


def test_core_flux_joins_the_coil_s_own_as_its_harmonics(iron):
    coil = wedge_coil()
    own = ring_harmonics(coil, ring_of("disc"), POLES, 1.7e-8)
    half = iron.linkage(coil, coil)
    orders, flux = with_harmonics(own, half)
    places = iron.pockets.places
    bare = (np.exp(-1j * np.outer(places, own.orders)) @ own.linkage).real
    whole = (np.exp(-1j * np.outer(places, orders)) @ flux).real
    assert whole - bare == pytest.approx(half, abs=1e-9 * np.abs(half).max())
    # A core leads the magnet's flux where it has it.
    assert np.corrcoef(half, bare)[0, 1] > 0.95


@pytest.mark.slow
def test_a_plate_behind_a_rod_is_as_an_image_and_as_a_body():
    """A plate of high permeability in the solver for one magnet; of 24 mm it draws 4 % less, of 36 mm 2 %."""
    rod = replace(ROD, centre=(0.0, 0.0))
    plate = Body(form="disc", size=(24e-3, 24e-3), thickness=1e-3, bottom=-3.6e-3)
    disc = Magnets(outlines=(circle(0j, 4e-3),), signs=(1,), polarisation=1.2, sheets=((1.2e-3, 4.2e-3),))
    one, row = pocket((rod,), (IRON,), CELL), in_row(1, 10e-3, 1, 1e-3 * np.arange(-2.0, 3.0))

    def beside(lift):
        sheets = with_images(((1.2e-3 + lift, 4.2e-3 + lift),), -2.6e-3, None, 0.03)
        waves = row_waves(one.carriers, replace(disc, sheets=sheets), 1, 10e-3, 2e-3)
        return stator(one, row, images(-2.6e-3, None, 0.03)), waves

    of, waves = beside(0.0)
    found = passed(of, row, waves)
    gained = pull(found, beside(-1e-5), beside(1e-5), 2e-5)[2]
    magnet = Magnet(form="disc", size=(8e-3, 8e-3), height=3e-3, remanence=1.2, centre=(0, 0, 2.7e-3))
    bodies = (rod, plate)
    forces = []
    for some in (bodies, (plate,)):
        grid = pocket(some, (IRON,) * len(some), CELL).grid
        whole = core(grid, (IRON,) * len(some))
        at_rest, _, _ = forces_with_core(
            wedge_coil(), whole, np.zeros_like(whole.active), magnet, np.zeros((1, 3)), 0.0
        )
        forces.append(-at_rest[0, 2])
    assert gained == pytest.approx(1.036 * (forces[0] - forces[1]), rel=0.01)


def test_values_of_a_row_between_its_places():
    at = np.linspace(-1.0, 1.0, 21)
    states = np.concatenate([np.sin(at), np.cos(at)])
    places = np.array([-0.33, 0.41])
    assert along_row(states, at, places)[0] == pytest.approx(np.sin(places), abs=1e-7)
    assert along_row(states, at, places, slope=1)[1] == pytest.approx(-np.sin(places), abs=1e-6)
