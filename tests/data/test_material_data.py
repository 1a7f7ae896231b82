"""Rows of soft-magnetic materials, base plates and magnets: complete, facts that agree with one another."""

import math
import re

import pytest
from ht.insulation import Cp_material, k_material, rho_material
from scipy.constants import Boltzmann, elementary_charge

from coilgen.catalogue import rows
from coilgen.units import quantity

MU0 = 4e-7 * math.pi
MATERIALS = rows("materials")
SOFT = [name for name, row in MATERIALS.items() if row["sort"] == "soft-magnetic"]
PLATES = [name for name, row in MATERIALS.items() if row["sort"] == "plate"]
MAGNETS = rows("magnets")
SOLIDS = {**{name: MATERIALS[name] for name in (*SOFT, *PLATES)}, **MAGNETS}


def test_every_material_is_of_a_known_sort():
    assert {row["sort"] for row in MATERIALS.values()} == {"conductor", "laminate", "soft-magnetic", "plate"}
    assert {"soft iron", "low-carbon steel", "silicon steel", "Mn-Zn ferrite"} <= set(SOFT)
    assert {"aluminium", "brass", "stainless steel"} <= set(PLATES)


@pytest.mark.parametrize("name", SOLIDS)
def test_heat_of_a_volume_is_that_of_a_solid(name):
    """Dulong and Petit, Annales de Chimie 10, 1819: 3 R per mole of atoms, 2 to 4 MJ/(m3 K) in dense solids;
    the span is common practice, no source."""
    row = SOLIDS[name]
    assert 1.9e6 < row["density"] * row["heat_capacity"] < 4.0e6
    assert 0.5 < row["heat_conductivity"] < 500


@pytest.mark.parametrize("name", ["soft iron", "low-carbon steel", "silicon steel"])
def test_metals_conduct_heat_and_current_in_the_lorenz_proportion(name):
    """Wiedemann-Franz law with Sommerfeld's Lorenz number, 2.443e-8 W ohm/K2, less 2 %. The lattice adds
    to it: the more alloyed, the more."""
    row = MATERIALS[name]
    lorenz = math.pi**2 / 3 * (Boltzmann / elementary_charge) ** 2
    assert 0.98 * lorenz < row["heat_conductivity"] * row["resistivity"] / 293.15 < 4.5e-8


@pytest.mark.parametrize("name", PLATES)
def test_plates_conduct_as_metals_or_not_at_all(name):
    """Lorenz numbers measured on metals, 2.2e-8 to 2.6e-8 W ohm/K2 (Kittel, Introduction to Solid State
    Physics, ch. 6; value from memory), and more in alloys, to which the lattice adds."""
    row = MATERIALS[name]
    if name == "glass":
        assert row["resistivity"] > 1e9
    else:
        assert 2.2e-8 < row["heat_conductivity"] * row["resistivity"] / 293.15 < 4.5e-8


@pytest.mark.parametrize(
    ("name", "theirs", "within"),
    [
        ("aluminium", "Metals, aluminium alloys", 0.05),
        ("brass", "Metals, brass", 0.05),
        ("stainless steel", "Metals, stainless steel", 0.1),
        ("low-carbon steel", "Metals, steel", 0.1),
        ("glass", "Glass, soda lime", 0.13),
    ],
)
def test_materials_are_near_those_of_the_standard(name, theirs, within):
    """EN 12524, 2000, as the library ht has it; of glass its heat capacity is between that and ASHRAE's."""
    row = MATERIALS[name]
    assert row["density"] == pytest.approx(rho_material(theirs), rel=within)
    assert row["heat_conductivity"] == pytest.approx(k_material(theirs), rel=within)
    assert row["heat_capacity"] == pytest.approx(Cp_material(theirs), rel=within)


@pytest.mark.parametrize(("name", "within"), [("aluminium", 0.07), ("brass", 0.05)])
def test_good_conductors_follow_wiedemann_and_franz(name, within):
    """With Sommerfeld's Lorenz number."""
    lorenz = math.pi**2 / 3 * (Boltzmann / elementary_charge) ** 2
    row = MATERIALS[name]
    assert row["resistivity"] == pytest.approx(lorenz * 293.15 / row["heat_conductivity"], rel=within)


@pytest.mark.parametrize("name", SOFT)
def test_soft_materials_saturate_under_pure_iron(name):
    """2.15 T, Bozorth, Ferromagnetism, 1951; value from memory. Ferrites are ferrimagnetic: under 0.6 T."""
    row = MATERIALS[name]
    saturation = quantity(row["saturation"], "flux density")
    assert 0.2 <= saturation <= 2.15
    assert (saturation < 0.6) == ("ferrite" in name)
    assert row["permeability"] > 10
    assert (row["resistivity"] < 1e-6) == (name in ("soft iron", "low-carbon steel", "silicon steel"))


@pytest.mark.parametrize("name", MAGNETS)
def test_a_grade_is_named_for_its_energy_product(name):
    """Of a straight demagnetisation line, Br2 / (4 mu0 mur): MGOe in grades of rare earths, kJ/m3 in those of
    hard ferrite (Furlani, Permanent Magnet and Electromechanical Devices, 2001; value from memory)."""
    low, typical = MAGNETS[name]["remanence"]
    assert low < typical
    unit = 1e3 if name.startswith("Y") else 1e5 / (4 * math.pi)  # of 1 MGOe, J/m3
    product = typical**2 / (4 * MU0 * MAGNETS[name]["recoil_permeability"]) / unit
    assert product == pytest.approx(float(re.search(r"\d+", name)[0]), rel=0.09)


@pytest.mark.parametrize(
    ("start", "lightest", "heaviest"), [("N", 7300, 7700), ("SmCo", 8200, 8500), ("Y", 4700, 5100)]
)
def test_magnets_have_the_density_of_their_kind(start, lightest, heaviest):
    """Typical of catalogues, values from memory."""
    found = [row for name, row in MAGNETS.items() if name.startswith(start)]
    assert found
    assert all(lightest <= row["density"] <= heaviest for row in found)


def test_warm_grades_bear_more_than_plain_ones():
    assert MAGNETS["N42SH"]["largest_temperature"] > MAGNETS["N42"]["largest_temperature"]
    assert rows("temperature_limits")["neodymium"]["temperature"] == MAGNETS["N42"]["largest_temperature"]
