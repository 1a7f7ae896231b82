"""Radiation: exact forms agree, textbook value, limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import Stefan_Boltzmann

from coilgen.physics.heat.radiation import STEFAN_BOLTZMANN, radiated_flux, radiation_coefficient

kelvin = st.floats(200, 1400)


@given(kelvin, kelvin, st.floats(0, 1))
def test_coefficient_times_excess_is_the_flux(hot, cold, emissivity):
    flux = radiation_coefficient(hot, cold, emissivity) * (hot - cold)
    assert flux == pytest.approx(float(radiated_flux(hot, cold, emissivity)), rel=1e-9, abs=1e-6)


def test_coefficient_for_small_excess_is_the_slope():
    assert radiation_coefficient(300.001, 300.0, 0.9) == pytest.approx(
        4 * 0.9 * STEFAN_BOLTZMANN * 300**3, rel=1e-5
    )


def test_board_at_200_degc_in_a_room():
    assert radiation_coefficient(473.15, 293.15, 0.9) == pytest.approx(12.1, abs=0.05)


def test_steam_pipe_of_a_textbook():
    # Incropera's example 1.2: 473 K in 298 K, emissivity 0.8: emits 0.8 sigma T⁴, 2270 W/m².
    assert radiated_flux(473.0, 0.0, 0.8) == pytest.approx(0.8 * Stefan_Boltzmann * 473.0**4, rel=1e-6)
    assert radiated_flux(473.0, 0.0, 0.8) == pytest.approx(2270, abs=3)
    # Loss of a pipe of 70 mm to air and room: 998 W/m with 15 W/(m² K) of convection.
    loss = 3.14159265 * 0.07 * (15 * 175 + radiated_flux(473.0, 298.0, 0.8))
    assert loss == pytest.approx(998, abs=1)


def test_mirror_radiates_nothing():
    assert radiated_flux(500.0, 300.0, 0.0) == 0
