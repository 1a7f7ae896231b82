"""Eddy currents' heat in a network: where it is made, and a sine's supply with what stands in series."""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import imbalance, on_steel, one_node
from scipy.optimize import brentq

from coilgen.physics.heat.balance import exact_film, heat, residual
from coilgen.physics.heat.body import Supply
from coilgen.physics.heat.network import network, with_eddy_currents
from coilgen.physics.heat.steady import state_at_peak, steady_state

SINE = Supply(voltage=6.0, series_resistance=1.5, reactance=3.0)


def heated(ohms=1.5):
    return with_eddy_currents(network(on_steel()), {"bottom": ohms})


def test_a_plate_makes_its_heat_beneath_the_winding():
    net = heated()
    assert net.eddy_resistance.sum() == pytest.approx(1.5)
    (at,) = np.nonzero(net.eddy_resistance)
    assert set(at) <= set(net.parts["bottom"])
    wound = net.radius[net.coil]
    assert wound.min() <= net.radius[at].min() and net.radius[at].max() <= wound.max()
    density = net.eddy_resistance[at] / net.area[at]
    assert np.ptp(density) < 1e-9 * density.max()


def test_the_slope_is_that_of_the_heat():
    """Newton's matrix against differences of what it is the slope of."""
    net = heated()
    film, rise = exact_film(net), np.linspace(20.0, 60.0, len(net.capacity))
    slope = heat(net, rise, SINE, film).slope
    for node in (0, len(rise) // 2, len(rise) - 1):
        step = np.zeros(len(rise))
        step[node] = 1e-3
        ends = [residual(net, each, heat(net, each, SINE, film)) for each in (rise + step, rise - step)]
        assert (ends[0] - ends[1]) / 2e-3 == pytest.approx(slope[:, node], rel=1e-3, abs=1e-6)


def test_a_sine_settles_where_its_impedance_agrees():
    """Copper of one temperature: rise by its own balance."""
    net, _ = one_node(alpha=0.004)
    conductance, cold = 30.0 * net.face_area.sum(), net.resistance_20c.sum()

    def left(rise):
        copper = cold * (1 + 0.004 * rise)
        return 36.0 / ((copper + 1.5) ** 2 + 9.0) * copper - conductance * rise

    state = steady_state(net, SINE)
    assert state.rise.max() == pytest.approx(brentq(left, 0.0, 1e3), rel=1e-4)
    assert abs(imbalance(state)) < 1e-9


def test_eddy_currents_leave_less_current_for_a_peak():
    net = heated()
    with_metal, alone = (state_at_peak(each, 100.0) for each in (net, network(on_steel())))
    assert with_metal.current < alone.current
    assert abs(imbalance(with_metal)) < 1e-9
    again = steady_state(net, Supply(current=with_metal.current))
    assert again.coil_peak == pytest.approx(100.0, abs=1e-6)


def test_all_heat_in_the_plate_is_that_of_a_plate_alone():
    """No copper resistance to speak of: copper is no hotter than what it lies on."""
    net = heated(1.0)
    net = replace(net, resistance_20c=1e-9 * net.resistance_20c)
    state = steady_state(net, Supply(current=1.0))
    hottest = state.rise[net.parts["bottom"]].max() + net.ambient - 273.15
    assert hottest > state.coil_peak > state.part_mean["board"] > 25.0
