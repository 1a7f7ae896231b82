"""Fields of evenly charged boxes at all distances, against many charges in place of each."""

import numpy as np
import pytest

from coilgen.physics.core.charge_field import boxes_flux_density

MU0 = 4e-7 * np.pi
SIZES = [(1.0, 1.0, 1.0), (1.0, 1.0, 0.1), (0.2, 1.0, 0.3), (1.0, 0.7, 1e-4), (0.1, 0.1, 1.0)]


def directions(count: int) -> np.ndarray:
    out = np.random.default_rng(7).normal(size=(count, 3))
    return out / np.linalg.norm(out, axis=1)[:, None]


def by_many_charges(boxes, points, order=12):
    """Gauss's rule of so many points an axis in each box."""
    node, weight = np.polynomial.legendre.leggauss(order)
    at = np.stack(np.meshgrid(node, node, node, indexing="ij"), axis=-1).reshape(-1, 3) / 2
    share = np.einsum("i,j,k->ijk", weight, weight, weight).ravel() / 8
    out = np.zeros_like(points)
    for box in boxes:
        away = points[:, None] - (box[:3] + at * box[3:6])
        out += box[6] * np.einsum("g,ngk,ng->nk", share, away, np.linalg.norm(away, axis=2) ** -3)
    return MU0 / (4 * np.pi) * out


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("distance", [1.5, 2.9, 3.1, 5.9, 6.1, 9.0, 13.0, 40.0])
def test_field_of_a_box(size, distance):
    boxes = np.array([[0.0, 0.0, 0.0, *size, 1.0]])
    points = distance * directions(40)
    found, expected = boxes_flux_density(boxes, points), by_many_charges(boxes, points)
    off = np.linalg.norm(found - expected, axis=1) / np.linalg.norm(expected, axis=1)
    assert off.max() < (6e-4 if distance < 6 else 1e-4)


def test_small_differences_of_charges_far_away():
    """Opposite charges on neighbours of unlike shapes, as of a cell and its face: what is left of them."""
    boxes = np.array([[0.0, 0.0, 0.0, 1.0, 1.0, 0.2, 1.0], [0.0, 0.0, 0.1, 1.0, 1.0, 1e-4, -1.0]])
    points = 12.5 * directions(40)
    found, expected = boxes_flux_density(boxes, points), by_many_charges(boxes, points)
    assert np.linalg.norm(found - expected) < 1e-4 * np.linalg.norm(expected)


def test_in_the_very_middle_of_a_charge_its_field_is_none():
    """Of a box by its symmetry, with what others make there; as half a picometre beside it."""
    boxes = np.array([[0.0, 0.0, 0.0, 2e-3, 1e-3, 1e-9, 1.0], [5e-3, 0.0, 1e-3, 1e-3, 1e-3, 1e-3, 2.0]])
    alone = boxes_flux_density(boxes[:1], np.zeros((1, 3)))
    beside = boxes_flux_density(boxes, np.array([[0.0, 0.0, 0.0], [5e-13, 0.0, 0.0]]))
    assert np.abs(alone).max() < 1e-9 * np.abs(beside).max()
    assert beside[0] == pytest.approx(beside[1], rel=1e-6, abs=1e-12 * np.abs(beside).max())
