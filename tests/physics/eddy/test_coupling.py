"""The structured inductance matrix against the plain one of all circles."""

from dataclasses import replace

import numpy as np
import pytest

from coilgen.physics.eddy.coupling import clearance, coupling, radii
from coilgen.physics.eddy.section import mean_distances, section
from coilgen.physics.eddy.turns import Turns
from coilgen.physics.inductance.coaxial_circles import circles_at_distance, mutual_inductance


def stack(*, layers, turns, pitch=0.5e-3, width=0.3e-3, gap=0.2e-3, thickness=35e-6):
    radius = np.tile(3e-3 + pitch * np.arange(turns), layers)
    count = len(radius)
    return Turns(
        radius=radius,
        length=2 * np.pi * radius,
        fraction=np.ones(count),
        z=np.repeat(-gap * np.arange(layers), turns),
        width=np.full(count, width),
        thickness=np.full(count, thickness),
        points=np.zeros((0, count, 2)),
        piece=np.zeros(count, dtype=np.int64),
        share=np.zeros(0),
        shift=np.zeros((0, count)),
    )


def plain_matrix(turns, cells, own):
    """All pairs of circles through the filaments' middles, and the given blocks within turns."""
    radius = radii(turns, cells.y)
    height = turns.z[:, None] + 0.5 * turns.thickness[:, None] * cells.z
    r, z = radius.ravel(), height.ravel()
    count, filaments = radius.shape
    with np.errstate(divide="ignore", invalid="ignore"):
        matrix = mutual_inductance(r[:, None], r, z[:, None] - z)
    blocks = matrix.reshape(count, filaments, count, filaments)
    blocks[np.arange(count), :, np.arange(count), :] = own
    return matrix


def unit_currents(count, filaments):
    return np.eye(count * filaments).reshape(count, filaments, -1)


@pytest.mark.parametrize("through", [1.0, 0.5])
@pytest.mark.parametrize(("layers", "turns"), [(1, 1), (1, 6), (3, 9)])
def test_agrees_with_all_circles(layers, turns, through):
    winding, cells = stack(layers=layers, turns=turns), section(edge=0.15, largest=0.4, through=through)
    parts = coupling(winding, cells)
    plain = plain_matrix(winding, cells, parts.own)
    rng = np.random.default_rng(0)
    currents = rng.standard_normal((layers * turns, len(cells.y), 3))
    expected = (plain @ currents.reshape(plain.shape[0], -1)).reshape(currents.shape)
    assert np.abs(parts.flux(currents) - expected).max() < 3e-4 * np.abs(expected).max()


def test_symmetric_and_positive_definite():
    winding, cells = stack(layers=2, turns=5), section(edge=0.2, largest=0.4, through=0.6)
    parts, count = coupling(winding, cells), 10 * len(cells.y)
    nowhere = replace(parts.far, mutual=0 * parts.far.mutual, slope=0 * parts.far.slope)
    # Far turns' inductances have single precision.
    for some, precision in ((replace(parts, far=nowhere), 1e-12), (parts, 1e-7)):
        matrix = some.flux(unit_currents(10, len(cells.y))).reshape(count, -1)
        assert np.allclose(matrix, matrix.T, rtol=0, atol=precision * np.abs(matrix).max())
    assert np.linalg.eigvalsh(matrix).min() > 0
    assert np.array_equal(parts.far.mutual, parts.far.mutual.T)
    assert np.array_equal(parts.far.slope, -parts.far.slope.T)


def test_many_turns_far_apart_are_close_too():
    """Every kind of pair occurs: own, near, middle, far."""
    winding, cells = stack(layers=2, turns=30), section(edge=0.3, largest=0.5, through=1.0)
    uniform = np.broadcast_to(0.5 * cells.dy[:, None], (60, len(cells.y), 1))
    parts = coupling(winding, cells)
    expected = plain_matrix(winding, cells, parts.own) @ uniform.reshape(-1, 1)
    assert np.allclose(parts.flux(uniform).ravel(), expected.ravel(), rtol=2e-4)


def test_within_many_turns_of_one_section_radii_share_what_few_tell():
    """To 1e-9 of each entry what circles at every radius have, of two sections side by side."""
    winding, cells = stack(layers=2, turns=40), section(edge=0.2, largest=0.4, through=0.6)
    winding.thickness[:40] *= 0.5
    own = coupling(winding, cells).own
    y = radii(winding, cells.y)
    for turn in (0, 17, 39, 40, 61, 79):
        distances = mean_distances(cells, winding.width[turn], winding.thickness[turn])
        expected = circles_at_distance(y[turn][:, None], y[turn], 0.0, distances)
        assert np.allclose(own[turn], expected, rtol=1e-9, atol=0)


def test_clearance_is_the_narrowest_gap():
    assert clearance(stack(layers=1, turns=3)) == pytest.approx(0.2e-3)
    assert clearance(stack(layers=2, turns=3, gap=0.1e-3)) == pytest.approx(65e-6)
    assert clearance(stack(layers=1, turns=1)) == np.inf
