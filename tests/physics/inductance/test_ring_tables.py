"""Windings as rings, many at once: the table against closed forms, sums over turns, force on a magnet."""

import magpylib
import numpy as np
import pytest

from coilgen.physics.inductance.coaxial_circles import mutual_inductance, rings_mutual_inductance
from coilgen.physics.inductance.ring_tables import (
    RingWindings,
    RoundMagnets,
    circles,
    rings_force,
    rings_inductance,
    rings_length,
)

HEIGHTS = (0.0, -0.2e-3, -0.5e-3)


def windings(turns, *, first=8e-3, pitch=0.3e-3) -> RingWindings:
    count = np.ones(len(turns))
    return RingWindings(
        first=first * count,
        pitch=pitch * count,
        width=0.5 * pitch * count,
        thickness=35e-6 * count,
        turns=np.asarray(turns, float),
    )


def test_circles_agree_with_elliptic_integrals_wherever_they_stand() -> None:
    one, other, rise = np.random.default_rng(0).uniform(0.05, 10, (3, 2000))
    assert circles(one, other, rise**2) == pytest.approx(mutual_inductance(one, other, rise), rel=1e-5)


def test_inductance_is_the_sum_over_all_pairs_of_turns() -> None:
    rings = windings([7])
    radius, height = np.meshgrid(rings.radii(7)[0], HEIGHTS)
    radius, height = radius.ravel(), height.ravel()
    section = (rings.width[0], rings.thickness[0])
    pairs = rings_mutual_inductance(radius[:, None], radius, height[:, None] - height, section, section)
    assert rings_inductance(rings, HEIGHTS) == pytest.approx(pairs.sum(), rel=3e-3)


def test_each_winding_has_its_own_turns_whatever_stands_beside_it() -> None:
    together = windings([3, 12, 5.5, 6, 5])
    alone = [windings([turns]) for turns in together.turns]
    for of in (lambda rings: rings_inductance(rings, HEIGHTS), rings_length):
        found = of(together)
        assert found == pytest.approx([of(each)[0] for each in alone])
        assert found[2] == pytest.approx((found[3] + found[4]) / 2)
    assert rings_length(windings([2]))[0] == pytest.approx(2 * np.pi * (8e-3 + 7.7e-3))


def test_inductance_grows_with_size_and_falls_off_with_distance() -> None:
    one, twice = windings([6]), windings([6], first=16e-3, pitch=0.6e-3)
    doubled = tuple(2 * height for height in HEIGHTS)
    thick = RingWindings(**{**vars(twice), "thickness": 2 * twice.thickness})
    assert rings_inductance(thick, doubled) == pytest.approx(2 * rings_inductance(one, HEIGHTS), rel=1e-6)


@pytest.mark.parametrize("hole", [0.0, 2e-3])
def test_force_is_that_of_the_magnets_field_on_the_rings(hole) -> None:
    rings = windings([20], pitch=0.02e-3)
    magnets = RoundMagnets(
        radius=np.array([3e-3]),
        hole=np.array([hole]),
        bottom=np.array([1e-3]),
        top=np.array([3e-3]),
        remanence=np.array([1.2]),
    )
    sources = [
        magpylib.magnet.Cylinder(polarization=(0, 0, 1.2), dimension=(6e-3, 2e-3), position=(0, 0, 2e-3))
    ]
    if hole:
        inner = magpylib.magnet.Cylinder(
            polarization=(0, 0, -1.2), dimension=(2 * hole, 2e-3), position=(0, 0, 2e-3)
        )
        sources.append(inner)
    radius, height = (each.ravel() for each in np.meshgrid(rings.radii(20)[0], HEIGHTS))
    points = np.column_stack([radius, 0 * radius, height])
    outward = sum(magpylib.getB(source, points)[:, 0] for source in sources)
    on_rings = -2 * np.pi * radius * outward  # of one ampere, counter-clockwise
    assert rings_force(rings, HEIGHTS, magnets) == pytest.approx(-on_rings.sum(), rel=1e-3)
