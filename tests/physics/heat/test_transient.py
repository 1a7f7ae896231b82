"""Transients: an exponential, another integrator, the steady state they end in, times and time constants."""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import bare, on_steel, one_node
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from coilgen.physics.heat.balance import exact_film, heat, residual, tabulated_film
from coilgen.physics.heat.body import Supply, Surroundings
from coilgen.physics.heat.network import network
from coilgen.physics.heat.rosenbrock import _solver, stepped
from coilgen.physics.heat.steady import COPPER_MELTS, state_at_peak, steady_state
from coilgen.physics.heat.transient import (
    TOLERANCE,
    flowing,
    rises_at,
    time_constants,
    time_to_reach,
    time_to_share,
    warming,
)


def test_one_node_warms_as_an_exponential():
    net, constant = one_node()
    history = warming(net, Supply(current=0.5), 5 * constant, tolerance=1e-4)
    final = 0.25 * 5 / (30.0 * net.face_area.sum())
    exact = 20 + final * -np.expm1(-history.time / constant)
    assert history.coil_peak == pytest.approx(exact, abs=0.01)
    assert time_to_reach(net, history, 20 + final * (1 - np.exp(-1))) == pytest.approx(constant, rel=1e-3)
    assert time_constants(net, history.rise[-1], Supply(current=0.5))[0] == pytest.approx(constant, rel=1e-4)


def test_between_the_steps_an_exponential_too():
    net, constant = one_node()
    history = warming(net, Supply(current=0.5), 5 * constant, tolerance=1e-4)
    assert rises_at(history, history.time) == pytest.approx(history.rise, abs=1e-9)
    between = np.linspace(0, 5 * constant, 997)
    final = 0.25 * 5 / (30.0 * net.face_area.sum())
    exact = final * -np.expm1(-between / constant)
    assert rises_at(history, between)[:, net.coil].max(axis=1) == pytest.approx(exact, abs=0.01)
    half = 0.5 * -np.expm1(-5)
    assert time_to_share(net, history, 0.5) == pytest.approx(-constant * np.log1p(-half), rel=1e-3)


def test_a_hard_drive_needs_no_short_horizon():
    net = network(bare())
    short, long = (warming(net, Supply(current=200.0), until, stop_at=130.0) for until in (1.0, 1e9))
    times = [time_to_reach(net, history, 130.0) for history in (short, long)]
    assert times[0] == pytest.approx(times[1], rel=1e-3)
    assert times[0] < 0.01


@pytest.mark.parametrize("share", [0.5, 0.9])
def test_constant_current_slows_one_node_and_constant_voltage_hastens_it(share):
    # Linearised about the steady state: G less or plus I² dR/dT.
    net, constant = one_node(0.00393)
    conductance = 30.0 * net.face_area.sum()
    current = (share * conductance / (0.00393 * 5)) ** 0.5
    state = steady_state(net, Supply(current=current), ceiling=1e5)
    slower = time_constants(net, state.rise, Supply(current=current))[0]
    assert slower == pytest.approx(constant / (1 - share), rel=1e-3)
    faster = time_constants(net, state.rise, Supply(voltage=state.voltage))[0]
    assert faster == pytest.approx(constant / (1 + share), rel=1e-3)


@pytest.mark.parametrize("assembly", [bare(), on_steel()], ids=["bare", "on steel"])
@pytest.mark.parametrize("supply", [Supply(voltage=6.0), Supply(current=0.7)], ids=["voltage", "current"])
def test_as_a_stiff_integrator_of_other_hands(assembly, supply):
    net = network(assembly)
    film = exact_film(net)

    def rate(_time, rise):
        return residual(net, rise, heat(net, rise, supply, film)) / net.capacity

    history = warming(net, supply, 100.0, tolerance=1e-3)
    other = solve_ivp(
        rate,
        (0.0, 100.0),
        history.rise[0],
        method="BDF",
        t_eval=history.time,
        rtol=1e-7,
        atol=1e-5,
        jac=lambda _time, rise: heat(net, rise, supply, film).slope / net.capacity[:, None],
    )
    assert np.abs(other.y.T - history.rise).max() < 0.02


@settings(max_examples=8)
@given(st.floats(1, 8), st.sampled_from(["face-up", "vertical"]))
def test_ends_in_the_steady_state(voltage, orientation):
    net = network(bare(Surroundings(orientation=orientation)))
    history = warming(net, Supply(voltage=voltage), 2000.0)
    state = steady_state(net, Supply(voltage=voltage))
    assert history.coil_peak[-1] == pytest.approx(state.coil_peak, abs=0.02)
    assert np.all(np.diff(history.coil_peak) > -0.05)
    assert np.all(np.diff(history.current) < 1e-6)


def test_tolerance_is_kept_and_error_falls_with_it():
    net = network(on_steel())
    ends = [warming(net, Supply(voltage=6.0), 30.0, tolerance=t).coil_peak[-1] for t in (1e-2, 1e-3, 1e-5)]
    assert abs(ends[0] - ends[2]) < 0.02
    assert abs(ends[1] - ends[2]) < abs(ends[0] - ends[2]) / 3


def test_order_of_the_integrator():
    # Steps of a fixed length are forced by a tolerance nothing misses: halving them cuts the error eightfold.
    net, supply = network(on_steel()), Supply(voltage=6.0)
    by_rise = flowing(net, supply, tabulated_film(net), np.inf)
    start = warming(net, supply, 5.0, tolerance=1e-4).rise[-1]

    def after(steps):
        rise = start
        for _ in range(steps):
            rise, _error = stepped(by_rise, rise, 8.0 / steps, *by_rise.flow(rise))
        return rise

    best = after(512)
    off = [np.abs(after(steps) - best).max() for steps in (16, 32, 64)]
    assert off[0] / off[1] > 5
    assert off[1] / off[2] > 5


@pytest.mark.parametrize("nodes", [1, 64, 65, 200])
def test_equations_of_any_number_of_nodes_are_solved_by_blocks(nodes):
    """Joints from each node to each, and a store in each."""
    rng = np.random.default_rng(nodes)
    joints = rng.random((nodes, nodes))
    joints = joints + joints.T
    matrix, right = np.diag(joints.sum(axis=1) + rng.random(nodes)) - joints, rng.random(nodes)
    assert matrix @ _solver(matrix.copy())(right) == pytest.approx(right, abs=1e-12)


def test_heat_stored_is_heat_made_less_lost():
    net = network(on_steel())
    supply, film = Supply(voltage=6.0), tabulated_film(net)
    history = warming(net, supply, 60.0, tolerance=1e-4)
    kept = []
    for rise in history.rise:
        now = heat(net, rise, supply, film)
        kept.append(now.made.sum() - now.lost.sum())
    stored = history.rise[-1] @ net.capacity
    assert np.trapezoid(kept, history.time) == pytest.approx(stored, rel=2e-3)


def test_first_moment_is_adiabatic():
    net = network(bare())
    history = warming(net, Supply(current=5.0), 1e-4)
    cold = net.resistance_20c * (1 + 0.00393 * 5)
    turns = net.coil
    rate = 25.0 * (cold / net.capacity)[turns]
    assert history.rise[-1][turns] == pytest.approx(rate * 1e-4, rel=1e-3)


def test_a_coil_cools_to_the_air():
    net = network(bare())
    hot = steady_state(net, Supply(voltage=6.0)).rise
    history = warming(net, None, 3000.0, start=hot)
    assert np.all(np.diff(history.coil_peak) < TOLERANCE)
    assert history.coil_peak[-1] == pytest.approx(25, abs=0.05)
    assert np.all(history.current == 0)


def test_a_limit_is_reached_once_and_only_if_it_is():
    net = network(on_steel())
    history = warming(net, Supply(voltage=6.0), 100.0)
    assert time_to_reach(net, history, history.coil_peak[-1] + 1) == np.inf
    assert time_to_reach(net, history, 20.0) == 0
    times = [time_to_reach(net, history, limit) for limit in (40, 60, 80, 100)]
    assert times == sorted(times)
    stopped = warming(net, Supply(voltage=6.0), 100.0, stop_at=80.0)
    assert stopped.time[-1] < 100
    assert time_to_reach(net, stopped, 80.0) == pytest.approx(times[2], rel=1e-2)


def test_a_coil_that_runs_away_melts_in_a_finite_time():
    net = network(bare())
    history = warming(net, Supply(current=5.0), 600.0)
    assert history.melted
    assert history.time[-1] < 20
    assert history.coil_peak[-1] >= COPPER_MELTS
    assert not warming(net, Supply(current=0.5), 600.0).melted


def test_beyond_runaway_a_mode_does_not_fade():
    net, _ = one_node(0.00393)
    current = 1.1 * (30.0 * net.face_area.sum() / (0.00393 * 5)) ** 0.5
    assert time_constants(net, np.zeros(len(net.capacity)), Supply(current=current))[0] == np.inf


def test_table_of_coefficients_is_that_of_the_correlations():
    net = network(on_steel())
    exact, table = exact_film(net), tabulated_film(net)
    for rise in (0.1, 1.0, 13.0, 97.0, 411.0, 1500.0):
        each = np.full(len(net.faces), rise)
        assert table(each)[0] == pytest.approx(exact(each)[0], rel=1e-4)
        assert table(each)[1] == pytest.approx(exact(each)[1], rel=0.02, abs=1e-4)


def test_no_time_is_refused():
    with pytest.raises(ValueError, match="positive"):
        warming(network(bare()), Supply(voltage=1.0), 0.0)


def test_plate_lags_behind_the_coil_and_slows_it():
    fast, slow = (
        time_to_reach(network(each), warming(network(each), Supply(voltage=6.0), 1000.0), 120.0)
        for each in (bare(), on_steel())
    )
    assert slow > 3 * fast
    heavier = on_steel()
    heavier = replace(heavier, bottom=replace(heavier.bottom, density=2 * heavier.bottom.density))
    net = network(heavier)
    state = state_at_peak(net, 120.0)
    supply = Supply(voltage=state.voltage)
    light = network(on_steel())
    ratio = time_constants(net, state.rise, supply)[0] / time_constants(light, state.rise, supply)[0]
    assert 1.8 < ratio < 2.0
