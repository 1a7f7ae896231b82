"""Round windings as whole turns: what becomes a turn, what is left, and their inductances."""

from dataclasses import replace

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spirals import MM, Section, joined, loop, mirrored, polygon_spiral, polyline, round_spiral, turned

from coilgen.physics.inductance import rings
from coilgen.physics.inductance.mitred_strips import mitred_strips
from coilgen.physics.inductance.rings import turns_inductance, turns_with_strips
from coilgen.physics.inductance.round_turns import round_turns
from coilgen.physics.inductance.strip_pairs import pair_inductances

SECTION = Section(width=0.2)


def all_pairs(strips):
    i, j = np.indices((len(strips), len(strips))).reshape(2, -1)
    return float(pair_inductances(strips, i, j).sum())


def turns_only(conductor):
    turns, rest = round_turns(conductor)
    assert len(rest.sweep) == 0
    layers = [np.flatnonzero(turns.layer == k) for k in np.unique(turns.layer)]
    return sum(turns_inductance(turns, a, b) for a in layers for b in layers)


def test_turns_have_their_mean_radius():
    turns, _ = round_turns(round_spiral(3, 4.0, 0.5, SECTION))
    # Mean over the angle of a radius that grows by one pitch a turn from the start radius.
    assert turns.mean_radius == pytest.approx(np.array([4.25, 4.75, 5.25]) * MM, rel=2e-4)
    assert turns.drift == pytest.approx(0.5 * MM / (2 * np.pi), rel=1e-2)
    assert abs(turns.axis) < 1e-12


def test_a_part_of_a_turn_is_left_at_the_inner_end():
    spiral = round_spiral(3, 4.0, 0.5, SECTION)
    short = replace(spiral, **{name: values[2:] for name, values in vars(spiral).items()})
    turns, rest = round_turns(short)
    assert len(turns) == 2
    assert rest.sweep.sum() == pytest.approx(np.pi, rel=2e-3)
    assert rest.start[0] == pytest.approx(short.start[0])
    # An inward spiral leaves it at its end.
    turns, rest = round_turns(mirrored(short))
    assert rest.end[-1] == pytest.approx(short.start[0] * [1, -1])


def test_polygons_and_short_arcs_are_no_turns():
    polygon = polygon_spiral(4, 2, 3.0, 0.5, SECTION)
    quarter = round_spiral(1, 4.0, 0.5, SECTION)
    quarter = replace(quarter, **{name: values[:1] for name, values in vars(quarter).items()})
    for conductor in (polygon, quarter):
        turns, rest = round_turns(conductor)
        assert len(turns) == 0
        assert np.array_equal(rest.start, conductor.start)


@pytest.mark.parametrize(
    ("turns", "radius", "pitch", "width", "heights", "accuracy"),
    [
        (1, 5.0, 0.3, 0.15, (0.0,), 4e-4),
        (3, 2.0, 0.5, 0.3, (0.0,), 5e-4),
        (5, 5.0, 0.3, 0.15, (0.0,), 2e-4),
        (8, 0.5, 0.3, 0.15, (0.0,), 3e-4),
        (3, 10.0, 2.0, 1.8, (0.0,), 4e-4),
        (4, 5.0, 0.5, 0.3, (0.0, 0.2), 3e-4),
        (4, 3.0, 0.5, 0.3, (0.0, 1.5), 2e-4),
    ],
)
def test_turns_against_fine_chords(turns, radius, pitch, width, heights, accuracy):
    spiral = round_spiral(turns, radius, pitch, Section(width=width, heights=heights))
    fine = all_pairs(mitred_strips(spiral, np.pi / 36))
    assert turns_only(spiral) == pytest.approx(fine, rel=accuracy)


@settings(max_examples=20)
@given(st.floats(0.0, 6.0), st.integers(1, 6), st.booleans())
def test_turning_and_mirroring_change_nothing(angle, count, flip):
    spiral = round_spiral(count, 4.0, 0.5, Section(width=0.3, heights=(0.0, 0.3)))
    moved = turned(mirrored(spiral) if flip else spiral, angle)
    # Which directions the radii are kept in does change, by little.
    assert turns_only(moved) == pytest.approx(turns_only(spiral), rel=2e-4)


def test_turn_with_strip_against_its_chords():
    ring = loop(5.0, SECTION)
    lead = polyline(np.array([6 - 2j, 6.5 + 1j, 2 + 8j]), Section(width=0.2, heights=(0.3,)))
    turns, _ = round_turns(joined(ring))
    strips = mitred_strips(lead)
    linked = turns_with_strips(turns, strips)
    chords = mitred_strips(joined(ring, lead), np.pi / 90)
    count = len(chords) - len(strips)
    i, j = (v.ravel() for v in np.meshgrid(np.arange(count), np.arange(count, len(chords)), indexing="ij"))
    by_chords = pair_inductances(chords, i, j).reshape(count, -1).sum(axis=0)
    assert linked[0] == pytest.approx(by_chords, rel=2e-3, abs=1e-13)


def test_turn_with_closed_path_against_the_flux_of_an_independent_field():
    # A square path beside and above a turn; flux by Gauss points over the square's face.
    ring = loop(5.0, Section(width=0.01, thickness=0.01))
    corners = np.array([1 + 1j, 4 + 1j, 4 + 4j, 1 + 4j, 1 + 1j])
    path = polyline(corners, Section(width=0.01, thickness=0.01, heights=(2.0,)))
    linked = turns_with_strips(round_turns(ring)[0], mitred_strips(path)).sum()
    node, weight = np.polynomial.legendre.leggauss(20)
    x, y = np.meshgrid(2.5 + 1.5 * node, 2.5 + 1.5 * node)
    points = np.stack([x.ravel(), y.ravel(), np.full(x.size, 2.0)], axis=1) * MM
    field = magpylib.current.Circle(diameter=10 * MM, current=1.0).getB(points)[:, 2]
    flux = (1.5 * MM) ** 2 * np.outer(weight, weight).ravel() @ field
    assert linked == pytest.approx(flux, rel=1e-5)


def test_few_circles_stand_for_turns_far_apart(monkeypatch):
    """Layers that wind alike and that wind the other way, beside one another and over one another."""
    spiral = round_spiral(30, 5.0, 0.3, SECTION)
    coil = joined(spiral, replace(mirrored(spiral), z=spiral.z - 0.4 * MM, layer=spiral.layer + 1))
    few = turns_only(coil)
    monkeypatch.setattr(rings, "_FAR", np.inf)
    assert few == pytest.approx(turns_only(coil), rel=5e-7)
    assert few != turns_only(coil)


def test_where_turns_go_on_with_each_other_ends_that_cancel_add_nothing(monkeypatch):
    turns, _ = round_turns(round_spiral(6, 4.0, 0.5, SECTION))
    rows = np.arange(len(turns))
    equal = turns_inductance(turns, rows, rows)
    hair = replace(turns, width=turns.width * (1.0 + 1e-7 * rows))  # no end is another's
    assert turns_inductance(hair, rows, rows) == pytest.approx(equal, rel=1e-6)
    monkeypatch.setattr(rings, "_seams", lambda *_: 0.0)
    assert turns_inductance(turns, rows, rows) != pytest.approx(equal, rel=1e-4)
