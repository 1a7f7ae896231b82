"""Pull on a steel target: virtual work, Maxwell's stress, the square of the current, a plate's image."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from core_cases import pull_on_target

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.charge_field import core_flux_density
from coilgen.physics.core.holding import (
    Driven,
    current_for,
    holding,
    holding_loads,
)
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.on_grid import inside
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments, lifted, together

MU0 = 4e-7 * np.pi
TARGET = Body(form="plate", size=(8e-3, 8e-3), thickness=1e-3, bottom=0.8e-3)
BACK = Body(form="plate", size=(12e-3, 12e-3), thickness=1e-3, bottom=-1.5e-3)
STEEL = straight_curve(500.0)


def coil(radii=(3e-3, 3.5e-3, 4e-3), sides=64):
    """Closed flat loops of 0.2 mm strip in series."""
    angle = 2 * np.pi * np.arange(sides) / sides
    rings = [r * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle]) for r in radii]
    start, end = np.vstack(rings), np.vstack([np.roll(r, -1, axis=0) for r in rings])
    return Filaments(
        start=start, end=end, width=np.full(len(start), 2e-4), thickness=np.full(len(start), 35e-6)
    )


def test_bare_coil_draws_the_target():
    pull = pull_on_target(coil(), TARGET, (), (STEEL,), current=2.0, cell=0.5e-3)
    assert pull.force < 0
    assert pull.error < 0.3 * abs(pull.force)


@pytest.mark.parametrize("cores", [(), (BACK,)])
def test_virtual_work(cores):
    """Half the square of the current times the slope of the inductance, each end solved anew."""
    path, curves, h = coil(), (STEEL,) * (1 + len(cores)), 10e-6
    force = pull_on_target(path, TARGET, cores, curves, current=1.0, cell=1e-3).force
    inductance = []
    for move in (-h, h):
        target = replace(TARGET, bottom=TARGET.bottom + move)
        one = core(brick_grid((target, *cores), 1e-3), curves)
        load = winding_load(one.grid, path)
        inductance.append(coupled(magnetised(one, load), load))
    assert force == pytest.approx(0.5 * (inductance[1] - inductance[0]) / (2 * h), rel=2e-3)


def test_a_load_rises_steadily_with_the_height():
    """Where cells are just so far from the copper that one more point is taken, too."""
    path, move = coil(), 2e-6

    def slope(bottom):
        grid = brick_grid((replace(TARGET, size=(12e-3, 12e-3), thickness=0.3e-3, bottom=bottom),), 0.8e-3)
        _, lower, upper = holding_loads(grid, path, move)
        return (upper - lower) / (2 * move)

    below, there, above = (slope(bottom) for bottom in (0.595e-3, 0.6e-3, 0.605e-3))
    assert there == pytest.approx((below + above) / 2, abs=0.02 * np.abs(there).max())


def test_stress_in_the_plane_between():
    """Maxwell's stress (Bz^2 - Bx^2 - By^2) / 2 mu0 over a plane between coil and target."""
    path, current = coil(), 3.0
    pull = pull_on_target(path, TARGET, (BACK,), (STEEL, STEEL), current=current, cell=0.8e-3)
    node, weight = np.polynomial.legendre.leggauss(40)
    reach = 25e-3
    side = np.sign(node) * np.abs(node) ** 1.5 * reach
    share = weight * 1.5 * np.sqrt(np.abs(node)) * reach
    x, y = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    points = np.column_stack([x, y, np.full(len(x), 0.4e-3)])
    field = path_flux_density(path, points, current) + core_flux_density(pull.state, points)
    stress = (field[:, 2] ** 2 - field[:, 0] ** 2 - field[:, 1] ** 2) / (2 * MU0)
    assert -np.sum(np.outer(share, share).ravel() * stress) == pytest.approx(pull.force, rel=2e-2)


def test_core_behind_the_coil_multiplies_the_pull():
    """The core's image up to doubles the flux through the target: the pull grows fourfold or so."""
    bare, backed = (
        pull_on_target(coil(), TARGET, cores, (STEEL,) * (1 + len(cores)), current=1.0, cell=1e-3).force
        for cores in ((), (BACK,))
    )
    assert 1.5 < backed / bare < 8.0


def test_target_and_core_must_be_magnetised_together():
    """The target's own field in the core and back: a single sweep misses much of the pull."""
    together = pull_on_target(coil(), TARGET, (BACK,), (STEEL, STEEL), current=1.0, cell=1e-3)
    alone = core(brick_grid((BACK,), 1e-3), (STEEL,))
    first = magnetised(alone, winding_load(alone.grid, coil()))
    points = np.array([[0, 0, 0.4e-3]])
    once = core_flux_density(first, points) + path_flux_density(coil(), points)
    both = core_flux_density(together.state, points) + path_flux_density(coil(), points)
    assert both[0, 2] > 1.2 * once[0, 2]


def test_the_pull_goes_with_the_square_of_the_current_until_the_steel_saturates():
    curve = saturating_curve(500.0, 1.6)
    weak, double, strong = (
        pull_on_target(coil(), TARGET, (), (curve,), current=i, cell=1e-3).force for i in (1.0, 2.0, 2000.0)
    )
    assert double / weak == pytest.approx(4.0, rel=1e-2)
    assert strong / weak < 0.9 * 2000.0**2


def test_wide_plate_draws_the_coil_as_its_image():
    """Coil before a half space is drawn by its image of weight (mu - 1) / (mu + 1); textbook."""
    path = coil(radii=(4e-3,))
    wide = Body(form="plate", size=(32e-3, 32e-3), thickness=8e-3, bottom=1.5e-3)
    mu = 1000.0
    force = pull_on_target(path, wide, (), (straight_curve(mu),), current=1.0, cell=1e-3).force
    image = lifted(path, np.array([0, 0, 3e-3]))
    middle, step = 0.5 * (image.start + image.end), image.end - image.start
    drawn = np.cross(step, path_flux_density(path, middle)).sum(axis=0)[2]
    assert force == pytest.approx((mu - 1) / (mu + 1) * drawn, rel=1e-2)


def test_holding_current_holds():
    weight = 5e-3
    current = current_for(holding(coil(), TARGET, (BACK,), (STEEL, STEEL), 1e-3), weight)
    pull = pull_on_target(coil(), TARGET, (BACK,), (STEEL, STEEL), current=current, cell=1e-3).force
    assert weight <= abs(pull) * (1 + 1e-9) < 1.01 * weight


@pytest.mark.parametrize("share", [1e-3, 1.0, 30.0])
def test_holding_current_on_a_grid_at_hand(share):
    """Weak, and far into saturation: the pull at the current found is the force within 0.2 %."""
    setup = holding(coil(), TARGET, (), (saturating_curve(500.0, 1.6),), 2e-3)
    force = share * abs(setup.pull(300.0))
    assert force <= abs(setup.pull(current_for(setup, force))) < 1.002 * force


def test_no_current_may_hold(monkeypatch):
    from coilgen.physics.core import holding as module

    setup = holding(coil(), TARGET, (), (STEEL,), 2e-3)
    force = abs(setup.pull(10.0))
    monkeypatch.setattr(module, "_LARGEST_CURRENT", 9.0)
    assert current_for(setup, force) == np.inf
    monkeypatch.setattr(module, "_LARGEST_CURRENT", 11.0)
    assert current_for(setup, force) == pytest.approx(10.0, rel=1e-2)


def test_the_coarser_grid_comes_along():
    pull = pull_on_target(coil(), TARGET, (BACK,), (STEEL, STEEL), current=2.0, cell=1e-3)
    assert "error" not in vars(pull)
    assert vars(pull.with_error())["error"] == pull.error > 0.0
    assert pull.rough.pull(2.0) == pull.rough_force
    assert pull.rough_force == pytest.approx(pull.force, rel=0.2)


LAWS = {
    "square": (lambda i: 3e-4 * i**2, 1),
    "saturating": (lambda i: 1e-3 * i**2 / (1 + i / 5.0), 4),
    "saturated": (lambda i: 1e-2 * i**2 / (1 + (i / 4.0) ** 2) ** 0.95, 8),
    "steeper from 20 A on": (lambda i: 1e-2 * i**0.3 * (1 + (i / 20.0) ** 8), 4),
}
"""Pulls, N, by the current, A, and how many states tell the current that holds once they are near it."""


@dataclass
class Lawful:
    """What pulls by a law, as a grid does, and is counted."""

    law: Callable[[float], float]
    asked: list[float] = field(default_factory=list)

    def driven(self, current, near=None):
        self.asked.append(current)
        return Driven(current=current, force=-self.law(current), state=None)


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("current", [0.02, 3.0, 40.0, 3e3])
def test_the_least_current_is_found_in_few_steps_by_any_law_that_rises(law, current):
    """From an ampere in steps of a factor e², and from near by."""
    rises, most = LAWS[law]
    setup, force = Lawful(law=rises), rises(current)
    found = current_for(setup, force)
    assert force <= rises(found) < 1.002 * force
    assert len(setup.asked) <= most + math.ceil(abs(math.log(current)) / 2)
    near = Lawful(law=rises)
    current_for(near, force, near.driven(1.02 * current))
    assert len(near.asked) <= 3


def test_steps_stay_between_currents_known_to_hold_and_not_to():
    """The pull leaps e^6 times about e^2 A, where secants by themselves go far past it."""
    leaping = Lawful(law=lambda i: i * math.exp(3 * math.tanh(8 * (math.log(i) - 2))))
    force = leaping.law(7.0)
    assert force <= leaping.law(current_for(leaping, force)) < 1.002 * force
    assert len(leaping.asked) <= 7


def test_no_more_than_the_largest_current_is_tried():
    flat = Lawful(law=lambda i: 1 - 1 / (1 + i))
    assert current_for(flat, 2.0) == np.inf
    assert max(flat.asked) == pytest.approx(1e6)
    assert len(flat.asked) <= 9


def test_the_flux_density_told_of_a_body_is_its_peak():
    pull = pull_on_target(coil(), TARGET, (BACK,), (STEEL, STEEL), current=2.0, cell=1e-3)
    peak, mean, *_ = inside(pull.state)
    assert np.array_equal(pull.peak, peak)
    assert (pull.peak > mean).all()


def layers():
    """Two of the coil's, a millimetre apart."""
    return together([lifted(coil(), np.array([0, 0, z])) for z in (0.0, -1e-3)], [1.0, 1.0])


@pytest.mark.parametrize(
    ("bottom", "above", "gap"),
    [(0.3e-3, 1.8e-3, 0.3e-3), (0.3e-3, 1.4e-3, 0.1e-3), (-2.5e-3, 1e-3, 0.5e-3)],
)
def test_the_target_is_moved_by_a_part_of_its_least_gap(bottom, above, gap):
    """To the nearer layer of the turns, or to a core."""
    target, other = replace(TARGET, bottom=bottom), replace(BACK, bottom=above)
    assert holding(layers(), target, (other,), (STEEL, STEEL), 0.5e-3).move == pytest.approx(0.02 * gap)


@pytest.mark.parametrize(("bottom", "above"), [(-0.5e-3, 3e-3), (-1.8e-3, 3e-3), (0.3e-3, 1.2e-3)])
def test_a_target_beside_a_layer_or_a_core_is_refused(bottom, above):
    target, other = replace(TARGET, bottom=bottom), replace(BACK, size=(4e-3, 4e-3), bottom=above)
    with pytest.raises(ValueError, match="clear"):
        holding(layers(), target, (replace(other, centre=(9e-3, 0.0)),), (STEEL, STEEL), 2e-3)


@pytest.mark.parametrize("bottom", [-0.5e-3, 0.0])
def test_a_target_in_the_coils_plane_is_refused(bottom):
    low = replace(TARGET, bottom=bottom)
    with pytest.raises(ValueError, match="clear"):
        pull_on_target(coil(), low, (), (STEEL,), current=1.0, cell=1e-3)
