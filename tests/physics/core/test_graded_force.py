"""Force on graded bodies: action and reaction, axes alike, the grid of equal cells, mirror images."""

import numpy as np
import pytest
from graded_cells import ALONG_X, ALONG_Y, Box, GradedBody
from graded_core import applied_load, graded_core, magnetised_cells
from graded_force import force_on_body

from coilgen.physics.core.body import Body
from coilgen.physics.core.holding import holding
from coilgen.physics.core.magnetisation_curve import saturating_curve
from coilgen.physics.core.soft_core import magnetised
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere

STEEL = saturating_curve(800.0, 1.6)


def block(low, high, counts):
    lines = [1e-3 * np.linspace(a, b, n + 1) for a, b, n in zip(low, high, counts, strict=True)]
    box = Box(low=tuple(1e-3 * v for v in low), high=tuple(1e-3 * v for v in high))
    return GradedBody(boxes=(box,), lines=tuple(lines))


def swapped(body, order):
    (box,) = body.boxes
    turned = Box(low=tuple(box.low[k] for k in order), high=tuple(box.high[k] for k in order))
    return GradedBody(boxes=(turned,), lines=tuple(body.lines[k] for k in order))


PAIR = (block((-1, -1, 0), (1, 1, 1), (4, 4, 2)), block((-0.5, -1, 1.2), (1.5, 1, 2.2), (4, 4, 2)))


def forces(bodies, field, symmetries=()):
    one = graded_core(bodies, (STEEL,) * len(bodies), symmetries)
    state = magnetised_cells(one, applied_load(one, field), tolerance=1e-7)
    return [force_on_body(state, number, field) for number in range(len(bodies))]


def test_action_is_reaction_in_an_even_field():
    first, second = forces(PAIR, lambda p: np.tile([0.1, 0.0, 0.3], (len(p), 1)))
    assert np.allclose(first, -second, atol=1e-4 * np.linalg.norm(first))
    assert first[2] > 0.0 > second[2]


@pytest.mark.parametrize("order", [(1, 2, 0), (2, 0, 1)])
def test_all_axes_are_alike(order):
    field = np.array([0.1, 0.0, 0.3])
    here = forces(PAIR, lambda p: np.tile(field, (len(p), 1)))[1]
    there = forces([swapped(one, order) for one in PAIR], lambda p: np.tile(field[list(order)], (len(p), 1)))[
        1
    ]
    assert np.allclose(there, here[list(order)], atol=1e-4 * np.linalg.norm(here))


def loop():
    angle = 2 * np.pi * np.arange(64) / 64
    ring = 2.5e-3 * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    return Filaments(
        start=ring, end=np.roll(ring, -1, axis=0), width=np.full(64, 2e-4), thickness=np.full(64, 35e-6)
    )


def test_a_winding_pulls_as_it_does_on_the_grid_of_equal_cells():
    """A target and a core, saturated in part; and a quarter of both with its images."""
    target, back = (
        Body(form="plate", size=(4e-3, 4e-3), thickness=1e-3, bottom=z) for z in (0.4e-3, -1.5e-3)
    )
    setup = holding(loop(), target, (back,), (STEEL, STEEL), 0.5e-3)
    theirs = setup.force(magnetised(setup.core, 60.0 * setup.load, tolerance=1e-7), 60.0)
    path = loop()

    def field(points):
        return 60.0 * flux_density_per_ampere(path, np.ascontiguousarray(points))

    heights = ((0.4, 1.4), (-1.5, -0.5))
    bodies = [block((-2, -2, a), (2, 2, b), (8, 8, 2)) for a, b in heights]
    whole = forces(bodies, field)[0]
    assert whole[2] == pytest.approx(theirs, rel=2e-2)
    assert np.abs(whole[:2]).max() < 1e-3 * abs(theirs)
    quarters = [block((0, 0, a), (2, 2, b), (4, 4, 2)) for a, b in heights]
    quarter = forces(quarters, field, (ALONG_X, ALONG_Y))[0]
    assert quarter[2] == pytest.approx(whole[2], rel=1e-3)
    assert not np.any(quarter[:2])
