"""Cores beside a winding: slabs and half spaces, the law of one-sided cores, facts of the trade."""

import numpy as np
import pytest
from scipy.special import j1

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.effect import core_effect
from coilgen.physics.core.load import field_load, winding_load
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.on_grid import set_up
from coilgen.physics.core.saturation import saturation_current, saturation_onset
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.biot_savart import flux_linkage, path_flux_density
from coilgen.physics.field.filaments import Filaments, filaments, strands

ABOVE = np.array([[0, 0, 2e-3], [0, 0, -4e-3]])


def spiral(turns, inner, pitch, width, heights, sides=40):
    """Round spirals wound inward on odd and outward on even layers, as polylines."""
    points, layers = [], []
    for k, z in enumerate(heights):
        angle = np.linspace(0, 2 * np.pi * turns, sides * turns + 1)
        radius = inner + pitch * angle / (2 * np.pi)
        plane = radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        plane = plane if k % 2 else plane[::-1] * [1, -1]
        points.append(np.column_stack([plane, np.full(len(plane), z)]))
        layers.append(np.full(len(plane) - 1, k + 1))
    n = len(heights) * sides * turns
    return Conductor(
        start=np.vstack([p[:-1, :2] for p in points]),
        end=np.vstack([p[1:, :2] for p in points]),
        centre=np.full((n, 2), np.nan),
        sweep=np.zeros(n),
        width=np.full(n, width),
        thickness=np.full(n, 35e-6),
        z=np.concatenate([p[1:, 2] for p in points]),
        layer=np.concatenate(layers),
    )


def ring(radius, sides=96):
    angle = 2 * np.pi * np.arange(sides) / sides
    start = (
        radius
        * np.sqrt(np.pi / sides / np.sin(np.pi / sides) / np.cos(np.pi / sides))
        * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    )
    thin = np.full(sides, 1e-5)
    return Filaments(start=start, end=np.roll(start, -1, axis=0), width=thin, thickness=thin)


def plate(width, thickness, gap):
    return Body(form="plate", size=(width, width), thickness=thickness, bottom=-gap - thickness)


def slab_inductance(radius, gap, thickness, permeability):
    """What an infinite slab adds to a circle: integral over the Bessel transform of its field."""
    k = np.linspace(0, 20 / gap, 100_001)[1:]
    share = (permeability - 1) / (permeability + 1)
    fall = np.exp(-2 * k * thickness)
    reflected = share * (1 - fall) / (1 - share**2 * fall)
    return MU0 * np.pi * radius**2 * np.trapezoid(j1(k * radius) ** 2 * reflected * np.exp(-2 * k * gap), k)


@pytest.mark.parametrize(("permeability", "thickness"), [(2000.0, 1e-3), (20.0, 2e-3), (5.0, 1e-3)])
def test_circle_over_a_wide_slab(permeability, thickness):
    """Static limit of the integral of C. V. Dodd and W. E. Deeds, Journal of Applied Physics 39, 1968."""
    body = plate(40e-3, thickness, 1e-3)
    found = core_effect(
        ring(4e-3), (body,), (straight_curve(permeability),), current=1.0, cell=0.8e-3, probes=ABOVE
    )
    expected = slab_inductance(4e-3, 1e-3, thickness, permeability)
    assert found.added_inductance == pytest.approx(expected, rel=1e-2)


def test_plates_approach_the_slab_as_they_widen():
    expected = slab_inductance(4e-3, 0.5e-3, 1e-3, 2000.0)
    ratios = [
        core_effect(
            ring(4e-3),
            (plate(w, 1e-3, 0.5e-3),),
            (straight_curve(2000.0),),
            current=1.0,
            cell=1e-3,
            probes=ABOVE,
        ).added_inductance
        / expected
        for w in (14e-3, 20e-3, 30e-3)
    ]
    assert ratios[0] < ratios[1] < ratios[2] < 1.005


@pytest.mark.parametrize("permeability", [1.5, 10.0, 1000.0])
@pytest.mark.parametrize("gap", [0.05e-3, 0.5e-3])
def test_a_one_sided_core_at_most_doubles_the_inductance(permeability, gap):
    """L / L0 <= 1 + (mu - 1) / (mu + 1) (W. A. Roshen and D. E. Turcotte, IEEE Trans. Magn. 24, 1988)."""
    winding = spiral(6, 2e-3, 0.4e-3, 0.2e-3, (0.0,))
    bare = flux_linkage(winding, winding, np.zeros(3))
    body = plate(14e-3, 2e-3, gap + 17.5e-6)
    found = core_effect(
        winding, (body,), (straight_curve(permeability),), current=1.0, cell=1e-3, probes=ABOVE
    )
    assert 0 < found.added_inductance < (permeability - 1) / (permeability + 1) * bare


def test_permeability_near_one_gives_nothing():
    found = core_effect(
        ring(4e-3),
        (plate(10e-3, 1e-3, 1e-3),),
        (straight_curve(1.0001),),
        current=1.0,
        cell=1e-3,
        probes=ABOVE,
    )
    assert 0 < found.added_inductance < 1e-12
    assert np.abs(found.added_flux_density).max() < 1e-4 * 60e-6


def test_saturation_lowers_the_small_signal_inductance_first():
    body, curve = plate(12e-3, 0.5e-3, 0.3e-3), saturating_curve(800.0, 1.5)
    found = core_effect(ring(4e-3), (body,), (curve,), current=120.0, cell=1.5e-3, probes=ABOVE)
    assert found.added_small_signal < found.added_inductance < 1.01 * found.at_rest
    start = saturation_current(set_up(ring(4e-3), (body,), (curve,), 1.5e-3))
    below, beyond = (
        core_effect(ring(4e-3), (body,), (curve,), current=i, cell=1.5e-3, probes=ABOVE)
        for i in (0.5 * start, 2 * start)
    )
    assert below.added_small_signal > 0.9 * found.at_rest > beyond.added_small_signal
    assert below.saturated[0] < beyond.saturated[0]
    there = core_effect(ring(4e-3), (body,), (curve,), current=start, cell=1.5e-3, probes=ABOVE)
    assert there.added_small_signal == pytest.approx(0.9 * found.at_rest, rel=0.01)


def test_the_onset_of_saturation_follows_what_differs_a_little():
    """Where flux and current of a core grow as one, so does the onset."""
    body = plate(12e-3, 0.5e-3, 0.3e-3)
    same, more, less, coarse = (
        set_up(ring(4e-3), (body,), (saturating_curve(800.0, saturation),), cell)
        for saturation, cell in ((1.5, 1.5e-3), (1.53, 1.5e-3), (1.2, 1.5e-3), (1.5, 2e-3))
    )
    onset = saturation_onset(same)
    assert onset.at(same, same.rest) == pytest.approx(onset.current, rel=2e-3)
    assert saturation_current(more) == pytest.approx(1.02 * onset.current, rel=1e-3)
    assert onset.at(more, more.rest) == pytest.approx(1.02 * onset.current, rel=2e-3)
    assert onset.at(less, less.rest) == pytest.approx(0.8 * onset.current, rel=2e-3)
    assert onset.at(coarse, coarse.rest) == saturation_current(coarse)


def test_straight_cores_never_saturate():
    body = plate(12e-3, 0.5e-3, 0.3e-3)
    assert saturation_current(set_up(ring(4e-3), (body,), (straight_curve(50.0),), 1e-3)) == np.inf


def test_a_small_core_that_saturates_beside_a_large_one_that_does_not():
    """What it adds is too little for its loss to be felt."""
    small = Body(form="disc", size=(1e-3, 1e-3), thickness=0.2e-3, bottom=0.3e-3)
    curves = (straight_curve(50.0), saturating_curve(50.0, 0.3))
    bodies = (plate(8e-3, 1e-3, 0.3e-3), small)
    assert saturation_current(set_up(ring(4e-3), bodies, curves, 0.5e-3)) == np.inf


# Facts of the trade: common practice, no source; the geometry is invented.

FLEX = spiral(14, 3e-3, 0.25e-3, 0.125e-3, (0.0, -0.1e-3))
SHEET = straight_curve(150.0)


def test_ferrite_sheet_under_the_whole_of_a_flex_coil():
    """Raises its inductance by about 1.7 times; a small piece in the middle by under 1.1 times."""
    bare = flux_linkage(FLEX, FLEX, np.zeros(3))
    whole, piece = (
        core_effect(FLEX, (plate(w, 0.3e-3, 0.2e-3),), (SHEET,), current=1.0, cell=0.75e-3, probes=ABOVE)
        for w in (15e-3, 4e-3)
    )
    assert 1.5 < 1 + whole.added_inductance / bare < 1.9
    assert 1.0 < 1 + piece.added_inductance / bare < 1.1


def test_steel_on_the_back_strengthens_the_front():
    """By some 1.7 to 2.5 times near the face, and weakens the field behind it."""
    steel = plate(16e-3, 1.5e-3, 0.2e-3)
    points = np.array([[0, 0, 0.5e-3], [0, 0, -4e-3]])
    found = core_effect(FLEX, (steel,), (straight_curve(1000.0),), current=1.0, cell=0.75e-3, probes=points)
    bare = path_flux_density(filaments(FLEX), points)
    ratio = 1 + found.added_flux_density[:, 2] / bare[:, 2]
    assert 1.7 < ratio[0] < 2.5
    assert 0.0 < ratio[1] < 0.5


# The load


def test_load_of_a_uniform_field_is_the_volume():
    grid = brick_grid((plate(4e-3, 1e-3, 0.0),), 1e-3)
    load = field_load(grid, lambda points: np.tile([0, 0, MU0], (len(points), 1)))
    assert load.sum() == pytest.approx(16e-9, rel=1e-12)


def test_load_near_the_copper_is_converged():
    grid = brick_grid((plate(6e-3, 0.5e-3, 0.25e-3),), 0.75e-3)
    path = filaments(FLEX, tolerance=5e-6)
    found = winding_load(grid, path)
    expected = field_load(grid, lambda points: path_flux_density(path, points), 8)
    assert np.linalg.norm(found - expected) < 2e-3 * np.linalg.norm(expected)


def test_a_wide_strip_close_to_a_core_on_two_grids():
    """The field is the same from cell to cell: a permeable core would amplify any step in it."""
    path, body = filaments(spiral(3, 2e-3, 1.5e-3, 1.2e-3, (0.0,))), plate(14e-3, 1e-3, 0.05e-3)
    added = [
        coupled(magnetised(one, load), load)
        for cell in (0.8e-3, 0.5e-3)
        for one in [core(brick_grid((body,), cell), (straight_curve(1500.0),))]
        for load in [winding_load(one.grid, path)]
    ]
    assert added[0] == pytest.approx(added[1], rel=1e-2)


def test_an_open_path_is_refused():
    grid = brick_grid((plate(4e-3, 1e-3, 0.5e-3),), 1e-3)
    with pytest.raises(ValueError, match="closed"):
        winding_load(grid, filaments(FLEX, closed=False))


@pytest.mark.parametrize("across", [2, 5])
def test_strands_carry_the_strips_field(across):
    path = filaments(FLEX)
    points = np.array([[4e-3, 0, 0.2e-3], [5e-3, 1e-3, -0.4e-3], [0, 0, 1e-3]])
    both = sum(path_flux_density(strand, points) for strand in strands(path, across))
    assert np.allclose(both, path_flux_density(path, points), atol=3e-3 * np.abs(both).max())
