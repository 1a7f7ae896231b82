"""Magnetised bricks: demagnetising factors, the cube's polarizability, laws of the discrete energy."""

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_charges import charges, from_cell_ends, split
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.cell_fit import NARROWEST, WIDEST
from coilgen.physics.core.charge_field import boxes_flux_density, charged_boxes, core_flux_density
from coilgen.physics.core.magnetisation_curve import Curve, saturating_curve, straight_curve
from coilgen.physics.core.soft_core import (
    cells_of,
    core,
    coupled,
    flux_densities,
    magnetised,
    mean_flux_densities,
    strength,
    tangent_response,
)


def uniform_load(grid, axis):
    """Load of H0 = 1 A/m along an axis."""
    half = 0.5 * grid.volume * grid.filled
    return from_cell_ends(grid, tuple((half * (k == axis), half * (k == axis)) for k in range(3))).flat


def box(width, depth, height, *, bottom=0.0, form="plate"):
    return Body(form=form, size=(width, depth), thickness=height, bottom=bottom)


def polarizability(body, cell, permeability, axis=2):
    """Mean magnetisation per unit of applied field."""
    one = core(brick_grid((body,), cell), (straight_curve(permeability),))
    load = uniform_load(one.grid, axis)
    return float(load @ magnetised(one, load).m) / np.sum(one.grid.volume * one.grid.filled)


def demagnetising_factor(body, cell, permeability, axis=2):
    return 1 / polarizability(body, cell, permeability, axis) - 1 / (permeability - 1)


# Values


@pytest.mark.parametrize(
    ("size", "cell", "expected"),
    [
        ((25e-3, 25e-3, 0.2e-3), 1e-3, 0.971698599),
        ((1e-3, 1e-3, 1e-3), 0.25e-3, 1 / 3),
        ((1e-3, 1e-3, 5e-3), 0.25e-3, 0.088315740),
    ],
)
def test_prisms_magnetised_along_z(size, cell, expected):
    """A. Aharoni, Journal of Applied Physics 83, 1998: susceptibility -> 0; as `evenly_magnetised` has it.

    It is what is left of two numbers of a million: rounding in another order moves it by 1e-8.
    """
    assert demagnetising_factor(box(*size), cell, 1 + 1e-6) == pytest.approx(expected, abs=3e-8)


def graded_nodes():
    """Places from 0 to 1 and weights of an integral over them, dense near both ends."""
    near = np.concatenate([[0.0], np.geomspace(1e-4, 0.5, 8)])
    edges = np.concatenate([near, 1 - near[-2::-1]])
    at, weight = np.polynomial.legendre.leggauss(3)
    width = np.diff(edges)[:, None]
    return (edges[:-1, None] + width * (at + 1) / 2).ravel(), (width * weight / 2).ravel()


def evenly_magnetised(size):
    """Demagnetising factor along z: mean of magpylib's closed form inside an evenly magnetised cuboid."""
    at, weight = graded_nodes()
    points = np.stack(np.meshgrid(*((at - 0.5) * side for side in size), indexing="ij"), -1)
    field = magpylib.magnet.Cuboid(polarization=(0, 0, 1), dimension=size).getH(points)[..., 2]
    return float(-MU0 * np.einsum("ijk,i,j,k", field, weight, weight, weight))


@pytest.mark.parametrize(
    ("size", "expected"), [((25e-3, 25e-3, 0.2e-3), 0.971698599), ((1e-3, 1e-3, 5e-3), 0.088315740)]
)
def test_factors_of_prisms_are_those_of_another_library(size, expected):
    assert evenly_magnetised(size) == pytest.approx(expected, abs=4e-5)


def test_factors_of_a_prism_add_up_to_one():
    body = box(3e-3, 2e-3, 1e-3)
    total = sum(demagnetising_factor(body, 0.5e-3, 1 + 1e-6, axis) for axis in range(3))
    assert total == pytest.approx(1.0, abs=1e-7)


def test_polarizability_of_a_cube_of_infinite_permeability():
    """3.644305 of its volume (J. Helsing and K.-M. Perfekt, 2013; value from memory).

    Approached from below, with the order 4/3 that the cube's edges allow.
    """
    values = [polarizability(box(1e-3, 1e-3, 1e-3), 1e-3 / n, 1e9) for n in (4, 8, 16)]
    assert values[0] < values[1] < values[2] < 3.644305
    assert values[2] == pytest.approx(3.644305, rel=5e-3)
    extrapolated = values[2] + (values[2] - values[1]) / (2 ** (4 / 3) - 1)
    assert extrapolated == pytest.approx(3.644305, rel=1e-3)


@pytest.mark.parametrize(
    ("permeability", "expected", "tolerance"), [(1 + 1e-6, 0.3116, 4e-3), (1e5, 0.2590, 1.2e-2)]
)
def test_cylinder_as_long_as_wide(permeability, expected, tolerance):
    """Magnetometric factor (D.-X. Chen, J. A. Brug, R. B. Goldfarb, IEEE Trans. Magn. 27, 1991).

    That of low permeability is as magpylib's cylinder has it, averaged; of high, from axisymmetric finite
    elements.
    """
    body = box(1e-3, 1e-3, 1e-3, form="rod")
    assert demagnetising_factor(body, 1e-3 / 16, permeability) == pytest.approx(expected, rel=tolerance)


# Laws

TWO = (box(3e-3, 2e-3, 1e-3), Body(form="disc", size=(2e-3, 2e-3), thickness=0.4e-3, bottom=-0.9e-3))


@pytest.fixture(scope="module")
def pair():
    return core(brick_grid(TWO, 0.5e-3), (straight_curve(100.0), straight_curve(10.0)))


def test_the_energy_of_charges_is_symmetric_and_not_negative(pair):
    matrix = np.array([pair.demagnetising(pair.active * unit) for unit in np.eye(len(pair.active))])
    assert np.abs(matrix - matrix.T).max() < 1e-12 * np.abs(matrix).max()
    assert np.linalg.eigvalsh(matrix).min() > -1e-12 * np.abs(matrix).max()
    assert np.allclose(np.diag(matrix), pair.own * pair.active, rtol=1e-10, atol=0)


@given(st.integers(0, 1000))
@settings(max_examples=10, deadline=None)
def test_no_body_has_a_net_charge(seed):
    one = core(brick_grid(TWO[:1], 0.5e-3), (straight_curve(100.0),))
    m = one.active * np.random.default_rng(seed).normal(size=len(one.active))
    parts = charges(one.grid, one.outer, split(one.grid, m))
    assert abs(sum(p.sum() for p in parts)) < 1e-12 * sum(np.abs(p).sum() for p in parts)


def test_permeability_of_one_gives_nothing():
    assert polarizability(box(1e-3, 1e-3, 1e-3), 0.5e-3, 1 + 1e-9) < 1.01e-9


def test_response_grows_with_permeability():
    values = [polarizability(box(4e-3, 4e-3, 1e-3), 1e-3, mu) for mu in (1.5, 3, 10, 100, 10_000)]
    assert np.all(np.diff(values) > 0)


def test_bodies_far_apart_do_not_see_each_other():
    far = (box(2e-3, 2e-3, 1e-3), box(2e-3, 2e-3, 1e-3, bottom=200e-3))
    both = core(brick_grid(far, 0.5e-3), (straight_curve(50.0),) * 2)
    load = uniform_load(both.grid, 2)
    alone = polarizability(far[0], 0.5e-3, 50.0) * 4e-9
    assert float(load @ magnetised(both, load).m) == pytest.approx(2 * alone, rel=1e-5)


def test_a_body_of_two_touching_slabs_is_one():
    halves = (box(2e-3, 2e-3, 0.5e-3), box(2e-3, 2e-3, 0.5e-3, bottom=0.5e-3))
    two = core(brick_grid(halves, 0.5e-3), (straight_curve(30.0),) * 2)
    load = uniform_load(two.grid, 2)
    whole = polarizability(box(2e-3, 2e-3, 1e-3), 0.5e-3, 30.0) * 4e-9
    assert float(load @ magnetised(two, load).m) == pytest.approx(whole, rel=1e-4)


def test_straight_and_saturating_curves_agree_in_a_weak_field():
    grid = brick_grid((box(2e-3, 2e-3, 1e-3),), 0.5e-3)
    load = uniform_load(grid, 0)
    straight, bent = (
        magnetised(core(grid, (curve,)), 1e-3 * load).m
        for curve in (straight_curve(200.0), saturating_curve(200.0, 1.0))
    )
    assert np.allclose(straight, bent, atol=2e-3 * np.abs(straight).max())


def test_a_strong_field_saturates_the_body():
    grid = brick_grid((box(2e-3, 2e-3, 1e-3),), 0.5e-3)
    state = magnetised(core(grid, (saturating_curve(200.0, 1.0),)), 3e6 * uniform_load(grid, 2))
    size = strength(state.core, state.m)[grid.filled]
    assert np.allclose(size, 1.0 / MU0, rtol=2e-2)
    assert np.all(state.core.curves[0].saturated(size))
    assert np.all(flux_densities(state)[grid.filled] > 1.0)


@pytest.mark.parametrize("field", [1e3, 2e5, 1e6])
def test_newton_finds_the_least_energy(field):
    """At the solution the gradient vanishes and its derivative is the tangent's response."""
    grid = brick_grid((box(2e-3, 1e-3, 1e-3),), 0.5e-3)
    one = core(grid, (saturating_curve(500.0, 1.5),))
    load = uniform_load(grid, 0)
    state = magnetised(one, field * load)
    step = 1e-3 * field
    change = (magnetised(one, (field + step) * load).m - magnetised(one, (field - step) * load).m) / (
        2 * step
    )
    response = tangent_response(state, load)
    assert coupled(state, load) > 0
    assert load @ response == pytest.approx(load @ change, rel=1e-2)


# The field outside


def test_field_of_a_uniformly_magnetised_cube_far_away_is_a_dipoles():
    one = core(brick_grid((box(1e-3, 1e-3, 1e-3, bottom=-0.5e-3),), 0.25e-3), (straight_curve(5.0),))
    load = uniform_load(one.grid, 2)
    state = magnetised(one, load)
    moment = float(load @ state.m)
    far = core_flux_density(state, np.array([[0, 0, 20e-3], [20e-3, 0, 0]]))
    assert far[0, 2] == pytest.approx(2e-7 * moment / 20e-3**3, rel=1e-3)
    assert far[1, 2] == pytest.approx(-1e-7 * moment / 20e-3**3, rel=1e-3)


def test_charged_box_near_and_far_rules_meet():
    boxes = np.array([[0, 0, 0, 1e-3, 0.7e-3, 0.4e-3, 1.0]])
    for distance, tolerance in ((3e-3, 1e-3), (12e-3, 2e-3)):
        direction = np.array([0.6, 0.64, 0.48])
        inside, outside = (
            boxes_flux_density(boxes, direction[None] * distance * k)[0] * k**2 for k in (1 - 1e-9, 1 + 1e-9)
        )
        assert np.allclose(inside, outside, atol=tolerance * np.linalg.norm(inside))


def test_flux_leaves_through_a_closed_surface_as_charge_is_inside():
    """Gauss's law over a sphere round one end's charges only."""
    one = core(brick_grid((box(1e-3, 1e-3, 1e-3),), 0.5e-3), (straight_curve(9.0),))
    state = magnetised(one, uniform_load(one.grid, 2))
    boxes = charged_boxes(state)
    upper = boxes[boxes[:, 2] > 0.9e-3]
    node, weight = np.polynomial.legendre.leggauss(24)
    angle = 2 * np.pi * np.arange(48) / 48
    u, phi = (a.ravel() for a in np.meshgrid(node, angle, indexing="ij"))
    normal = np.column_stack([np.sqrt(1 - u**2) * np.cos(phi), np.sqrt(1 - u**2) * np.sin(phi), u])
    points = [0, 0, 1e-3] + 2e-3 * normal
    flux = np.einsum("nk,nk->n", boxes_flux_density(upper, points), normal) @ np.repeat(weight, 48)
    assert flux * 2e-3**2 * 2 * np.pi / 48 == pytest.approx(MU0 * upper[:, 6].sum(), rel=1e-3)


# What is refused


@pytest.mark.parametrize(
    ("bodies", "message"),
    [
        ((), "at least one body"),
        ((box(0.0, 1e-3, 1e-3),), "positive"),
        ((Body(form="ring", size=(1e-3, 1e-3), thickness=1e-3, bottom=0.0),), "hole"),
        ((box(2e-3, 2e-3, 1e-3), box(1e-3, 1e-3, 1e-3, bottom=0.5e-3)), "overlap"),
        ((Body(form="ring", size=(9e-3, 9e-3), hole=8.99e-3, thickness=1e-3, bottom=0.0),), "too narrow"),
    ],
)
def test_bodies_that_cannot_be(bodies, message):
    with pytest.raises(ValueError, match=message):
        brick_grid(bodies, 0.5e-3)


def test_curves_that_cannot_be():
    with pytest.raises(ValueError, match="over 1"):
        straight_curve(1.0)
    with pytest.raises(ValueError, match="rise"):
        Curve(magnetisation=np.array([0.0, 2.0, 1.0]), field=np.array([0.0, 1.0, 2.0]))


# Grids


@pytest.mark.parametrize("form", ["disc", "rod", "ring", "plate"])
@pytest.mark.parametrize("cell", [0.3e-3, 0.5e-3, 0.9e-3])
def test_cells_have_the_first_bodys_volume(form, cell):
    body = Body(
        form=form, size=(7e-3, 7e-3), thickness=1.3e-3, bottom=0.0, hole=2e-3 if form == "ring" else 0.0
    )
    grid = brick_grid((body,), cell)
    assert np.sum(grid.volume * grid.filled) == pytest.approx(body.area * body.thickness, rel=1e-9)
    assert NARROWEST <= grid.cell[0] / cell <= WIDEST


def test_gaps_between_bodies_hold_no_cells():
    plates = (box(2e-3, 2e-3, 1e-3), box(2e-3, 2e-3, 0.3e-3, bottom=1.05e-3))
    grid = brick_grid(plates, 0.5e-3)
    assert np.allclose(grid.thickness, [0.5e-3, 0.5e-3, 0.3e-3])
    assert len(grid.level) == 5


def test_flux_density_at_points_within_the_material():
    body = Body(form="ring", size=(4e-3, 4e-3), hole=2e-3, thickness=1e-3, bottom=-1e-3)
    one = core(brick_grid((body,), 0.25e-3), (straight_curve(100.0),))
    state = magnetised(one, uniform_load(one.grid, 2))
    points = np.array([[1.6e-3, 0, -0.5e-3], [0, 0, -0.5e-3], [1.6e-3, 0, 0.1e-3], [0.5, 0, -0.5e-3]])
    inside, cells = cells_of(one.grid, points)
    assert list(inside) == [0]
    found = mean_flux_densities(state)[:, *cells]
    assert found[2, 0] > MU0
    assert np.abs(found[:2]).max() < found[2, 0]


@pytest.mark.parametrize("axis", [0, 2])
def test_the_same_is_found_from_any_start(axis):
    """A start that is saturated elsewhere is left where it leads nowhere."""
    grid = brick_grid((box(8e-3, 8e-3, 1e-3),), 1e-3)
    one = core(grid, (saturating_curve(2300.0, 0.49),))
    load = 3e5 * uniform_load(grid, 0)
    alone = magnetised(one, load)
    elsewhere = magnetised(one, -3e6 * uniform_load(grid, axis))
    found = magnetised(one, load, 3.0 * elsewhere.m)
    assert np.abs(found.m - alone.m).max() < 1e-3 * np.abs(alone.m).max()
