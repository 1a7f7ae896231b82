"""Pulses: the periodic state, largest duty, longest pulse, largest drive for a pulse."""

import math
from dataclasses import replace

import numpy as np
import pytest
from heat_cases import bare, on_steel, one_node

from coilgen.physics.heat.body import Supply
from coilgen.physics.heat.network import network
from coilgen.physics.heat.pulse import (
    Periodic,
    largest_duty,
    largest_pulse,
    longest_pulse,
    periodic_sine_state,
    periodic_state,
    square_spans,
)
from coilgen.physics.heat.sawtooth import followed, superposed
from coilgen.physics.heat.steady import NoSteadyState, state_at_peak, steady_state
from coilgen.physics.heat.transient import warming


@pytest.mark.parametrize("periods", [0.05, 0.5, 2.0])
def test_one_node_swings_between_its_closed_forms(periods):
    # peak = full (1 - exp(-a)) / (1 - exp(-a - b)) for on and off times of a and b time constants.
    net, constant = one_node()
    frequency, duty = 1 / (periods * constant), 0.3
    state = periodic_state(net, Supply(current=0.5), frequency, duty)
    full = 0.25 * 5 / (30.0 * net.face_area.sum())
    peak = full * math.expm1(-duty * periods) / math.expm1(-periods)
    assert state.peak - 20 == pytest.approx(peak, abs=0.02)
    assert state.lowest - 20 == pytest.approx(peak * math.exp(-(1 - duty) * periods), abs=0.02)


@pytest.mark.parametrize("frequency", [0.003, 0.05, 1.0])
def test_periodic_state_is_what_many_periods_come_to(frequency):
    net, supply, duty = network(bare()), Supply(voltage=8.0), 0.4
    state = periodic_state(net, supply, frequency, duty)
    rise = steady_state(net, Supply(voltage=8.0, on_share=duty)).rise
    for _ in range(max(12, round(150 * frequency))):
        on = warming(net, supply, duty / frequency, rise)
        off = warming(net, None, (1 - duty) / frequency, on.rise[-1])
        rise = off.rise[-1]
    assert on.coil_peak[-1] == pytest.approx(state.peak, abs=0.3)
    assert off.coil_peak[-1] == pytest.approx(state.lowest, abs=0.3)


def test_fast_periods_hold_the_mean_and_slow_ones_reach_the_ends():
    net, supply = network(on_steel()), Supply(voltage=8.0)
    states = [periodic_state(net, supply, f, 0.4) for f in (1e-4, 1e-2, 1.0, 20e3)]
    peaks = [state.peak for state in states]
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[0] == pytest.approx(steady_state(net, supply).coil_peak, abs=0.05)
    assert states[0].lowest == pytest.approx(25, abs=0.05)
    assert peaks[3] == pytest.approx(states[3].steady.coil_peak, abs=0.01)
    for state in states[1:]:
        assert state.lowest < state.steady.coil_peak < state.peak
        assert np.abs(state.histories[-1].rise[-1] - state.histories[0].rise[0]).max() < 1e-3
        assert state.lowest < state.mean < state.peak
        assert state.hottest.coil_peak == pytest.approx(state.peak)


def test_a_duty_of_one_is_steady():
    net = network(bare())
    state = periodic_state(net, Supply(voltage=5.0), 10.0, 1.0)
    assert isinstance(state, Periodic)
    assert state.peak == state.lowest == state.mean == steady_state(net, Supply(voltage=5.0)).coil_peak
    assert state.histories == ()


def test_a_mean_power_or_a_single_pulse_too_many_has_no_state():
    net = network(bare())
    assert isinstance(periodic_state(net, Supply(current=6.0), 100.0, 0.9), NoSteadyState)
    slow = periodic_state(net, Supply(current=6.0), 1e-3, 0.01)
    assert isinstance(slow, NoSteadyState)
    assert slow.current == pytest.approx(10 * state_at_peak(net, slow.ceiling).current, rel=1e-6)


@pytest.mark.parametrize("periods", [0.05, 0.5, 3.0])
def test_one_node_under_a_sine_swings_as_its_closed_form(periods):
    # P (1 - cos 2wt) into a capacity C that loses G: mean P/G, swing P/|G + 2jwC|.
    net, constant = one_node()
    frequency = 1 / (periods * constant)
    state = periodic_sine_state(net, Supply(current=0.5), frequency)
    mean = 0.25 * 5 / (30.0 * net.face_area.sum())
    swing = mean / math.hypot(1.0, 4 * math.pi / periods)
    assert state.mean - 20 == pytest.approx(mean, rel=2e-3)
    assert state.peak - 20 - mean == pytest.approx(swing, rel=0.03)
    assert mean - (state.lowest - 20) == pytest.approx(swing, rel=0.03)


def test_teeth_laid_on_the_mean_are_those_that_are_followed():
    net, supply, frequency, duty = network(on_steel()), Supply(voltage=8.0), 0.1, 0.3
    state = periodic_state(net, supply, frequency, duty)
    each = followed(net, square_spans(supply, frequency, duty), 150.0)
    mean = warming(net, Supply(voltage=8.0, on_share=duty), 3000.0)
    laid = superposed(net, state, mean, 150.0, 5)
    assert laid.every == 3
    assert len(laid.time) == 10
    there = np.interp(laid.time, each.time, each.peak)
    # Cold copper takes more of a voltage: the first tooth is higher than the settled ones.
    assert laid.peak == pytest.approx(there, abs=0.1 * (state.peak - 25))
    assert laid.peak[-4:] == pytest.approx(there[-4:], abs=0.03 * (state.peak - 25))


def test_a_tooth_reaches_a_limit_as_a_pulse_does():
    net, supply = network(bare()), Supply(voltage=8.0)
    each = followed(net, square_spans(supply, 0.01, 0.5), 200.0)
    assert each.time_to_reach(100.0) == pytest.approx(longest_pulse(net, supply, 100.0), rel=0.01)
    assert each.time_to_reach(1e4) == math.inf
    assert each.time_to_reach(20.0) == 0.0


def test_a_start_that_melts_ends_there():
    melting = followed(network(bare()), square_spans(Supply(current=8.0), 1e-3, 0.9), 1e4)
    assert melting.peak[-1] == pytest.approx(1084.62, abs=20)
    assert melting.time[-1] < 900


@pytest.mark.parametrize("wrong", [(0.0, 0.5), (10.0, 0.0), (10.0, 1.1)])
def test_no_period_or_duty_is_refused(wrong):
    with pytest.raises(ValueError, match="duty"):
        periodic_state(network(bare()), Supply(voltage=1.0), *wrong)


@pytest.mark.parametrize("frequency", [0.02, 1.0, 1000.0])
def test_largest_duty_brings_the_peak_to_the_limit(frequency):
    net, supply = network(bare()), Supply(voltage=8.0)
    duty = largest_duty(net, supply, frequency, 130.0)
    assert 0 < duty < 1
    assert periodic_state(net, supply, frequency, duty).peak == pytest.approx(130, abs=0.3)


@pytest.mark.slow
def test_slow_periods_allow_less_duty():
    net, supply = network(bare()), Supply(voltage=8.0)
    duties = [largest_duty(net, supply, frequency, 130.0) for frequency in (0.02, 0.2, 20.0)]
    assert duties == sorted(duties)
    # Fast periods are told by the mean power alone.
    at_limit = state_at_peak(net, 130.0)
    assert duties[2] == pytest.approx((at_limit.voltage / 8.0) ** 2, rel=5e-3)


def test_largest_duty_at_its_ends():
    net = network(bare())
    assert largest_duty(net, Supply(voltage=1.0), 1.0, 130.0) == 1
    assert largest_duty(net, Supply(current=50.0), 1e-4, 30.0) < 1e-3


def test_longest_pulse():
    net = network(bare())
    times = [longest_pulse(net, Supply(voltage=v), 130.0) for v in (5.0, 8.0, 20.0)]
    assert times == sorted(times, reverse=True)
    assert longest_pulse(net, Supply(voltage=1.0), 130.0) == math.inf
    # In the first milliseconds the copper keeps what it is given.
    assert longest_pulse(net, Supply(current=200.0), 130.0) == pytest.approx(
        _adiabatic(net, 200.0, 105.0), rel=0.05
    )


def _adiabatic(net, current, rise):
    """Time in which the nodes of the turns warm by a rise without losing heat, their resistance growing."""
    node = int(np.argmax(net.resistance_20c / net.capacity))
    cold = net.resistance_20c[node] * (1 + 0.00393 * 5)
    alpha = 0.00393 / (1 + 0.00393 * 5)
    return net.capacity[node] * math.log1p(alpha * rise) / (alpha * cold * current**2)


@pytest.mark.parametrize("duration", [0.01, 2.0, 60.0])
def test_largest_current_of_a_pulse_reaches_the_limit_at_its_end(duration):
    net = network(on_steel())
    current = largest_pulse(net, 130.0, duration).current
    assert longest_pulse(net, Supply(current=current), 130.0) == pytest.approx(duration, rel=1e-3)


@pytest.mark.parametrize("duration", [0.01, 2.0])
def test_the_largest_current_of_a_pulse_does_not_hang_on_where_it_is_sought(duration):
    net = network(on_steel())
    pulse = largest_pulse(net, 130.0, duration)
    for share in (0.3, 1.24, 1.3, 3.0):  # under, about where a pulse is not followed on, over
        near = replace(pulse, current=share * pulse.current, slope=2.0)
        assert largest_pulse(net, 130.0, duration, near=near).current == pytest.approx(
            pulse.current, rel=1e-5
        )


def test_the_largest_current_of_a_pulse_is_found_from_that_to_another_limit():
    net = network(on_steel())
    near = largest_pulse(net, 90.0, 2.0)
    found = largest_pulse(net, 160.0, 2.0, near=near)
    assert found.current == pytest.approx(largest_pulse(net, 160.0, 2.0).current, rel=1e-5)
    assert found.slope == pytest.approx(near.slope, rel=0.05)


def test_shorter_pulses_allow_more_and_long_ones_the_continuous_current():
    net = network(bare())
    currents = [largest_pulse(net, 130.0, duration).current for duration in (0.1, 1.0, 10.0, 3000.0)]
    assert currents == sorted(currents, reverse=True)
    assert currents[3] == pytest.approx(state_at_peak(net, 130.0).current, rel=1e-3)
