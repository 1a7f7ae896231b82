"""Stack-ups and materials: heights, totals, and facts against published ones."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.constants import Boltzmann, elementary_charge

from coilgen.catalogue import rows
from coilgen.design.stackup import Stackup, default_name, laminate, metal, named, with_layers

PROMISED = (
    "rigid-2-layer-1.6mm",
    "rigid-2-layer-0.8mm",
    "rigid-4-layer-1.6mm",
    "rigid-6-layer-1.6mm",
    "rigid-8-layer-1.6mm",
    "flex-1-layer",
    "flex-2-layer",
    "flex-4-layer",
)


@pytest.mark.parametrize("name", rows("stackups"))
def test_every_named_stackup_is_what_its_name_says(name):
    stackup = named(name)
    assert stackup.name == name
    assert stackup.layers == int(name.split("-")[1])
    assert stackup.flexible == name.startswith("flex")
    if name.endswith("mm"):
        assert stackup.thickness == pytest.approx(
            float(name.split("-")[3].removesuffix("mm")) * 1e-3, rel=0.015
        )
    assert stackup.copper == stackup.copper[::-1]  # a board of one side's copper only would bow


def test_the_promised_names_exist():
    assert set(PROMISED) <= set(rows("stackups"))


@pytest.mark.parametrize("name", rows("stackups"))
def test_heights_go_down_from_the_top_face(name):
    stackup = named(name)
    heights = [stackup.height(layer) for layer in range(1, stackup.layers + 1)]
    assert heights[0] == -stackup.copper[0] / 2
    assert heights == sorted(heights, reverse=True)
    if stackup.layers > 1:
        assert heights[-1] == pytest.approx(stackup.copper[-1] / 2 - stackup.thickness)
    for layer in (0, stackup.layers + 1):
        with pytest.raises(IndexError):
            stackup.height(layer)


@given(copper=st.lists(st.floats(0.01, 0.1), min_size=2, max_size=8), data=st.data())
def test_neighbouring_copper_is_a_dielectric_apart(copper, data):
    gaps = data.draw(st.lists(st.floats(0.02, 2.0), min_size=len(copper) - 1, max_size=len(copper) - 1))
    stackup = Stackup.model_validate({"copper": copper, "dielectric": gaps})
    for layer, gap in enumerate(gaps, start=1):
        between = stackup.height(layer) - stackup.height(layer + 1)
        edges = (stackup.copper[layer - 1] + stackup.copper[layer]) / 2
        assert between - edges == pytest.approx(gap * 1e-3, abs=1e-12)


def test_facts_left_out_come_from_the_material():
    stackup = Stackup.model_validate(
        {"copper": ["1 oz", "1 oz"], "dielectric": [0.05], "material": "polyimide"}
    )
    assert stackup.flexible
    assert stackup.permittivity == (laminate("polyimide").permittivity,)
    assert stackup.mask_thickness == 50e-6
    assert Stackup.model_validate(stackup) is stackup
    own = Stackup.model_validate(
        {"copper": [0.035], "dielectric": [1.5], "permittivity": [9.8], "flexible": True}
    )
    assert (own.permittivity, own.flexible, own.material) == ((9.8,), True, "FR-4")


@pytest.mark.parametrize(
    "wrong",
    [
        {"copper": [0.035], "dielectric": [1, 1]},
        {"copper": [0.035, 0.035], "dielectric": [1], "permittivity": [4, 4]},
        {"copper": [], "dielectric": [1]},
        {"copper": [0.035], "dielectric": "1 mm"},
        {"copper": [0.035], "dielectric": [1], "material": "balsa"},
        {"copper": [0.035], "dielectric": [1], "material": "copper"},
        {"copper": [0.035], "dielectric": [1], "flexible": 1},
        {"copper": [35], "dielectric": [1]},
        {"copper": [0.035]},
    ],
)
def test_contradictions_are_refused(wrong):
    with pytest.raises(ValidationError):
        Stackup.model_validate(wrong)


@pytest.mark.parametrize("layers", range(1, 9))
def test_the_default_takes_the_layers(layers):
    stackup = named(default_name(layers))
    assert stackup.layers >= layers
    assert not stackup.flexible
    assert default_name(layers) in with_layers(layers, flexible=False)
    assert all(named(name).layers >= layers for name in with_layers(layers, flexible=True))


def test_copper_is_the_international_annealed_standard():
    # IEC 60028, International standard of resistance for copper, 1925: a wire of 1 m and
    # 1 mm² has 1/58 ohm at 20 degC; 0.00393 per K; 8.89 g/cm³.
    copper = metal()
    assert copper.resistivity == pytest.approx(1e-6 / 58, rel=3e-5)
    assert 1 + copper.temperature_coefficient * 80 == pytest.approx(1.3144, rel=1e-5)
    assert copper.density == 8890
    assert copper.resistivity / 35e-6 == pytest.approx(0.4926e-3, rel=1e-4)  # a square of 35 µm foil


def test_copper_conducts_heat_and_current_in_the_lorenz_proportion():
    # Wiedemann-Franz law with Sommerfeld's value of the Lorenz number, 2.443e-8 W ohm/K²; within a tenth.
    copper = metal()
    lorenz = math.pi**2 / 3 * (Boltzmann / elementary_charge) ** 2
    assert copper.heat_conductivity * copper.resistivity / 293.15 == pytest.approx(lorenz, rel=0.1)


@pytest.mark.parametrize(
    "name", [name for name, row in rows("materials").items() if row["sort"] == "laminate"]
)
def test_laminates_are_insulators_of_the_usual_kind(name):
    facts = laminate(name)
    assert 2 < facts.permittivity < 6
    assert 0.1 < facts.heat_conductivity <= facts.heat_conductivity_in_plane < 2  # fibres lie in the plane
    assert 1000 < facts.density < 2500
    assert 800 < facts.heat_capacity < 1500
    assert 100 <= facts.limit_temperature <= 200
    assert facts is laminate(name)
    assert named("flex-2-layer").laminate == laminate("polyimide")
    assert named("flex-2-layer").metal == metal()
