"""A coil in metal under a switched voltage: against its impedance, plain coils, and energy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from coilgen.physics.circuit.drive import dc_current, freewheel_time, square_ripple
from coilgen.physics.metal.relaxation import Relaxation, added_impedance, of_single_body
from coilgen.physics.metal.switched import CoilInMetal, after_switching_on, mean_heat, repeating, run_out_time

IRON = of_single_body(6e-6, np.array([3e-6, 2e-6, 2e-6]), np.array([1e-4, 1e-5, 1e-6]))
COIL = CoilInMetal(resistance=2.0, inductance=10e-6, metal=IRON)
NOTHING = Relaxation(static=0.0, amplitude=np.zeros(0), time=np.zeros(0), damping=np.zeros((0, 0, 0)))
PLAIN = CoilInMetal(resistance=2.0, inductance=10e-6, metal=NOTHING)


def test_plain_coils():
    time = np.linspace(0.0, 3e-5, 7)
    assert after_switching_on(PLAIN, 5.0, time).current == pytest.approx(dc_current(time, 5.0, 2.0, 10e-6))
    assert run_out_time(PLAIN, 2.0, 0.7, 0.2) == pytest.approx(freewheel_time(2.0, 2.0, 10e-6, 0.7, 0.2))
    for clamp in (0.7, 30.0):
        on, off = repeating(PLAIN, 5.0, 2e5, 0.4, clamp)
        ripple = square_ripple(5.0, 2.0, 10e-6, 2e5, 0.4, clamp)
        assert on.current[[0, -1]] == pytest.approx([ripple.lowest, ripple.highest], abs=1e-9)
        assert off.current.min() >= 0.0


def test_plain_coils_on_a_supply_that_gives_in():
    time = np.linspace(0.0, 3e-5, 7)
    found = after_switching_on(PLAIN, 5.0, time, 1.2).current
    assert found == pytest.approx(dc_current(time, 5.0, 2.0, 10e-6, 1.2))
    for clamp, limit in ((0.7, 1.0), (30.0, 0.8), (0.7, 2.4)):
        on, _ = repeating(PLAIN, 5.0, 2e5, 0.4, clamp, limit)
        ripple = square_ripple(5.0, 2.0, 10e-6, 2e5, 0.4, clamp, limit)
        assert on.current[[0, -1]] == pytest.approx([ripple.lowest, ripple.highest], abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    frequency=st.floats(1e2, 1e7),
    duty=st.floats(0.02, 0.98),
    clamp=st.sampled_from([0.0, 0.1, 0.7, 24.0]),
    limit=st.one_of(st.just(np.inf), st.floats(1e-3, 2.4)),
)
def test_every_period_leads_back_to_itself(frequency, duty, clamp, limit):
    on, off = repeating(COIL, 5.0, frequency, duty, clamp, limit)
    assert off.state[-1] == pytest.approx(on.state[0], abs=1e-7)
    assert on.current.max() <= limit * (1 + 1e-9)
    assert off.current.min() >= -1e-9
    assert np.all(np.abs(on.state) <= max(on.current.max(), off.current.max()) * (1 + 1e-6))


def test_rise_is_the_inverse_transform_of_the_impedance():
    """The current after switching on, from Z(j omega) by a Fourier integral (independent of the states)."""

    def admittance(omega):
        return 1 / (COIL.resistance + 1j * omega * COIL.inductance + added_impedance(IRON, omega / 2 / np.pi))

    for time in (1e-6, 1e-5, 5e-5):
        head = quad(lambda w, t=time: admittance(w).real * np.sinc(w * t / np.pi) * t, 0, 2e6, limit=2000)[0]
        tail = quad(lambda w: admittance(w).real / w, 2e6, 1e10, weight="sin", wvar=time, limit=2000)[0]
        found = after_switching_on(COIL, 1.0, np.array([time])).current[0]
        assert found == pytest.approx(2 / np.pi * (head + tail), rel=0.01)


@pytest.mark.parametrize("clamp", [0.5, 20.0])
@pytest.mark.parametrize("limit", [np.inf, 1.5, 0.3])
def test_energy_of_a_period(clamp, limit, monkeypatch):
    """What the supply gives less what the clamp takes is the heat of copper and metal."""
    monkeypatch.setattr("coilgen.physics.metal.switched.STEPS", 40_000)
    frequency = 2e4
    on, off = repeating(COIL, 5.0, frequency, 0.3, clamp, limit)
    assert off.state[-1] == pytest.approx(on.state[0], abs=1e-9)
    held = on.current >= limit * (1 - 1e-12)
    lag = [part.state[:, :1] - part.state[:, 1:] for part in (on, off)]
    across = 2.0 * on.current + lag[0] @ (IRON.strength / IRON.time)
    supplied = np.where(held, across, 5.0)
    assert held.any() == np.isfinite(limit) and np.all(supplied <= 5.0)
    given = np.trapezoid(supplied * on.current, on.time) - np.trapezoid(clamp * off.current, off.time)
    copper = sum(np.trapezoid(2.0 * part.current**2, part.time) for part in (on, off))
    metal = mean_heat(COIL, 5.0, frequency, 0.3, clamp, limit)[0]
    assert copper + metal / frequency == pytest.approx(given, rel=1e-3)
    lost = sum(
        np.trapezoid(np.square(late) @ (IRON.strength / IRON.time), part.time)
        for late, part in zip(lag, (on, off), strict=True)
    )
    assert metal == pytest.approx(frequency * lost, rel=1e-3)


@pytest.mark.parametrize("frequency", [2e3, 1e5])
def test_heat_of_a_square_voltage_is_that_of_its_harmonics(frequency):
    """With a clamp of no volts the voltage alone decides: each harmonic drives its own current."""
    order, duty = np.arange(1, 20_001), 0.3
    volts = np.sqrt(2) * 5.0 * np.sin(np.pi * order * duty) / (np.pi * order)
    added = added_impedance(IRON, order * frequency)
    whole = COIL.resistance + 2j * np.pi * order * frequency * COIL.inductance + added
    summed = np.sum(np.abs(volts / whole) ** 2 * added.real)
    assert mean_heat(COIL, 5.0, frequency, duty, 0.0)[0] == pytest.approx(summed, rel=1e-3)


def test_heat_of_slow_switching_is_that_of_each_edge():
    """A step of current through the coil's resistance: energies of the metal's decays, once on and off."""
    slow = [mean_heat(COIL, 5.0, frequency, 0.5, 0.0)[0] / frequency for frequency in (5.0, 50.0)]
    assert slow[0] == pytest.approx(slow[1], rel=1e-9)
    given, still = 2.5**2, CoilInMetal(resistance=2.0, inductance=10e-6, metal=IRON)
    late = quad(
        lambda w: (
            abs(2.0 / (2.0 + 1j * w * still.inductance + added_impedance(IRON, w / 2 / np.pi))) ** 2
            * added_impedance(IRON, w / 2 / np.pi).real
            / w**2
        ),
        0,
        np.inf,
        limit=500,
    )[0]
    assert slow[0] == pytest.approx(2 * given * late / np.pi, rel=1e-3)


def test_metal_lets_the_current_rise_sooner():
    quick, plain = (after_switching_on(each, 1.0, np.array([1e-6])).current[0] for each in (COIL, PLAIN))
    assert quick > 1.05 * plain * PLAIN.inductance / (PLAIN.inductance + IRON.static)
