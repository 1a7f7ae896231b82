"""Permeability at the level of a drive: closed forms and limits."""

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import IRON_ROD, MM, OUTER, STEEL_DISC

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.metal.drive_level import (
    at_rest,
    chord_permeability,
    drive_permeabilities,
)
from coilgen.physics.metal.ring_field import Rings
from coilgen.physics.metal.round_mesh import RoundBody


def test_flux_density_of_an_even_field():
    rings = Rings(radius=np.array([1.0, 1.0]), height=np.array([-0.5, 0.5]), share=np.ones(2))
    disc = RoundBody(inner=2 * MM, outer=9 * MM, bottom=-MM, top=MM, conductivity=1e7)
    field = 2 * 0.8**1.5 * MU0 / 2
    assert at_rest([disc], rings, 0.1).flux_density == pytest.approx([field], rel=1e-3)


def test_secant_of_a_curve():
    curve = saturating_curve(1000.0, 2.0)
    assert chord_permeability(curve, 0.0) == pytest.approx(1000.0, rel=0.02)
    assert chord_permeability(curve, 3.0) == pytest.approx(3.0 / (3.0 - 2.0), rel=0.02)
    assert chord_permeability(straight_curve(50.0), 1.0) == pytest.approx(50.0)


def test_a_bias_takes_permeability_and_a_small_swing_sees_the_slope():
    curve = saturating_curve(1000.0, 1.0)
    biased = [chord_permeability(curve, 1e-4, bias) for bias in (0.0, 0.5, 0.9, 1.5)]
    assert biased == sorted(biased, reverse=True)
    assert biased[-1] < 10.0
    low, high = (b / (MU0 * chord_permeability(curve, b)) for b in (0.499, 0.501))
    assert biased[1] == pytest.approx(0.002 / (MU0 * (high - low)), rel=0.02)
    args = (at_rest([STEEL_DISC], OUTER, MM), [curve], 1e-3)
    free, held = (drive_permeabilities(*args, bias=bias)[0] for bias in (None, np.array([0.9])))
    assert held < 0.7 * free


def test_drive_saturates():
    curve = saturating_curve(500.0, 1.0)
    rod = at_rest([IRON_ROD], OUTER, MM)
    weak, strong = (drive_permeabilities(rod, [curve], current)[0] for current in (1e-3, 3000.0))
    assert weak == pytest.approx(500.0, rel=0.03)
    assert strong < 100.0
    two = drive_permeabilities(at_rest([IRON_ROD, STEEL_DISC], OUTER, MM), [None, None], 1.0)
    assert two == pytest.approx([500.0, 1000.0])


def test_permeability_agrees_with_the_flux_density_it_leads_to():
    curve, current = saturating_curve(500.0, 1.0), 300.0
    found = drive_permeabilities(at_rest([IRON_ROD], OUTER, MM), [curve], current)[0]
    told = at_rest([replace(IRON_ROD, permeability=float(found))], OUTER, MM).flux_density[0]
    assert found < 450.0
    assert found == pytest.approx(chord_permeability(curve, current * float(told)), rel=0.01)
