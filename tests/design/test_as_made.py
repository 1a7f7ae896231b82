"""What a bench learnt of a design's materials stands in place of what was asked and of its tolerance."""

import numpy as np
import pytest
from small_design import faults_with, small_with

from coilgen.design.as_made import as_made
from coilgen.physics.base.constants import MU0

NUMBERS = {"permeability": 800, "saturation": "1.6 T"}
CURVE = {"field_strength": [0, 100, 400, 2000, 20000], "flux_density": [0, 0.3, 0.9, 1.4, 1.8]}
MAGNET = {"grade": "N42", "form": "disc", "diameter": 5, "thickness": 2, "gap": 1}


def made(learnt, **tables):
    """A design as asked for, and as made by what was learnt: cause, what of, low, value, high."""
    rows = [dict(zip(("cause", "of", "low", "value", "high"), each, strict=True)) for each in learnt]
    design = small_with(calibration={"name": "bench", "learnt": rows}, **tables)
    return design, as_made(design)


def core(material):
    return {
        "core": [{"material": material, "diameter": 9, "form": "disc", "thickness": 1, "place": "bottom"}]
    }


def magnetisation(material):
    field, flux = np.array(material.field_strength), np.array(material.flux_density)
    return field, flux / MU0 - field


def test_numbers_of_a_soft_material_go_with_their_factors():
    learnt = [("metal's permeability", "", 0.8, 0.9, 1.0125), ("saturation", "", 0.95, 1.0, 1.05)]
    asked, found = (each.core[0].material for each in made(learnt, **core(NUMBERS)))
    assert found.permeability == pytest.approx(0.9 * asked.permeability)
    assert found.saturation == asked.saturation
    assert made(learnt, **core(NUMBERS))[1].tolerance.permeability == pytest.approx(0.125)


def test_a_curve_more_permeable_magnetises_as_much_in_weaker_fields():
    asked, found = made([("metal's permeability", "", 1.1, 1.25, 1.42)], **core(CURVE))
    (field, before), (weaker, after) = (magnetisation(each.core[0].material) for each in (asked, found))
    assert weaker == pytest.approx(field / 1.25)
    assert after == pytest.approx(before, rel=1e-9)


def test_a_curve_that_saturates_higher_keeps_its_permeability():
    asked, found = made([("saturation", "", 1.0, 1.1, 1.2)], **core(CURVE))
    (field, before), (stronger, after) = (magnetisation(each.core[0].material) for each in (asked, found))
    assert after == pytest.approx(1.1 * before)
    assert after[1:] / stronger[1:] == pytest.approx(before[1:] / field[1:])


def test_a_magnet_as_strong_as_learnt_has_what_is_left_open_for_its_tolerance():
    asked, found = made([("remanence", "magnet N42", 0.92, 0.95, 0.98)], magnet=MAGNET)
    assert found.magnet.remanences[1] == pytest.approx(0.95 * asked.magnet.remanences[1])
    assert found.tolerance.remanence == pytest.approx(0.03 / 0.95)


def test_what_was_learnt_of_another_magnet_is_left_out():
    asked, found = made([("remanence", "magnet N52", 0.92, 0.95, 0.98)], magnet=MAGNET)
    assert found.magnet == asked.magnet and found.tolerance == asked.tolerance
    assert found.calibration.learnt == ()


@pytest.mark.parametrize(
    ("correlation", "says"),
    [
        ([[1.0]], "is not 2 by 2"),
        ([[1.0, 0.5], [0.4, 1.0]], "is not symmetrical with ones on its diagonal"),
        ([[1.0, 1.5], [1.5, 1.0]], "contradict one another"),
    ],
)
def test_correlations_that_cannot_be_are_refused(correlation, says):
    rows = [
        {"cause": cause, "of": "", "low": 0.9, "value": 1, "high": 1.1} for cause in ("remanence", "joints")
    ]
    (line,) = faults_with(calibration={"name": "bench", "learnt": rows, "correlation": correlation})
    assert line.startswith("calibration.correlation") and says in line
