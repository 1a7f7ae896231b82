"""Winding factors of the handbooks, constants of sinusoids, six-step currents, speed against torque."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mover_cases import REMANENCE, loops, ring_of, wedge_coil

from coilgen.physics.mover.attraction import pole_flux_density, ring_pull, row_pull
from coilgen.physics.mover.magnets import Magnets, rectangle, segment, with_images
from coilgen.physics.mover.ring import ring_harmonics
from coilgen.physics.mover.supply import Supplied
from coilgen.physics.mover.voltages import Voltages, ripple, sinusoidal, six_step, torque

PLACES = np.linspace(0.0, 2 * np.pi, 720, endpoint=False)
BALANCED = Voltages(
    places=PLACES, slopes=np.array([0.3 * np.cos(PLACES - 2 * np.pi * k / 3) for k in range(3)])
)


DISTRIBUTION = {
    (9, 8): np.sin(np.pi / 6) / (3 * np.sin(np.pi / 18)),
    (12, 10): np.cos(np.pi / 12),
    (6, 4): 1.0,
    (9, 6): 1.0,
}


@pytest.mark.parametrize(
    ("slots", "poles", "order", "factor"),
    [
        (9, 8, "AaABbBCcC", 0.945),
        (12, 10, "AabBCcaABbcC", 0.933),
        (6, 4, "ABCABC", 0.866),
        (9, 6, "ABC" * 3, 0.866),
    ],
)
def test_winding_factors_of_concentrated_coils(slots, poles, order, factor):
    """Ideal filaments a full slot pitch wide: sin(pi poles / (2 slots)) times the distribution factor."""
    assert np.sin(np.pi * poles / (2 * slots)) * DISTRIBUTION[slots, poles] == pytest.approx(factor, abs=6e-4)
    around = np.exp(1j * np.pi / slots * np.linspace(-1.0, 1.0, 33))
    corners = [np.concatenate([18e-3 * around, 12e-3 * around[::-1]])]
    outlines = tuple(segment(10e-3, 20e-3, 2 * np.pi / poles, 2 * np.pi * k / poles) for k in range(poles))
    signs = tuple(1 - 2 * (k % 2) for k in range(poles))
    magnets = Magnets(outlines=outlines, signs=signs, polarisation=1.2, sheets=((2e-3, 5e-3),))
    found = ring_harmonics(loops(corners, [0.0]), magnets, poles, 1.7e-8)
    turns = [
        (1 if letter.isupper() else -1) * np.exp(1j * np.pi * poles * k / slots)
        for k, letter in enumerate(order)
        if letter.upper() == "A"
    ]
    distribution = abs(sum(turns)) / len(turns)
    assert distribution * found.pitch_factor == pytest.approx(factor, rel=0.005)


def test_torque_of_sinusoids_is_half_the_phases_times_the_voltage_constant():
    found = torque(BALANCED, sinusoidal(BALANCED))
    assert found == pytest.approx(np.full(720, 1.5 * 0.3), rel=1e-12)
    assert BALANCED.constant == pytest.approx(0.3) and BALANCED.line_constant == pytest.approx(
        0.3 * np.sqrt(3)
    )
    assert ripple(found) < 1e-9


def test_six_steps_into_sinusoidal_voltages():
    """A star's mean is 3 sqrt(3) / pi of a phase's amplitude and its ripple 14 per cent of it (value from
    memory; by the integral of a cosine over sixty degrees); two thirds of a line's in a delta."""
    star, delta = (torque(BALANCED, six_step(BALANCED, delta=each)) for each in (False, True))
    assert star.mean() == pytest.approx(3 * np.sqrt(3) / np.pi * 0.3, rel=1e-4)
    assert ripple(star) == pytest.approx((1 - np.sqrt(3) / 2) * np.pi / 3, rel=2e-3)
    assert delta.mean() == pytest.approx(1.5 * star.mean() / np.sqrt(3), rel=1e-4)


def test_currents_of_six_steps_sum_to_nothing_in_a_star():
    assert np.abs(six_step(BALANCED).sum(axis=0)).max() == 0.0


@given(
    st.floats(1.0, 50.0),
    st.floats(0.1, 50.0),
    st.floats(0.0, 1e-3),
    st.floats(1e-3, 0.5),
    st.floats(0.0, 1e-5),
)
def test_a_supply_gives_what_the_mover_and_the_heat_take(voltage, resistance, reactance, constant, drag):
    found = Supplied(
        voltage=voltage,
        resistance=resistance,
        reactance=reactance,
        constant=constant,
        torque_constant=1.5 * constant,
        heat_share=1.5,
        drag=drag,
    )
    assert found.torque(0.0) == pytest.approx(1.5 * constant * voltage / resistance)
    assert abs(found.torque(found.no_load_speed)) < 1e-6 * found.torque(0.0)
    speed = 0.4 * found.no_load_speed
    current = found.current(speed)
    assert np.hypot(resistance * current + constant * speed, reactance * speed * current) == pytest.approx(
        voltage
    )
    assert 0.0 <= found.efficiency(speed) <= found.efficiency(found.best_speed) * (1 + 1e-3)


def test_halves_draw_each_other_as_magpylibs_charges_do():
    """Pole faces of a block in the field of another above it, by magpylib."""
    import magpylib

    low, high = 1e-3, 3e-3
    pair = Magnets(
        outlines=(rectangle(0j, 8e-3, 6e-3),),
        signs=(1,),
        polarisation=REMANENCE,
        sheets=((low, high), (-high, -low)),
    )
    other = magpylib.magnet.Cuboid(
        polarization=(0, 0, REMANENCE), dimension=(8e-3, 6e-3, high - low), position=(0, 0, -2e-3)
    )
    node, weight = np.polynomial.legendre.leggauss(40)
    x, y = np.meshgrid(4e-3 * node, 3e-3 * node)
    areas = 12e-6 * np.outer(weight, weight).ravel()
    fluxes = [
        float(areas @ other.getB(np.column_stack([x.ravel(), y.ravel(), np.full(x.size, z)]))[:, 2])
        for z in (low, high)
    ]
    expected = REMANENCE / (4e-7 * np.pi) * (fluxes[0] - fluxes[1])
    assert row_pull(pair, 0.0, low, 10e-3) == pytest.approx(expected, rel=2e-3)


def test_a_ring_far_out_is_a_row():
    """Poles on a ring so wide that they stand nearly in line: per pole the pull of a long row's middle."""
    poles, pitch, sheets = 400, 10e-3, ((2e-3, 4e-3), (-4e-3, -2e-3))
    radius, turns = poles * pitch / (2 * np.pi), np.exp(2j * np.pi * np.arange(poles) / poles)
    signs = tuple(1 - 2 * (k % 2) for k in range(poles))
    near = list(range(-5, 6))
    wide = Magnets(
        outlines=tuple(rectangle(radius * turns[k], 6e-3, 8e-3, turns[k]) for k in near),
        signs=tuple(signs[k] for k in near),
        polarisation=1.2,
        sheets=sheets,
    )
    rows = [
        Magnets(
            outlines=tuple(rectangle(pitch * k + 0j, 8e-3, 6e-3) for k in range(count)),
            signs=signs[:count],
            polarisation=1.2,
            sheets=sheets,
        )
        for count in (7, 6)
    ]
    longer, shorter = (row_pull(each, 0.0, 2e-3, pitch) for each in rows)
    assert ring_pull(wide, 0.0, 2e-3, poles) / poles == pytest.approx(longer - shorter, rel=0.01)


def test_flux_through_a_pole_between_touching_plates_is_all_its_own():
    """Plates on both ends of a magnet: what it carries is its remanence."""
    sheets = with_images(((0.0, 2e-3),), 0.0, 2e-3, 0.1)
    magnet = Magnets(outlines=(rectangle(0j, 10e-3, 10e-3),), signs=(1,), polarisation=1.2, sheets=sheets)
    assert pole_flux_density(magnet, 1e-3) == pytest.approx(1.2, rel=0.02)


def test_laid_out_turns_have_the_factor_of_their_own_sides():
    """Radial sides at half angles h: sin(4 h) of each turn, weighted by what its sides cut."""
    found = ring_harmonics(wedge_coil(levels=(-0.5e-3,)), ring_of("segment"), 8, 1.7e-8)
    least, most = (np.sin(4 * np.radians(20.0 * share)) for share in (0.3, 1.0))
    assert least < found.pitch_factor < most
