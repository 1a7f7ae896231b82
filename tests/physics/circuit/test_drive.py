"""Currents against their circuit's equation, an integrator, energy; thresholds."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from coilgen.physics.circuit.drive import (
    above_extra_low_voltage,
    dc_current,
    freewheel_time,
    near_resonance,
    repeating_sine_current,
    repeating_square_current,
    sine_amplitude,
    spike_voltage,
    square_ripple,
    stored_energy,
)

volts, ohms, henries = st.floats(0.1, 60), st.floats(0.05, 100), st.floats(1e-7, 1e-2)
duties, hertz = st.floats(0.01, 1.0), st.floats(1, 1e6)


def begun(repeating, time, voltage, resistance, inductance, *drive):
    """The repeating current less what it lacks where it is switched on, which fades with L/R."""
    at_start = repeating(0.0, voltage, resistance, inductance, *drive)
    settled = repeating(time, voltage, resistance, inductance, *drive)
    return settled - at_start * np.exp(-np.asarray(time) * resistance / inductance)


@given(volts, ohms, henries, st.floats(0, 20))
def test_dc_current_follows_the_circuit(voltage, resistance, inductance, constants):
    time = constants * inductance / resistance
    step = 1e-4 * inductance / resistance
    i = dc_current(np.array([time, time + step, time + 2 * step]), voltage, resistance, inductance)
    left = voltage - resistance * i[1] - inductance * (i[2] - i[0]) / (2 * step)
    assert abs(left) < 1e-6 * voltage
    assert dc_current(0.0, voltage, resistance, inductance) == 0


def test_dc_current_of_a_textbook_circuit():
    # 12 V, 6 ohm, 3 H have a current of 2 (1 - exp(-2 t)) A.
    assert dc_current([0.5, 1e3], 12.0, 6.0, 3.0) == pytest.approx([2 * (1 - math.exp(-1)), 2.0])


def test_energy_of_the_source_is_heat_and_field():
    v, r, inductance, end = 5.0, 2.0, 1e-3, 1.3e-3

    def current(t):
        return float(dc_current(t, v, r, inductance))

    source = quad(lambda t: v * current(t), 0, end)[0]
    heat = quad(lambda t: r * current(t) ** 2, 0, end)[0]
    assert source == pytest.approx(heat + stored_energy(inductance, current(end)))


@given(volts, ohms, henries, hertz, duties)
def test_freewheeling_square_has_the_mean_of_its_voltage(voltage, resistance, inductance, frequency, duty):
    ripple = square_ripple(voltage, resistance, inductance, frequency, duty)
    assert ripple.mean == pytest.approx(duty * voltage / resistance, rel=1e-6)
    slack = 1e-9 * ripple.highest
    assert ripple.lowest - slack <= ripple.mean <= ripple.rms + slack
    assert ripple.rms <= ripple.highest + slack
    assert ripple.rms**2 <= duty * (voltage / resistance) ** 2 * (1 + 1e-9)


@given(volts, ohms, henries, hertz, st.floats(0.05, 0.95))
def test_power_in_is_heat(voltage, resistance, inductance, frequency, duty):
    # With a path without a drop all that the source gives in the on time is heat in the resistance.
    ripple = square_ripple(voltage, resistance, inductance, frequency, duty)
    full, constant = voltage / resistance, inductance / resistance
    on = duty / frequency / constant
    mean_on = full + (ripple.lowest - full) * -math.expm1(-on) / on
    assert voltage * duty * mean_on == pytest.approx(resistance * ripple.rms**2, rel=1e-6)


@given(volts, ohms, st.floats(1e-4, 1e-2), st.floats(0.05, 0.95))
def test_small_ripple_is_the_limit_of_fast_switching(voltage, resistance, inductance, duty):
    frequency = 100 * resistance / inductance
    """V duty (1 - duty)/(L f), textbook form."""
    exact = square_ripple(voltage, resistance, inductance, frequency, duty).swing
    assert voltage * duty * (1 - duty) / (inductance * frequency) == pytest.approx(exact, rel=1e-3)


def test_slow_square_reaches_both_ends():
    ripple = square_ripple(10.0, 5.0, 1e-3, 1.0, 0.25)
    assert (ripple.lowest, ripple.highest) == pytest.approx((0.0, 2.0), abs=1e-12)
    assert ripple.rms == pytest.approx(2.0 * 0.25**0.5, rel=1e-3)


def test_without_a_freewheel_the_current_begins_anew():
    ripple = square_ripple(10.0, 5.0, 5e-3, 500.0, 0.5, drop=math.inf)
    end = float(dc_current(1e-3, 10.0, 5.0, 5e-3))
    assert (ripple.lowest, ripple.highest) == pytest.approx((0.0, end))
    square = quad(lambda t: float(dc_current(t, 10.0, 5.0, 5e-3)) ** 2, 0, 1e-3)[0] * 500
    assert ripple.rms**2 == pytest.approx(square)


@given(volts, ohms, henries, st.floats(0.05, 5), st.floats(0.05, 0.95), st.floats(0.01, 30.0))
def test_power_in_is_heat_in_coil_and_clamp(voltage, resistance, inductance, constants, duty, drop):
    """Over a period the source gives what coil and path take; the field ends as it began."""
    frequency = resistance / inductance / constants
    ripple = square_ripple(voltage, resistance, inductance, frequency, duty, drop)
    middles = (np.arange(1000) + 0.5) / 1000
    flowing = freewheel_time(ripple.highest, resistance, inductance, drop) * frequency

    def means(begin, end):
        time = (begin + middles * (end - begin)) / frequency
        current = repeating_square_current(time, voltage, resistance, inductance, frequency, duty, drop)
        return (end - begin) * np.mean(current), (end - begin) * np.mean(current**2)

    (on, on_square), (off, off_square) = means(0, duty), means(duty, min(1.0, duty + flowing))
    assert on + off == pytest.approx(ripple.mean, rel=1e-4)
    assert on_square + off_square == pytest.approx(ripple.rms**2, rel=1e-4)
    assert voltage * on == pytest.approx(resistance * ripple.rms**2 + drop * off, rel=1e-4)


@given(volts, ohms, henries, hertz, st.floats(0.01, 0.95))
def test_a_clamp_that_grows_comes_to_the_current_that_stops_at_once(
    voltage, resistance, inductance, frequency, duty
):
    drops = (0.0, 0.7, 7.0, 1e9, math.inf)
    found = [square_ripple(voltage, resistance, inductance, frequency, duty, drop) for drop in drops]
    means = [ripple.mean for ripple in found]
    assert all(one >= other - 1e-9 * one for one, other in itertools.pairwise(means))
    assert found[-2].rms == pytest.approx(found[-1].rms, rel=1e-3)


def test_full_duty_is_direct_current():
    assert square_ripple(10.0, 5.0, 1e-3, 100.0, 1.0).rms == 2.0
    assert square_ripple(10.0, 5.0, 1e-3, 100.0, 1.0).swing == 0


@pytest.mark.parametrize("frequency", [200.0, 5000.0])
def test_square_current_as_an_integrator(frequency):
    v, r, inductance, duty = 12.0, 3.0, 1e-3, 0.3
    time = np.linspace(0, 4.37 / frequency, 200)
    ours = begun(repeating_square_current, time, v, r, inductance, frequency, duty)
    begin = 0.0
    for period in range(5):
        for low, high, on in ((period, period + duty, v), (period + duty, period + 1, 0.0)):
            inside = (time * frequency >= low) & (time * frequency <= high)
            spans = np.append(time[inside], high / frequency)
            solved = solve_ivp(
                lambda _t, i, on=on: (on - r * i) / inductance,
                (low / frequency, high / frequency),
                [begin],
                t_eval=spans,
                rtol=1e-9,
                atol=1e-12,
            )
            assert ours[inside] == pytest.approx(solved.y[0][:-1], abs=1e-6)
            begin = solved.y[0][-1]
    assert ours[0] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("frequency", "drop"), [(100.0, 0.7), (2000.0, 0.0), (2000.0, 0.7)])
def test_a_supply_that_gives_in_as_stepped(frequency, drop):
    v, r, inductance, duty, limit = 12.0, 3.0, 1e-3, 0.4, 1.5
    step, current, periods = 1 / frequency / 4000, 0.0, 12
    taken = []
    for _ in range(periods):
        taken = []
        for k in range(4000):
            on = k < 4000 * duty
            slope = ((v if on else -drop) - r * current) / inductance
            current = min(max(current + step * slope, 0.0), limit)
            taken.append(current)
    found = square_ripple(v, r, inductance, frequency, duty, drop, limit)
    assert found.highest == limit == max(taken)
    assert found.lowest == pytest.approx(min(taken), abs=2e-3)
    assert found.mean == pytest.approx(np.mean(taken), rel=3e-3)
    assert found.rms == pytest.approx(np.sqrt(np.mean(np.square(taken))), rel=3e-3)
    time = (10 * np.arange(400) + 1) * step
    curve = repeating_square_current(time, v, r, inductance, frequency, duty, drop, limit)
    assert curve == pytest.approx(np.array(taken)[::10], abs=0.02)


def test_direct_current_is_held_at_the_limit():
    assert dc_current([0.0, 1e-4, 1.0], 12.0, 3.0, 1e-3, 1.5)[-1] == 1.5
    assert square_ripple(12.0, 3.0, 1e-3, 100.0, 1.0, limit=1.5).mean == 1.5
    out_of_reach = square_ripple(12.0, 3.0, 1e-3, 100.0, 0.5, limit=9.0)
    assert out_of_reach == square_ripple(12.0, 3.0, 1e-3, 100.0, 0.5)


def test_square_current_comes_to_its_ripple():
    ripple = square_ripple(12.0, 3.0, 1e-3, 1e4, 0.3)
    time = np.linspace(0.01, 0.0101, 1001)
    late = begun(repeating_square_current, time, 12.0, 3.0, 1e-3, 1e4, 0.3)
    assert late.min() == pytest.approx(ripple.lowest, rel=1e-3)
    assert late.max() == pytest.approx(ripple.highest, rel=1e-3)


@given(volts, ohms, henries, hertz, st.floats(0, 10))
def test_sine_current_follows_the_circuit(voltage, resistance, inductance, frequency, periods):
    time = periods / frequency
    step = 1e-5 * min(1 / frequency, inductance / resistance)
    times = np.array([time, time + step, time + 2 * step])
    i = begun(repeating_sine_current, times, voltage, resistance, inductance, frequency)
    source = math.sqrt(2) * voltage * math.sin(2 * math.pi * frequency * (time + step))
    left = source - resistance * i[1] - inductance * (i[2] - i[0]) / (2 * step)
    assert abs(left) < 1e-3 * voltage


def test_sine_of_a_textbook_triangle():
    # 3 ohm and 4 ohm of reactance make 5 ohm.
    rms, lag = sine_amplitude(10.0, 3.0, 4 / (2 * math.pi * 50), 50.0)
    assert rms == pytest.approx(2.0)
    assert math.cos(lag) == pytest.approx(0.6)


@given(st.floats(0.01, 10), henries, st.floats(1e-12, 1e-8))
def test_spike_takes_the_fields_energy(current, inductance, capacitance):
    voltage = spike_voltage(current, inductance, capacitance)
    assert capacitance * voltage**2 / 2 == pytest.approx(float(stored_energy(inductance, current)))


@given(st.floats(0.1, 10), ohms, henries, st.floats(0.01, 2))
def test_freewheel_dies_out_when_its_time_is_over(current, resistance, inductance, drop):
    # Under a drop the current runs toward -drop/resistance and stops at zero.
    time = freewheel_time(current, resistance, inductance, drop)
    level = drop / resistance
    left = (current + level) * math.exp(-time * resistance / inductance) - level
    assert left == pytest.approx(0, abs=1e-9 * (current + level))
    assert freewheel_time(current, resistance, inductance, 2 * drop) < time


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: square_ripple(1.0, 1.0, 1.0, 0.0, 0.5),
        lambda: square_ripple(1.0, 1.0, 1.0, 1.0, 0.0),
        lambda: repeating_square_current(0.0, 1.0, 1.0, 1.0, 1.0, 1.1),
        lambda: square_ripple(1.0, 1.0, 1.0, -1.0, 0.5),
    ],
)
def test_no_frequency_or_duty_is_refused(wrong):
    with pytest.raises(ValueError, match="duty"):
        wrong()


@pytest.mark.parametrize(("drop", "left"), [(0.0, 0.0), (0.7, 2.0), (0.7, -1.0)])
def test_endless_freewheels_are_refused(drop, left):
    with pytest.raises(ValueError, match="left"):
        freewheel_time(1.0, 1.0, 1e-3, drop, left)


def test_thresholds():
    assert not near_resonance(1e5, 1e6)
    assert near_resonance(1.001e5, 1e6)
    assert not near_resonance(1e9, math.inf)
    assert not above_extra_low_voltage(60.0)
    assert above_extra_low_voltage(60.1)
    assert above_extra_low_voltage(-60.1)
    assert not above_extra_low_voltage(25.0, alternating=True)
    assert above_extra_low_voltage(25.1, alternating=True)
