"""Resistance of strips: published values first, then laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import digamma

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.circuit.resistance import (
    barrel_resistance,
    bend_loss,
    bends,
    path_squares,
    trace_resistance,
)

COPPER = 1.7241e-8
"""Ohm m at 20 degC: International Annealed Copper Standard, IEC 60028."""


def polyline(points: list[tuple[float, float]], width: float = 1e-3, thickness: float = 35e-6) -> Conductor:
    corners = np.array(points)
    n = len(corners) - 1
    return Conductor(
        start=corners[:-1],
        end=corners[1:],
        centre=np.full((n, 2), np.nan),
        sweep=np.zeros(n),
        width=np.full(n, width),
        thickness=np.full(n, thickness),
        z=np.zeros(n),
        layer=np.ones(n, dtype=np.int64),
    )


def test_a_square_of_one_ounce_copper() -> None:
    # 0.4926 milliohm a square at 35 um follows from IEC 60028.
    strip = polyline([(0, 0), (1e-3, 0)])
    assert trace_resistance(strip, COPPER) == pytest.approx(0.4926e-3, rel=1e-4)


def test_bend_loss_with_another_digamma() -> None:
    # The conformal map's formula with scipy's digamma in place of our series.
    angle = np.linspace(0.0, 3.0, 50)
    difference = digamma((1 + angle / np.pi) / 2) - digamma(0.5)
    assert bend_loss(angle) == pytest.approx(np.tan(angle / 2) - 2 / np.pi * difference, rel=1e-12, abs=1e-13)


def test_a_straight_strip() -> None:
    # Resistivity times length over cross-section.
    strip = polyline([(0, 0), (0.1, 0)], width=0.2e-3)
    assert trace_resistance(strip, COPPER) == pytest.approx(COPPER * 0.1 / (0.2e-3 * 35e-6), rel=1e-12)


@pytest.mark.parametrize(("degrees", "loss"), [(90, 0.441271), (60, 0.166555), (45, 0.089027)])
def test_bends(degrees: float, loss: float) -> None:
    # 90 degrees: the corner's square counts 0.55873 (Hall, Thin Solid Films 1, 1967); others: conformal map.
    assert float(bend_loss(np.radians(degrees))) == pytest.approx(loss, abs=1e-6)


def test_a_corner_counts_less_than_its_square() -> None:
    bent = polyline([(0, 0), (5e-3, 0), (5e-3, 5e-3)])
    assert trace_resistance(bent, COPPER) == pytest.approx(COPPER / 35e-6 * (10 - 0.441271), rel=1e-6)


def quarter_arc(radius: float, width: float = 1e-3) -> Conductor:
    return Conductor(
        start=np.array([[radius, 0]]),
        end=np.array([[0, radius]]),
        centre=np.zeros((1, 2)),
        sweep=np.array([np.pi / 2]),
        width=np.array([width]),
        thickness=np.array([35e-6]),
        z=np.zeros(1),
        layer=np.ones(1, dtype=np.int64),
    )


def test_a_ring_of_current_flows_by_its_radii() -> None:
    # A quarter annulus between radii 1 and 2 mm: (pi/2) / ln 2 squares, from the potential of a vortex flow.
    arc = quarter_arc(1.5e-3)
    assert float(path_squares(arc)[0]) == pytest.approx(np.pi / 2 / np.log(2), rel=1e-12)


def test_an_arc_tighter_than_its_width_is_refused() -> None:
    with pytest.raises(ValueError, match="no radius"):
        path_squares(quarter_arc(0.4e-3))


@given(st.floats(0.01, 1.4), st.floats(0.01, 1.4))
def test_two_small_bends_lose_less_than_one_large(first: float, second: float) -> None:
    assert bend_loss(first) + bend_loss(second) < bend_loss(first + second)


@given(st.floats(0.1, 3.0))
def test_bends_are_seen_whichever_way_they_turn(angle: float) -> None:
    ends = [(5e-3 + 5e-3 * np.cos(turn), 5e-3 * np.sin(turn)) for turn in (angle, -angle)]
    for end in ends:
        assert float(bends(polyline([(0, 0), (5e-3, 0), end]))[0]) == pytest.approx(angle, abs=1e-9)


@pytest.mark.parametrize("sweep", [1.1, -1.1])
@pytest.mark.parametrize(("before", "after"), [(0.0, 0.0), (0.5, 0.0), (0.0, -0.7), (-0.3, 1.2)])
def test_arcs_bend_by_how_they_leave_and_arrive(sweep: float, before: float, after: float) -> None:
    """A line, an arc that leaves it at 0.4 rad, a line; before, after: by what they turn at their corners."""
    leaves = 0.4
    spoke = -np.sign(sweep) * 1j * np.exp(1j * leaves)  # from the centre to where the arc begins
    begin, centre = 0j, -spoke * 3e-3
    end = centre + (begin - centre) * np.exp(1j * sweep)
    lines = (
        begin - 2e-3 * np.exp(1j * (leaves - before)),
        end + 2e-3 * np.exp(1j * (leaves + sweep + after)),
    )
    points = np.array([lines[0], begin, end, lines[1]])
    path = polyline([(each.real, each.imag) for each in points])
    path.centre[1], path.sweep[1] = (centre.real, centre.imag), sweep
    assert bends(path) == pytest.approx([abs(before), abs(after)], abs=1e-9)


def test_a_barrel_is_a_tube() -> None:
    tube = np.pi / 4 * (0.3e-3**2 - 0.26e-3**2)
    assert float(barrel_resistance(1.6e-3, 0.3e-3, 20e-6, COPPER)) == pytest.approx(COPPER * 1.6e-3 / tube)
