"""Flux of a mover's magnets through coils: magpylib's fields, forces by another road, third law, plates."""

from dataclasses import replace

import numpy as np
import pytest
from mover_cases import (
    HIGH,
    LOW,
    REMANENCE,
    field_of,
    loops,
    points_along,
    ring_of,
    ring_sources,
    turned_points,
    wedge_coil,
)

from coilgen.physics.base.constants import MU0
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.mover import potential
from coilgen.physics.mover.along_row import at_even_places
from coilgen.physics.mover.magnets import Magnets, circle, rectangle, walls, with_images
from coilgen.physics.mover.potential import flux_density, vector_potential
from coilgen.physics.mover.ring import ring_harmonics
from coilgen.physics.mover.row import passing, row

COPPER = 1.7e-8


def ring_slope(path, magnets, angle):
    """Change of the flux with the ring's angle, Wb/rad: torque on the ring per ampere."""
    found = ring_harmonics(path, magnets, 8, COPPER)
    return float((-1j * found.orders * found.linkage * np.exp(-1j * found.orders * angle)).real.sum())


def ring_torque(path, sources, angle):
    """On the ring per ampere, N m/A: minus that of I dl x B on the coil, in magpylib's field."""
    at, step = points_along(path)
    field = field_of(sources, turned_points(at, -angle))
    return float(np.sum((at[:, 0] * step[:, 0] + at[:, 1] * step[:, 1]) * field[:, 2]))


def test_a_field_is_known_at_even_places_however_short_the_row():
    """From the field itself where it is too short, beside far walls, for a spline's places."""
    magnet = Magnets(outlines=(rectangle(0j, 2, 2),), signs=(1,), polarisation=1.0, sheets=((0.0, 1.0),))
    for last in (0.1, 1.0, 1.3, 2.0, 30.0):
        places = np.linspace(0.0, last, 400)
        assert at_even_places(_decaying, places, magnet, 2.0) == pytest.approx(_decaying(places), rel=2e-4)


def _decaying(places):
    return 1 / (places**2 + 25)


@pytest.mark.parametrize("form", ["segment", "block", "disc", "ring"])
def test_torque_by_flux_is_that_by_force_on_the_coil_in_magpylib(form):
    path, angle = wedge_coil(), 0.35
    expected = ring_torque(path, ring_sources(form), angle)
    assert ring_slope(path, ring_of(form), angle) == pytest.approx(expected, rel=1e-6)


def test_flux_through_a_coil_is_that_of_magpylibs_field():
    path = loops([np.array([10e-3 - 2e-3j, 20e-3 - 2e-3j, 20e-3 + 2e-3j, 10e-3 + 2e-3j])], [-0.5e-3])
    node, weight = np.polynomial.legendre.leggauss(60)
    x, y = np.meshgrid(15e-3 + 5e-3 * node, 2e-3 * node)
    points = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, -0.5e-3)])
    field = field_of(ring_sources("disc"), points)[:, 2]
    flux = float(5e-3 * 2e-3 * np.sum(np.outer(weight, weight).ravel() * field))
    found = ring_harmonics(path, ring_of("disc"), 8, COPPER)
    assert float(found.linkage.real.sum()) == pytest.approx(flux, rel=1e-6)


def test_third_law_between_ring_and_coil():
    """The coil's field on the currents round the magnets' walls turns the ring as its flux tells."""
    path, magnets, angle = wedge_coil(), ring_of("segment"), 0.35
    thin = np.full_like(path.width, 1e-7)
    path = type(path)(start=path.start, end=path.end, width=thin, thickness=thin)
    shell = walls(magnets.outlines, magnets.signs, 1e-3)
    node, weight = np.polynomial.legendre.leggauss(12)
    torque = 0.0
    for place, share in zip(node, weight, strict=True):
        height = 0.5 * (LOW + HIGH) + 0.5 * (HIGH - LOW) * place
        at = turned_points(np.column_stack([shell.at, np.full(len(shell.at), height)]), angle)
        step = turned_points(np.column_stack([shell.along, np.zeros(len(shell.at))]), angle)
        field = path_flux_density(path, at)[:, 2]
        lever = np.sum(at[:, :2] * step[:, :2], axis=1)
        torque -= REMANENCE / MU0 * 0.5 * (HIGH - LOW) * share * float(np.sum(lever * field))
    assert torque == pytest.approx(ring_slope(path, magnets, angle), rel=1e-5)


def test_third_law_by_the_charges_of_the_pole_faces():
    """The coil's field on the charges of blocks' faces, north and south, turns them as its flux tells."""
    path, angle = wedge_coil(), 0.35
    thin = np.full_like(path.width, 1e-7)
    path = type(path)(start=path.start, end=path.end, width=thin, thickness=thin)
    node, weight = np.polynomial.legendre.leggauss(24)
    x, y = np.meshgrid(15e-3 + 4.5e-3 * node, 3e-3 * node)
    area = 4.5e-3 * 3e-3 * np.outer(weight, weight).ravel()
    torque = 0.0
    for k, sign in enumerate((1, -1) * 4):
        for height, charge in ((HIGH, sign), (LOW, -sign)):
            face = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, height)])
            at = turned_points(face, angle + np.pi / 4 * k)
            field = path_flux_density(path, at)
            lever = at[:, 0] * field[:, 1] - at[:, 1] * field[:, 0]
            torque += charge * REMANENCE / MU0 * float(area @ lever)
    assert torque == pytest.approx(ring_slope(path, ring_of("block"), angle), rel=1e-4)


def block_row():
    import magpylib

    places, signs = 10e-3 * (np.arange(4) - 1.5), (1, -1, 1, -1)
    told = {"dimension": (8e-3, 20e-3, HIGH - LOW)}
    return [
        magpylib.magnet.Cuboid(
            polarization=(0, 0, sign * REMANENCE), position=(x, 0, 0.5 * (LOW + HIGH)), **told
        )
        for x, sign in zip(places, signs, strict=True)
    ]


def one_block(sheets=((LOW, HIGH),)):
    return Magnets(outlines=(rectangle(0j, 8e-3, 20e-3),), signs=(1,), polarisation=REMANENCE, sheets=sheets)


def flat_coil():
    corners = [
        share * np.array([-6e-3 - 12e-3j, 6e-3 - 12e-3j, 6e-3 + 12e-3j, -6e-3 + 12e-3j])
        for share in (0.3, 0.7, 1.0)
    ]
    return loops(corners, [-0.1e-3, -1.5e-3])


def test_thrust_by_flux_is_that_by_force_on_the_coil_in_magpylib():
    path = flat_coil()
    passed = row(passing(path, one_block(), 10e-3, 40e-3, COPPER), 4, 10e-3)
    at, step = points_along(path)
    for place in (1e-3, -12e-3):
        field = field_of(block_row(), at - np.array([place, 0, 0]))
        on_the_row = -float(np.sum(step[:, 1] * field[:, 2]))
        assert passed.linkage(np.array([place]), slope=1)[0] == pytest.approx(on_the_row, rel=1e-6)


def test_a_back_plate_is_a_magnet_twice_as_high():
    assert with_images(((LOW, HIGH),), None, HIGH, 1.0) == ((LOW, HIGH), (HIGH, 2 * HIGH - LOW))


def test_between_plates_the_field_stands_upright_on_both():
    """No flux density along the plates: magpylib's field of the magnets and the images that are told."""
    import magpylib

    below, above = -2e-3, HIGH
    sheets = with_images(((LOW, HIGH),), below, above, 0.05)
    points = np.column_stack([np.linspace(-9e-3, 9e-3, 7), np.full(7, 3e-3), np.full(7, below)])
    field = sum(
        magpylib.magnet.Cuboid(
            polarization=(0, 0, REMANENCE),
            dimension=(8e-3, 20e-3, high - low),
            position=(0, 0, 0.5 * (low + high)),
        ).getB(points)
        for low, high in sheets
    )
    assert np.abs(field[:, :2]).max() < 1e-3 * np.abs(field[:, 2]).max()
    own = flux_density(points[:, :2], below, one_block(sheets), 3e-3)
    assert own == pytest.approx(field[:, 2], rel=1e-6)


def test_eddy_loss_of_tracks_goes_with_the_square_of_their_width():
    path = wedge_coil()
    wide = type(path)(start=path.start, end=path.end, width=2 * path.width, thickness=0.5 * path.thickness)
    narrow, wider = (ring_harmonics(each, ring_of("disc"), 8, COPPER) for each in (path, wide))
    assert wider.loss == pytest.approx(4 * narrow.loss, rel=1e-9)
    assert narrow.loss == pytest.approx(_loss_by_magpylib(path), rel=0.02)


def _loss_by_magpylib(path):
    """(w dB/dt)^2 / 12 rho of each track's volume, the field's change from magpylib's at two angles."""
    at, step = points_along(path, 12)
    angles, small = np.linspace(0.0, np.pi / 4, 8, endpoint=False), 1e-4
    mean = np.zeros(len(at))
    for angle in angles:
        fields = [
            field_of(ring_sources("disc"), turned_points(at, -each))[:, 2]
            for each in (angle - small, angle + small)
        ]
        mean += ((fields[1] - fields[0]) / (2 * small)) ** 2 / len(angles)
    width = 0.2e-3
    return float(np.sum(np.linalg.norm(step, axis=1) * width * 0.2 * width * mean) * width**2 / (12 * COPPER))


def test_a_round_hole_is_taken_off():
    sheets = ((LOW, HIGH),)
    solid, bore = (
        Magnets(outlines=(circle(0j, radius),), signs=(1,), polarisation=1.0, sheets=sheets)
        for radius in (5e-3, 2e-3)
    )
    hollow = Magnets(
        outlines=((*circle(0j, 5e-3), *circle(0j, -2e-3)),), signs=(1,), polarisation=1.0, sheets=sheets
    )
    points = np.array([[1e-3, 0.5e-3], [4e-3, 1e-3]])
    whole, inner, ring = (flux_density(points, 0.0, each, 1e-3) for each in (solid, bore, hollow))
    assert ring == pytest.approx(whole - inner, rel=1e-12)


def test_the_kernels_of_large_jobs_agree_with_small_ones(monkeypatch):
    points = np.random.default_rng(3).uniform(-20e-3, 20e-3, (30, 2))
    magnets = replace(ring_of("segment"), sheets=((1e-3, 4e-3), (6e-3, 9e-3)))
    small = [each(points, 0.0, magnets, 1e-3) for each in (vector_potential, flux_density)]
    monkeypatch.setattr(potential, "SMALL_JOB", 0)
    large = [each(points, 0.0, magnets, 1e-3) for each in (vector_potential, flux_density)]
    for one, other in zip(small, large, strict=True):
        assert np.abs(one - other).max() < 1e-12 * np.abs(other).max()
