"""Magnets beside the winding: magpylib's fields, Newton's and Earnshaw's laws, image of a plate."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from magnet_cases import MAGNETS, magnet_flux_density, magpylib_source

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.charge_field import boxes_flux_density
from coilgen.physics.core.load import field_load, winding_load
from coilgen.physics.core.magnet_force import (
    force_on_magnet,
    force_with_core,
    forces_on_magnet,
    forces_with_core,
    pole_charges,
)
from coilgen.physics.core.magnet_side import Magnet, magnet_side
from coilgen.physics.core.magnetisation_curve import straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.filaments import Filaments, dipole_moment, refined


def coil(turns=4, inner=3e-3, pitch=0.4e-3, sides=72):
    """Closed flat loops in series as plain filaments."""
    angle = 2 * np.pi * np.arange(sides) / sides
    parts = []
    for k in range(turns):
        ring = (inner + k * pitch) * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
        parts.append((ring, np.roll(ring, -1, axis=0)))
    start, end = (np.vstack(p) for p in zip(*parts, strict=True))
    bare = np.zeros(len(start))
    return Filaments(start=start, end=end, width=bare, thickness=bare)


@pytest.mark.parametrize("name", MAGNETS)
def test_force_is_the_reaction_to_the_coils(name):
    """Newton's third law, magpylib's closed form: minus the sum of I dl x B on the turns, and its torque."""
    magnet = MAGNETS[name]
    path = refined(coil(), 0.1e-3)
    step, middle = path.end - path.start, 0.5 * (path.start + path.end)
    each = -np.cross(step, magpylib_source(magnet).getB(middle))
    ours = force_on_magnet(coil(), magnet)
    scale = np.linalg.norm(each.sum(axis=0))
    assert np.allclose(ours.force, each.sum(axis=0), atol=1e-3 * scale)
    torque = np.cross(middle - np.array(magnet.centre), each).sum(axis=0)
    assert np.allclose(ours.torque, torque, atol=1e-3 * max(np.linalg.norm(torque), 1e-3 * scale))


@pytest.mark.parametrize("name", MAGNETS)
def test_field_of_the_magnet(name):
    magnet = MAGNETS[name]
    points = np.array(magnet.centre) + np.array([[0, 0, 4e-3], [6e-3, 1e-3, 0], [-4e-3, 5e-3, 2e-3]])
    theirs = magpylib_source(magnet).getB(points)
    assert np.allclose(magnet_flux_density(magnet, points), theirs, atol=1e-3 * np.abs(theirs).max())


@pytest.mark.parametrize("name", MAGNETS)
def test_charges_cancel_and_have_the_magnets_moment(name):
    magnet = MAGNETS[name]
    where, charge = pole_charges(magnet)
    area = (
        magnet.size[0] * magnet.size[1]
        if magnet.form == "block"
        else np.pi / 4 * (magnet.size[0] ** 2 - magnet.hole**2)
    )
    moment = magnet.remanence / (4e-7 * np.pi) * area * magnet.height
    direction = np.array(magnet.pole) / np.linalg.norm(magnet.pole)
    assert abs(charge.sum()) < 1e-10 * np.abs(charge).sum()
    assert np.allclose(charge @ where, moment * direction, atol=1e-9 * moment)


def test_small_magnet_far_away_feels_the_gradient_of_a_dipole():
    """3 mu0 m1 m2 / 2 pi z^4 for two coaxial dipoles, attracted where both point the same way."""
    far = 80e-3
    magnet = Magnet(form="disc", size=(1e-3, 1e-3), height=1e-3, remanence=1.0, centre=(0, 0, far))
    moment = 1.0 / (4e-7 * np.pi) * np.pi / 4 * 1e-9
    expected = -6e-7 * moment * dipole_moment(coil())[2] / far**4
    assert force_on_magnet(coil(), magnet).force[2] == pytest.approx(expected, rel=1e-2)


@given(st.floats(-3, 3), st.floats(-3e-3, 3e-3), st.floats(-3e-3, 3e-3))
@settings(max_examples=8, deadline=None)
def test_bare_coil_reverses_the_force_with_the_current(current, x, y):
    magnet = MAGNETS["disc"]
    one = force_on_magnet(coil(), magnet, current)
    assert np.allclose(one.force, -force_on_magnet(coil(), magnet, -current).force)
    moved, _ = forces_on_magnet(coil(), magnet, np.array([[x, y, 0], [-x, y, 0]]))
    scale = np.abs(moved).max()
    assert np.allclose(moved[0] * [-1, 1, 1], moved[1], atol=2e-3 * scale)


def test_stiffnesses_add_up_to_nothing():
    """Earnshaw: the force constants' divergence in position vanishes."""
    h = 0.05e-3
    magnet = MAGNETS["block"]
    force, _ = forces_on_magnet(coil(), magnet, h * np.vstack([np.eye(3), -np.eye(3)]))
    slopes = [(force[k, k] - force[k + 3, k]) / (2 * h) for k in range(3)]
    assert abs(sum(slopes)) < 2e-3 * np.abs(slopes).max()


def test_magnet_over_a_wide_iron_plate_is_drawn_to_its_image():
    """Image charges of weight (mu - 1) / (mu + 1) in a half space; textbook electrostatics of dielectrics."""
    magnet = Magnet(form="disc", size=(4e-3, 4e-3), height=2e-3, remanence=1.2, centre=(0, 0, 2.5e-3))
    plate = Body(form="plate", size=(24e-3, 24e-3), thickness=4e-3, bottom=-4e-3)
    one = core(brick_grid((plate,), 1e-3), (straight_curve(1000.0),))
    load = winding_load(one.grid, coil())
    found = force_with_core(coil(), one, 0.0 * load, magnet, 1.0).at_rest.force
    where, charge = pole_charges(magnet)
    image = np.column_stack([where * [1, 1, -1], np.zeros((len(where), 3)), -charge * 999 / 1001])
    expected = (charge[:, None] * boxes_flux_density(image, where)).sum(axis=0)
    assert expected[2] < 0
    assert found[2] == pytest.approx(expected[2], rel=1e-2)
    assert np.abs(found[:2]).max() < 1e-3 * abs(found[2])


def test_with_a_core_the_magnet_is_drawn_whatever_the_sign():
    """A weak current leaves the pull to the core; its odd part grows with the core behind the coil."""
    magnet = Magnet(form="disc", size=(4e-3, 4e-3), height=2e-3, remanence=1.2, centre=(0, 0, 2e-3))
    plate = Body(form="plate", size=(12e-3, 12e-3), thickness=1e-3, bottom=-1.5e-3)
    one = core(brick_grid((plate,), 1e-3), (straight_curve(1000.0),))
    found = force_with_core(coil(), one, winding_load(one.grid, coil()), magnet, 0.5)
    assert found.at_rest.force[2] < 0
    assert found.forward.force[2] < 0
    assert found.backward.force[2] < 0
    bare = 0.5 * force_on_magnet(coil(), magnet).force[2]
    assert 1.0 < found.odd[2] / bare < 2.0
    even = 0.5 * (found.forward.force + found.backward.force)[2]
    assert even == pytest.approx(found.at_rest.force[2], rel=1e-5)


def plate_and_load():
    plate = Body(form="plate", size=(12e-3, 12e-3), thickness=1e-3, bottom=-1.5e-3)
    one = core(brick_grid((plate,), 1e-3), (straight_curve(300.0),))
    return one, winding_load(one.grid, coil())


@pytest.mark.parametrize("name", ["disc", "block"])
def test_pull_to_the_core_is_the_slope_of_the_energy(name):
    """Virtual work at constant magnets: half of mu0 b . m grows as a straight core draws the magnet."""
    one, load = plate_and_load()
    magnet, h = MAGNETS[name], 20e-6
    energy = []
    for step in (-h, h):
        x, y, z = magnet.centre
        there = replace(magnet, centre=(x, y, z + step))
        by_magnet = field_load(one.grid, lambda points, there=there: magnet_flux_density(there, points))
        energy.append(0.5 * coupled(magnetised(one, by_magnet), by_magnet))
    found = force_with_core(coil(), one, load, magnet, 1.0).at_rest.force[2]
    assert found < 0
    assert found == pytest.approx((energy[1] - energy[0]) / (2 * h), rel=5e-3)


def test_moved_beside_a_core_it_feels_what_it_feels_there():
    """Each state from the last: the same forces."""
    one, load = plate_and_load()
    magnet, moves = MAGNETS["disc"], np.array([[0.0, 0.0, 0.0], [1e-3, 0.0, 0.5e-3], [0.0, 0.0, 3e-3]])
    at_rest, driven, torque = forces_with_core(coil(), one, load, magnet, moves, 2.0)
    for k, move in enumerate(moves):
        there = replace(magnet, centre=tuple(np.add(magnet.centre, move)))
        found = force_with_core(coil(), one, load, there, 2.0)
        scale = np.linalg.norm(found.at_rest.force)
        assert np.allclose(at_rest[k], found.at_rest.force, atol=1e-3 * scale)
        assert np.allclose(torque[k], found.forward.torque, atol=2e-3 * np.abs(torque).max())
        assert np.allclose(driven[k] - at_rest[k], found.odd, atol=1e-3 * np.linalg.norm(found.odd))


def test_fewer_charges_have_the_same_moment():
    for magnet in MAGNETS.values():
        (many, q), (few, p) = pole_charges(magnet), pole_charges(magnet, 4, 16)
        assert len(few) < len(many)
        assert q @ (many - magnet.centre) == pytest.approx(p @ (few - magnet.centre), abs=1e-9)


@pytest.mark.parametrize(("below", "above"), [(1e-5, np.inf), (1e-3, 2e-4), (np.inf, np.inf)])
@pytest.mark.parametrize("name", MAGNETS)
def test_side_has_the_magnets_moment(name, below, above):
    """Half of r x the current, and r times the charge (J. D. Jackson, section 5.6 and 4.1)."""
    magnet = MAGNETS[name]
    side = magnet_side(magnet, below, above)
    at = side.points - np.array(magnet.centre)
    charges = pole_charges(magnet)
    moment = (charges[0] - magnet.centre).T @ charges[1]
    # A current that flows round has its whole axial moment; half of it lies in r x K over the side alone.
    axial = 0.5 * np.cross(at, side.current).sum(axis=0)
    assert axial == pytest.approx([0, 0, moment[2]], abs=1e-6 * np.linalg.norm(moment))
    assert side.charge @ at == pytest.approx([*moment[:2], 0], abs=1e-6 * np.linalg.norm(moment))
    inside = np.abs(at[:, 2]) <= magnet.height / 2
    assert np.all(inside)


def test_magnets_that_cannot_be():
    with pytest.raises(ValueError, match="positive size"):
        pole_charges(Magnet(form="disc", size=(0.0, 0.0), height=1e-3, remanence=1.0))
    with pytest.raises(ValueError, match="direction"):
        pole_charges(Magnet(form="disc", size=(1e-3, 1e-3), height=1e-3, remanence=1.0, pole=(0, 0, 0)))


@pytest.mark.parametrize("share", [12, 4])
def test_near_an_iron_plate_it_is_drawn_to_its_image(share):
    """As far off as a share of the magnet's size, on cells three times as wide: within 3 %."""
    magnet = Magnet(
        form="disc", size=(4e-3, 4e-3), height=2e-3, remanence=1.2, centre=(0, 0, 1e-3 + 4e-3 / share)
    )
    plate = Body(form="plate", size=(16e-3, 16e-3), thickness=3e-3, bottom=-3e-3)
    one = core(brick_grid((plate,), 1e-3), (straight_curve(1000.0),))
    load = winding_load(one.grid, coil(turns=1))
    where, charge = pole_charges(magnet, 24, 128)
    image = np.column_stack([where * [1, 1, -1], np.zeros((len(where), 3)), -charge * 999 / 1001])
    expected = float(charge @ boxes_flux_density(image, where)[:, 2])
    at_rest, _, _ = forces_with_core(coil(turns=1), one, load, magnet, np.zeros((1, 3)), 1.0)
    assert at_rest[0, 2] == pytest.approx(expected, rel=3e-2)
