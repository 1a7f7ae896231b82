"""Inductance of whole windings against exact values, an independent field, and the laws of induction."""

from dataclasses import replace

import magpylib
import numpy as np
import pytest
from flat_rings import ring_self_inductance
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from spirals import (
    MM,
    Section,
    archimedean_spiral,
    joined,
    loop,
    mirrored,
    placed,
    polygon_spiral,
    polyline,
    reversed_current,
    round_spiral,
    scaled,
    turned,
)

from coilgen.physics.inductance.mitred_strips import mitred_strips
from coilgen.physics.inductance.rings import turns_inductance
from coilgen.physics.inductance.round_turns import round_turns
from coilgen.physics.inductance.strip_pairs import pair_inductances
from coilgen.physics.inductance.winding import layer_inductances

TWO = (0.0, 0.2)

# Uniform current, no leads, no vias: computed once by two independent methods. Round ones are Archimedean.
EXACT = [
    (polygon_spiral(4, 3, 2.0, 0.5, Section(width=0.3)), 0.083399e-6, 1e-4),
    (polygon_spiral(4, 10, 6.0, 0.5, Section(width=0.3)), 2.73665e-6, 2e-5),
    (polygon_spiral(4, 10, 6.0, 1.0, Section(width=0.8, heights=TWO)), 11.0149e-6, 2e-5),
    (polygon_spiral(6, 5, 2.0, 0.6, Section(width=0.4)), 0.208751e-6, 2e-4),
    (archimedean_spiral(5, 2.0, 0.5, Section(width=0.3)), 0.1967e-6, 4e-4),
    (archimedean_spiral(10, 5.0, 0.6, Section(width=0.4, thickness=0.07, heights=TWO)), 7.45014e-6, 2e-4),
    (archimedean_spiral(20, 10.0, 0.25, Section(width=0.12, thickness=0.018)), 15.8597e-6, 2e-4),
]
# The same by quarter arcs, which differ from the Archimedean spiral by a part of the pitch over the radius.
ARCS = [
    (round_spiral(5, 2.0, 0.5, Section(width=0.3)), 0.1967e-6, 1e-3),
    (round_spiral(10, 5.0, 0.6, Section(width=0.4, thickness=0.07, heights=TWO)), 7.45014e-6, 3e-4),
    (round_spiral(20, 10.0, 0.25, Section(width=0.12, thickness=0.018)), 15.8597e-6, 2e-4),
]

SMALL = {
    "square": polygon_spiral(4, 3, 3.0, 0.5, Section(width=0.3, heights=(0.0, -0.3, -1.2))),
    "hexagonal": polygon_spiral(6, 3, 3.0, 0.5, Section(width=0.3, heights=(0.0, -0.3, -1.2))),
    "round": round_spiral(3, 3.0, 0.5, Section(width=0.3, heights=(0.0, -0.3, -1.2))),
}
shapes = pytest.mark.parametrize("coil", SMALL.values(), ids=SMALL)


def all_pairs(conductor, finest=np.pi / 18):
    strips = mitred_strips(conductor, finest)
    i, j = np.indices((len(strips), len(strips))).reshape(2, -1)
    return float(pair_inductances(strips, i, j).sum())


@pytest.mark.parametrize(("coil", "henry", "accuracy"), EXACT)
def test_exact_values_by_strips(coil, henry, accuracy):
    found = layer_inductances(coil)
    assert found.method == "mitred strips"
    assert found.total == pytest.approx(henry, rel=accuracy)


@pytest.mark.parametrize(("coil", "henry", "accuracy"), ARCS)
def test_exact_values_by_rings(coil, henry, accuracy):
    found = layer_inductances(coil)
    assert found.method == "rings"
    assert found.total == pytest.approx(henry, rel=accuracy)


def test_one_ring():
    ring = layer_inductances(loop(5.0, Section(width=1.0)))
    assert ring.total == pytest.approx(ring_self_inductance(5 * MM, 1 * MM, 35e-6), rel=3e-4)


@shapes
def test_series_sum_and_couplings(coil):
    found = layer_inductances(coil)
    assert found.layers == (1, 2, 3)
    assert found.matrix.sum() == pytest.approx(found.total, rel=1e-12)
    assert np.diag(found.coupling) == pytest.approx(1.0)
    assert np.all((found.coupling > 0.0) & (found.coupling < 1.0 + 1e-12))
    assert found.coupling[0, 1] > found.coupling[1, 2] > found.coupling[0, 2]


@shapes
def test_equal_blocks_are_what_all_pairs_are(coil):
    accuracy = 4e-4 if layer_inductances(coil).method == "rings" else 1e-9
    assert layer_inductances(coil).total == pytest.approx(all_pairs(coil), rel=accuracy)


@pytest.mark.parametrize("angle", [0.0, 0.4])
def test_equal_blocks_of_rings_are_what_each_pair_of_layers_is(angle):
    one = round_spiral(4, 3.0, 0.5, Section(width=0.3))
    parts = [one, mirrored(one), turned(one, angle), mirrored(turned(one, angle))]
    coil = joined(*(placed(part, k + 1, -0.3 * k) for k, part in enumerate(parts)))
    turns, _ = round_turns(coil)
    rows = [np.flatnonzero(turns.layer == k) for k in (1, 2, 3, 4)]
    expected = np.array([[turns_inductance(turns, a, b) for b in rows] for a in rows])
    assert layer_inductances(coil).matrix == pytest.approx(expected, rel=1e-6)


@shapes
def test_scales_with_size(coil):
    whole = layer_inductances(scaled(coil, 3.0))
    assert whole.matrix == pytest.approx(3.0 * layer_inductances(coil).matrix, rel=1e-9)


@shapes
def test_reciprocity(coil):
    matrix = layer_inductances(coil).matrix
    assert np.array_equal(matrix, matrix.T)


@shapes
def test_the_current_reversed_and_the_board_turned_over_change_nothing(coil):
    found = layer_inductances(coil).matrix
    assert layer_inductances(reversed_current(coil)).matrix == pytest.approx(found, rel=1e-9)
    assert layer_inductances(mirrored(coil)).matrix == pytest.approx(found, rel=2e-4)
    assert layer_inductances(replace(coil, z=-coil.z)).matrix == pytest.approx(found, rel=1e-9)


@shapes
def test_a_layer_reversed_changes_the_sign_of_its_mutual_inductances(coil):
    first, second = (
        replace(coil, **{name: values[coil.layer == k] for name, values in vars(coil).items()})
        for k in (1, 2)
    )
    aiding = layer_inductances(joined(first, second)).matrix
    opposing = layer_inductances(joined(first, reversed_current(second))).matrix
    # Round turns are counted from their begin, which is at the other end then.
    assert opposing == pytest.approx(aiding * [[1, -1], [-1, 1]], rel=2e-4)


@pytest.mark.parametrize("angle", [0.3, 1.8])
def test_layers_turned_against_each_other_are_all_pairs(angle):
    one = polygon_spiral(6, 3, 3.0, 0.5, Section(width=0.3))
    coil = joined(*(placed(turned(one, k * angle), k + 1, -0.2 * k) for k in range(4)))
    assert layer_inductances(coil).total == pytest.approx(all_pairs(coil), rel=1e-9)


def test_layers_of_unlike_thickness_are_all_pairs():
    coil = SMALL["square"]
    coil = replace(coil, thickness=np.where(coil.layer == 2, 15e-6, 35e-6))
    assert layer_inductances(coil).total == pytest.approx(all_pairs(coil), rel=1e-9)


def leads(coil, height):
    first, last = (complex(*point) / MM for point in (coil.start[0], coil.end[-1]))
    section = Section(width=0.3, heights=(height,))
    outer = polyline(np.array([last, 1.1 * last, 1.1 * last + 2]), section)
    return polyline(np.array([first - 0.5 - 0.5j, first]), section), outer


@pytest.mark.parametrize("name", ["square", "round"])
def test_leads_count(name):
    whole = SMALL[name]
    one = replace(whole, **{key: values[whole.layer == 1] for key, values in vars(whole).items()})
    inner, outer = leads(one, 0.0)
    coil = joined(inner, one, outer)
    found = layer_inductances(coil)
    assert found.total > layer_inductances(one).total
    # A bend away from the end of a ring is uncertain by a fraction of a nanohenry.
    assert found.total == pytest.approx(all_pairs(coil, np.pi / 60), abs=0.25e-9)


def test_part_of_a_turn_is_left_to_chords():
    spiral = round_spiral(6, 3.0, 0.5, Section(width=0.3))
    part = replace(spiral, **{name: values[1:-2] for name, values in vars(spiral).items()})
    found = layer_inductances(part)
    assert found.method == "rings"
    assert found.total == pytest.approx(all_pairs(part, np.pi / 60), rel=4e-4)


def test_mutual_inductance_against_the_flux_of_an_independent_field():
    # Two thin square turns on two layers: flux of one's field, by Gauss points, through the other.
    thin = Section(width=0.02, thickness=0.01)
    square = np.array([1 + 1j, -1 + 1j, -1 - 1j, 1 - 1j, 1 + 1j])
    coil = joined(placed(polyline(5 * square, thin), 1, 0.0), placed(polyline(3 * square, thin), 2, -1.0))
    corners = 5 * MM * np.stack([square.real, square.imag, 0 * square.real], axis=1)
    wire = magpylib.current.Polyline(current=1.0, vertices=corners)
    node, weight = np.polynomial.legendre.leggauss(30)
    x, y = np.meshgrid(3 * node, 3 * node)
    field = wire.getB(np.stack([x.ravel(), y.ravel(), np.full(x.size, -1.0)], axis=1) * MM)[:, 2]
    flux = (3 * MM) ** 2 * np.outer(weight, weight).ravel() @ field
    assert layer_inductances(coil).matrix[0, 1] == pytest.approx(flux, rel=1e-4)


@pytest.mark.parametrize("height", [0.5, 2.0])
def test_circles_against_the_flux_of_an_independent_field(height):
    thin = Section(width=0.02, thickness=0.01)
    coil = joined(placed(loop(5.0, thin), 1, 0.0), placed(loop(4.0, thin), 2, -height))
    node, weight = np.polynomial.legendre.leggauss(60)
    r = 2 * (node + 1) * MM
    points = np.stack([r, 0 * r, np.full_like(r, height * MM)], axis=1)
    field = magpylib.current.Circle(diameter=10 * MM, current=1.0).getB(points)[:, 2]
    flux = 2 * MM * weight @ (2 * np.pi * r * field)
    assert layer_inductances(coil).matrix[0, 1] == pytest.approx(flux, rel=1e-4)


def test_chords_converge_in_second_order():
    # A chord's height over its length goes with the angle, and so the error with its square.
    ring = loop(5.0, Section(width=0.02, thickness=0.01))
    exact = ring_self_inductance(5 * MM, 0.02 * MM, 10e-6)
    errors = np.array([all_pairs(ring, np.pi / n) / exact - 1 for n in (4, 8)])
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.25)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([3, 4, 6, 0]),
    st.integers(1, 4),
    st.floats(1.5, 6.0),
    st.floats(0.3, 1.0),
    st.floats(0.2, 0.95),
    st.lists(st.floats(0.05, 1.0), min_size=1, max_size=4),
    st.floats(-3.0, 3.0),
)
def test_energy_is_positive_for_every_share_of_currents(sides, turns, start, pitch, share, gaps, angle):
    assume(start > 2 * share * pitch)
    section = Section(width=share * pitch)
    one = (
        polygon_spiral(sides, turns, start, pitch, section)
        if sides
        else round_spiral(turns, start, pitch, section)
    )
    heights = -np.cumsum([0.0, *gaps])
    coil = joined(*(placed(turned(one, k * angle), k + 1, z) for k, z in enumerate(heights)))
    found = layer_inductances(coil)
    assert np.linalg.eigvalsh(found.matrix).min() > 0.0
    assert 0.0 < found.relative_error < 0.2


def test_a_conductor_without_pieces_is_refused():
    coil = SMALL["square"]
    with pytest.raises(ValueError, match="without pieces"):
        layer_inductances(replace(coil, **{name: values[:0] for name, values in vars(coil).items()}))
