"""Islands in a sheet by series and bounds; closed forms of round sheets by a textbook and their limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from round_sheets import annular_fin_conductance, heated_disc_rise

from coilgen.physics.heat.sheet_conduction import islands_conductivity


def test_cylinder_fins_of_a_textbook():
    # Incropera's example 3.10 (engine cylinder), values from memory: aluminium 186 W/(m K), 5 annular
    # fins 6 mm thick, 25 to 45 mm (48 mm with their tips), 50 W/(m² K), 200 K: efficiency 0.95, read from
    # a chart, and 690 W with the bare part.
    area = 2 * np.pi * (0.048**2 - 0.025**2)
    fin = annular_fin_conductance(0.025, 0.048, 186 * 0.006, 2 * 50.0)
    assert fin / (50 * area) == pytest.approx(0.95, abs=0.04)
    bare = 50 * 2 * np.pi * 0.025 * (0.15 - 5 * 0.006)
    assert 200 * (5 * fin + bare) == pytest.approx(690, rel=0.03)


@given(st.floats(1e-3, 0.1), st.floats(1.05, 10), st.floats(1e-5, 10), st.floats(1, 200))
def test_fin_loses_less_than_its_area_and_more_when_larger(inner, ratio, sheet, coefficient):
    outer = inner * ratio
    fin = annular_fin_conductance(inner, outer, sheet, coefficient)
    assert 0 < fin <= coefficient * np.pi * (outer**2 - inner**2) * (1 + 1e-9)
    assert annular_fin_conductance(inner, outer * 1.1, sheet, coefficient) >= fin * (1 - 1e-12)
    assert annular_fin_conductance(inner, outer, sheet * 1.1, coefficient) > fin


def test_thin_ring_is_a_straight_fin():
    # sqrt(h k t) tanh(m L) for a unit of length, as any textbook of heat transfer has it.
    m = np.sqrt(20 / 1e-3)
    straight = 2 * np.pi * np.sqrt(20 * 1e-3) * np.tanh(m * 5e-3)
    assert annular_fin_conductance(1.0, 1.005, 1e-3, 20.0) == pytest.approx(straight, rel=0.005)


@given(st.floats(0.05, 1.0), st.floats(1e-4, 1.0), st.floats(5, 60))
def test_disc_loses_what_it_is_given(share, sheet, coefficient):
    rim, flux = 0.02, 1000.0
    edge = np.linspace(0, rim, 4001)
    middle = (edge[1:] + edge[:-1]) / 2
    rise = heated_disc_rise(middle, share * rim, rim, flux, sheet, coefficient)
    lost = np.sum(coefficient * rise * np.pi * np.diff(edge**2))
    assert lost == pytest.approx(flux * np.pi * (share * rim) ** 2, rel=1e-4)


def test_disc_heated_all_over_is_even():
    rise = heated_disc_rise(np.linspace(0, 0.02, 7), 0.02, 0.02, 1000.0, 1e-3, 25.0)
    assert rise == pytest.approx(np.full(7, 40.0))


def test_disc_is_smooth_at_the_sources_edge():
    near = np.array([1e-2 - 1e-9, 1e-2 + 1e-9])
    before, after = heated_disc_rise(near, 1e-2, 2e-2, 1000.0, 1e-3, 25.0)
    assert before == pytest.approx(after, rel=1e-6)


def test_disc_meets_its_fin():
    # The rim beyond the source takes the heat that an annular fin of the edge's rise takes.
    edge = float(heated_disc_rise(1e-2, 1e-2, 2e-2, 1000.0, 1e-3, 25.0))
    r = np.linspace(0, 1e-2, 20001)
    inside = heated_disc_rise((r[1:] + r[:-1]) / 2, 1e-2, 2e-2, 1000.0, 1e-3, 25.0)
    out = 1000 * np.pi * 1e-4 - np.sum(25 * inside * np.pi * np.diff(r**2))
    assert out == pytest.approx(edge * annular_fin_conductance(1e-2, 2e-2, 1e-3, 25.0), rel=1e-4)


def test_disc_held_at_its_edge():
    # With little loss from its faces the middle stands above the source's edge by power/(4 pi k t) (Carslaw
    # and Jaeger, 1959), but for the four hundredth part that the source's own area loses.
    power = 1000 * np.pi * 1e-4
    centre, edge = heated_disc_rise(np.array([0.0, 1e-2]), 1e-2, 2e-1, 1000.0, 1.0, 1e-3)
    assert centre - edge == pytest.approx(power / (4 * np.pi) * 399 / 400, rel=1e-4)


@pytest.mark.parametrize(("coverage", "within"), [(0.024, 1e-6), (0.2, 1e-3), (0.5, 0.05)])
def test_islands_in_a_square_array(coverage, within):
    # Rayleigh, Philosophical Magazine 34, 1892, with the next term of his series: 3 S^2/pi^4 of the square
    # lattice's sum of 1/z^4, which is Gauss's G_4(i) = gamma(1/4)^8/(960 pi^2).
    better = (398.0 - 0.8) / (398.0 + 0.8)
    lattice = math.gamma(0.25) ** 8 / (960 * np.pi**2)
    next_term = 3 * lattice**2 / np.pi**4 * better * coverage**4
    array = 1 + 2 * coverage / (1 / better - coverage - next_term)
    assert islands_conductivity(0.8, 398.0, coverage) / 0.8 == pytest.approx(array, rel=within)


@given(st.floats(0.1, 10), st.floats(0.1, 1000), st.floats(0, 1))
def test_islands_lie_between_series_and_parallel(sheet, islands, coverage):
    parallel = coverage * islands + (1 - coverage) * sheet
    series = 1 / (coverage / islands + (1 - coverage) / sheet)
    assert series * (1 - 1e-9) <= islands_conductivity(sheet, islands, coverage) <= parallel * (1 + 1e-9)
