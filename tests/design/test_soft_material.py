"""Soft-magnetic materials: from the data, by two numbers, from a table of B against H, and their faults."""

import math
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_design import faults_with, small_with

from coilgen.catalogue import rows
from coilgen.design.soft_material import SoftMaterial, soft_material, written
from coilgen.physics.base.constants import MU0
from coilgen.units import quantity

SOFT = [name for name, row in rows("materials").items() if row["sort"] == "soft-magnetic"]
CURVE = {"field_strength": [0, 100, 1000], "flux_density": [0, 1, 1.5]}


def material(**facts):
    return SoftMaterial.model_validate(facts)


def faults(**facts):
    """Without the table's place: core 1.material."""
    lines = faults_with(core=[{"width": 10, "thickness": 1, "material": facts}])
    assert all(line.startswith("core 1.material.") for line in lines)
    return [line.removeprefix("core 1.material.") for line in lines]


@pytest.mark.parametrize("name", SOFT)
def test_a_named_material_has_the_facts_of_its_row(name):
    found, row = soft_material(name), rows("materials")[name]
    assert found.name == written(found) == name
    for fact in ("permeability", "density", "resistivity", "heat_conductivity", "heat_capacity"):
        assert getattr(found, fact) == row[fact]
    assert found.saturation == quantity(row["saturation"], "flux density")
    assert soft_material(name) is found


@pytest.mark.parametrize("name", SOFT)
def test_its_curve_starts_with_its_permeability_and_levels_at_its_saturation(name):
    found = soft_material(name)
    curve = found.curve
    assert 1 + 1 / float(curve.reluctivity(np.array([1.0]))[0]) == pytest.approx(found.permeability, rel=1e-3)
    assert MU0 * curve.magnetisation[-1] == pytest.approx(found.saturation, rel=1e-3)
    assert bool(curve.saturated(curve.magnetisation[-1:])[0])
    assert not curve.saturated(np.array([0.1 * found.saturation / MU0]))[0]


def test_no_material_is_taken_for_soft_iron_in_silence():
    with pytest.raises(ValueError, match='"aluminium" is not known; use one of soft iron'):
        soft_material("aluminium")
    assert faults(name="mine") == [
        "permeability: not given; give it, or a B-H table, or a material it is like"
    ]


@given(st.floats(1.001, 1e5))
def test_a_permeability_alone_never_saturates(permeability):
    found = material(permeability=permeability)
    assert found.saturation is None
    assert found.curve.straight
    assert not found.curve.saturated(np.array([1e9]))[0]
    assert found.density == rows("materials")["soft iron"]["density"]
    assert written(found) == "custom"


def test_like_fills_what_is_left_out():
    found = material(like="silicon steel", permeability=4000)
    steel = rows("materials")["silicon steel"]
    assert (found.permeability, found.saturation) == (4000.0, 2.0)
    assert found.resistivity == steel["resistivity"]
    assert written(found) == 'like "silicon steel"'
    assert written(material(like="silicon steel", name="lamination")) == "lamination"
    ferrite = material(like="Mn-Zn ferrite", density=4900)
    assert (ferrite.density, ferrite.heat_conductivity) == (4900.0, 4.0)


def test_a_table_is_taken_whole_and_without_the_curve_of_what_it_is_like():
    found = material(like="silicon steel", **CURVE)
    assert found.permeability is found.saturation is None
    assert found.density == rows("materials")["silicon steel"]["density"]
    curve = found.curve
    assert curve.field == pytest.approx([0, 100, 1000])
    assert MU0 * (curve.field + curve.magnetisation) == pytest.approx([0, 1, 1.5])
    assert material(field_strength=[100, 1000], flux_density=["1 T", "1500 mT"]).curve.field[0] == 0.0


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ({"field_strength": [0, 100, 1000], "flux_density": [0, 1]},
         "flux_density: 2 given for 3 in field_strength; give one for each"),
        ({"flux_density": [1]}, "flux_density: 1 given for 0 in field_strength; give one for each"),
        ({"field_strength": [100]}, "flux_density: 0 given for 1 in field_strength; give one for each"),
        (
            {"field_strength": [0, 100, 100], "flux_density": [0, 1, 1.5]},
            "field_strength: entry 3: 100 A/m is not over 100 A/m; "
            "give H in A/m and B in T, each rising from entry to entry",
        ),
        (
            {"field_strength": [0, 100, 1000], "flux_density": [0, 1, 1]},
            "flux_density: entry 3: 1 T is not over 1 T by more than the 0.00113 T that air adds; "
            "give H in A/m and B in T, each rising from entry to entry",
        ),
        (
            {"field_strength": [0, 100], "flux_density": [0.2, 1]},
            "field_strength: entry 1: 0 A/m is not over 0 A/m; "
            "give H in A/m and B in T, each rising from entry to entry",
        ),
        (
            {"field_strength": [0], "flux_density": [0]},
            "flux_density: a magnetisation curve needs two points or more, the first at 0, 0; "
            "mend the numbers",
        ),
        (
            {"field_strength": [0, 79.6e3], "flux_density": [0, 0.1]},
            "flux_density: entry 2: 0.1 T is not over 0 T by more than the 0.1 T that air adds; "
            "give H in A/m and B in T, each rising from entry to entry",
        ),
        ({**CURVE, "permeability": 100}, "permeability: given besides a B-H table; keep one of the two"),
        ({**CURVE, "saturation": "2 T"}, "permeability: given besides a B-H table; keep one of the two"),
        ({**CURVE, "flux_density": [0, 1, "15 T"]},
         'flux_density: entry 3: "15 T" is outside what is allowed, 0 T to 10 T'),
        ({**CURVE, "flux_density": [0, 1, math.nan]},
         "flux_density: entry 3: nan is not a finite number; "
         'write a number in T or a string with a unit such as "1.2 T"'),
        ({**CURVE, "field_strength": [0, "1 Oe", 5]},
         'field_strength: entry 2: "1 Oe" is text; write the number without quotes or unit, such as 14'),
        ({"permeability": 1}, "permeability: 1 is outside what is allowed, 1.001 to 1e+06"),
        ({"permeability": 100, "saturation": 2.1},
         "saturation: 2.1 mT is outside what is allowed, 20 mT to 3000 mT; "
         'a number without a unit is in mT, for tesla write "2.1 T"'),
        ({"permeability": 100, "density": 0}, "density: 0 is outside what is allowed, 1e-12 to 1e+12"),
        ({"like": "silicon stel"}, 'like: "silicon stel" is not known; did you mean "silicon steel"?'),
        ({"permeability": 100, "name": 3}, "name: 3 is not text; put it in quotes"),
        ({"permability": 100, "like": "soft iron"}, 'permability: no such key; did you mean "permeability"?'),
    ],
)  # fmt: skip
def test_a_fault_is_one_line(facts, told):
    assert faults(**facts) == [told]


@pytest.mark.parametrize("given", [3, True, ["soft iron"], math.nan])
def test_neither_name_nor_table(given):
    (told,) = faults_with(core=[{"width": 10, "thickness": 1, "material": given}])
    assert told.startswith("core 1.material: ")
    assert "is neither a soft-magnetic material's name nor a table; use one of soft iron, " in told


@given(
    st.lists(st.tuples(st.floats(1.0, 1e4), st.floats(1e-3, 0.5)), min_size=1, max_size=8),
    st.booleans(),
)
def test_any_table_that_rises_is_taken(steps, with_origin):
    h = list(accumulate(step for step, _ in steps))
    b = [rise + MU0 * at for rise, at in zip(accumulate(rise for _, rise in steps), h, strict=True)]
    h, b = ([0.0, *h], [0.0, *b]) if with_origin else (h, b)
    core = {"width": 10, "thickness": 1, "material": {"field_strength": h, "flux_density": b}}
    curve = small_with(core=[core]).core[0].material.curve
    assert np.all(np.diff(curve.applied(np.linspace(0, 2 * curve.magnetisation[-1], 50))) > 0)


@pytest.mark.parametrize(
    ("facts", "knee"),
    [
        ({"like": "soft iron"}, "steel"),
        ({"like": "Mn-Zn ferrite"}, "rounded"),
        ({"like": "soft iron", "knee": "rounded"}, "rounded"),
        ({"permeability": 900, "saturation": "1.9 T"}, "steel"),
        ({"permeability": 900, "saturation": "0.4 T"}, "rounded"),
        ({"permeability": 900, "saturation": "0.4 T", "knee": "steel"}, "steel"),
    ],
)
def test_iron_and_steel_are_more_permeable_under_their_knee_than_in_weak_fields(facts, knee):
    """As measured by Nakata, Takahashi and Fujiwara (COMPEL 11, 1992); ferrites level from the first."""
    curve = material(**facts).curve
    weak, half = curve.reluctivity(np.array([1e-6, 0.5]) * curve.magnetisation[-1])
    assert (half < 0.3 * weak) == (knee == "steel")


def test_a_knee_without_saturation_is_refused():
    told = "knee: given without a saturation that it leads to; give one, or leave the knee out"
    assert faults(permeability=100, knee="steel") == faults(**CURVE, knee="rounded") == [told]
