"""Networks that are solved at once: each as by itself."""

import math
from dataclasses import replace

import numpy as np
import pytest

from coilgen.physics.heat.balance import exact_film, heat, residual, tabulated_film
from coilgen.physics.heat.body import Supply, bounded
from coilgen.physics.heat.network import network, together
from coilgen.physics.heat.pulse import Pulse, largest_pulse, longest_pulse, longest_pulses, pulses_beside
from coilgen.physics.heat.steady import (
    NoSteadyState,
    Steady,
    state_at_peak,
    states_at_peak,
    steady_state,
    steady_states,
)
from coilgen.physics.heat.transient import hottest_in, slowest_time_constants, time_constants, warming
from tests.heat_cases import on_steel

USUAL = network(on_steel())


def ends():
    """Of joints, convection, copper, air and eddy currents."""
    wide = replace(on_steel(), surroundings=replace(on_steel().surroundings, convection_band=(0.7, 1.5)))
    plate = replace(wide.bottom, contact_band=(0.2 * wide.bottom.contact, 5 * wide.bottom.contact))
    wide = replace(wide, bottom=plate)
    return [
        *(network(bounded(wide, air=end)) for end in (0, 1)),
        *(network(bounded(wide, joints=end)) for end in (0, 1)),
        replace(USUAL, resistance_20c=1.1 * USUAL.resistance_20c),
        replace(USUAL, ambient=USUAL.ambient + 15),
        replace(USUAL, eddy_resistance=USUAL.eddy_resistance + 0.01),
    ]


SUPPLIES = [Supply(voltage=4.0), Supply(current=0.5), *[Supply(voltage=5.0, on_share=0.7)] * 5]


@pytest.mark.parametrize("film", [exact_film, tabulated_film])
def test_the_heat_of_a_stack_is_that_of_each(film):
    nets = ends()
    rise = np.random.default_rng(1).uniform(5, 80, (len(nets), len(USUAL.capacity)))
    whole = heat(together(nets), rise, SUPPLIES, film(together(nets)))
    left = residual(together(nets), rise, whole)
    for number, (net, supply) in enumerate(zip(nets, SUPPLIES, strict=True)):
        alone = heat(net, rise[number], supply, film(net))
        for name, value in vars(alone).items():
            np.testing.assert_allclose(getattr(whole, name)[number], value, rtol=1e-11, atol=1e-12)
        np.testing.assert_allclose(left[number], residual(net, rise[number], alone), atol=1e-9)


def test_each_settles_as_by_itself():
    near = steady_state(USUAL, SUPPLIES[-1])
    assert isinstance(near, Steady)
    found = steady_states(ends(), SUPPLIES, near)
    for net, supply, state in zip(ends(), SUPPLIES, found, strict=True):
        alone = steady_state(net, supply)
        np.testing.assert_allclose(state.rise, alone.rise, rtol=1e-9)
        assert (state.current, state.power) == pytest.approx((alone.current, alone.power), rel=1e-9)


def test_one_that_runs_away_leaves_the_others_as_they_are():
    near = steady_state(USUAL, Supply(current=0.4))
    assert isinstance(near, Steady)
    much, little = steady_states([USUAL, USUAL], [Supply(current=50.0), Supply(current=0.5)], near)
    assert much == steady_state(USUAL, Supply(current=50.0))
    assert isinstance(much, NoSteadyState)
    assert isinstance(little, Steady)
    assert little.coil_peak == pytest.approx(steady_state(USUAL, Supply(current=0.5)).coil_peak, rel=1e-9)


def test_each_is_led_to_a_peak_as_by_itself():
    for net, state in zip(ends(), states_at_peak(ends(), 120.0, state_at_peak(USUAL, 120.0)), strict=True):
        assert state.coil_peak == pytest.approx(120.0, abs=1e-6)
        assert state.current == pytest.approx(state_at_peak(net, 120.0).current, rel=1e-9)


def test_the_slowest_time_constant_is_the_first_of_all():
    nets = ends()
    rise = np.array([steady_state(net, each).rise for net, each in zip(nets, SUPPLIES, strict=True)])
    found = slowest_time_constants(together(nets), rise, SUPPLIES)
    first = [time_constants(*each)[0] for each in zip(nets, rise, SUPPLIES, strict=True)]
    assert found == pytest.approx(first, rel=1e-8)


def test_each_is_warmed_as_by_itself():
    nets = ends()
    found = hottest_in(together(nets), SUPPLIES, 20.0, 1000.0)
    alone = [warming(*each, 20.0).coil_peak[-1] for each in zip(nets, SUPPLIES, strict=True)]
    assert found == pytest.approx(alone, abs=0.02)
    assert hottest_in(together(nets), SUPPLIES, 20.0, float(max(alone)) - 1.0) is None


@pytest.mark.parametrize("duration", [0.1, 300.0])
def test_each_pulse_leads_to_the_limit_as_by_itself(duration):
    usual = largest_pulse(USUAL, 130.0, duration)
    found = pulses_beside(USUAL, usual, ends(), duration)
    alone = [largest_pulse(net, 130.0, duration).current for net in ends()]
    assert found == pytest.approx(alone, rel=1e-4)


def test_pulses_far_over_the_limit_are_sought_one_by_one():
    alone = largest_pulse(USUAL, 130.0, 1.0).current
    far = Pulse(current=math.sqrt(3) * alone, limit=130.0, slope=2.0)
    assert pulses_beside(USUAL, far, [USUAL], 1.0) == pytest.approx([alone], rel=1e-4)


def test_each_longest_pulse_is_as_by_itself_though_not_all_end():
    supplies = [*[Supply(current=3.0)] * 6, Supply(current=0.2)]
    found = longest_pulses(ends(), supplies, 130.0, 1e4)
    alone = [longest_pulse(*each, 130.0, 1e4) for each in zip(ends(), supplies, strict=True)]
    assert found == pytest.approx(alone, rel=1e-4)
    assert math.isinf(found[-1]) and not math.isinf(found[0])


def test_warming_that_ends_where_one_melts_is_sought_on_by_itself():
    nets, supplies = [USUAL, USUAL], [Supply(current=100.0), Supply(current=2.0)]
    found = longest_pulses(nets, supplies, 130.0, 1e4)
    assert found == pytest.approx([longest_pulse(USUAL, each, 130.0) for each in supplies], rel=1e-4)
