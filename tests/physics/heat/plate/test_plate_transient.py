"""A plate's modes warm as the whole network does, as the rings do, and keep the heat they are given."""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import EPOXY_GLASS
from plate_cases import amperes, circle, coil, linear, plate, rectangle, steel, volts, wound
from scipy.integrate import solve_ivp

from coilgen.physics.heat import body as rings
from coilgen.physics.heat import outline
from coilgen.physics.heat import pulse as ring_pulse
from coilgen.physics.heat.balance import exact_film
from coilgen.physics.heat.body import Supply, Surroundings
from coilgen.physics.heat.network import network
from coilgen.physics.heat.plate.balance import heat, residual
from coilgen.physics.heat.plate.body import Circuit
from coilgen.physics.heat.plate.network import plate_network
from coilgen.physics.heat.plate.steady import PlateRunaway, PlateSteady, plate_steady_state
from coilgen.physics.heat.plate.transient import Switched, plate_periodic_state, plate_warming
from coilgen.physics.heat.transient import rises_at, warming

AIR = 25.0
LONG = rectangle(70e-3, 30e-3)
PAIR = plate_network(plate(LONG, coil((-12e-3, 0.0)), coil((12e-3, 0.0))), 2e-3)
ROUND = plate_network(plate(circle(15e-3), coil(outer=14e-3, inner=2e-3)))
LAYER = rings.CopperLayer(thickness=35e-6, coverage=0.5, resistance_20c=2.5)
BY_RINGS = network(
    rings.Assembly(
        board=rings.WoundBoard(
            outline=outline.disc(30e-3),
            winding_inner_radius=2e-3,
            winding_outer_radius=14e-3,
            layers=(LAYER, LAYER),
            dielectric=(1.5e-3,),
            laminate=EPOXY_GLASS,
        ),
        surroundings=Surroundings(),
    )
)


@pytest.mark.parametrize(("current", "time"), [(20.0, 0.05), (5.0, 1.0), (1.0, 30.0), (0.4, 300.0)])
def test_round_board_warms_as_by_rings(current, time):
    other = warming(BY_RINGS, Supply(current=current), time)
    found = plate_warming(ROUND, amperes(current), time)
    at = time * np.array([0.1, 0.3, 1.0])
    hottest = np.interp(at, found.time, found.hottest[:, 0])
    by_rings = rises_at(other, at)[:, BY_RINGS.coil].max(axis=1)
    assert hottest - AIR == pytest.approx(by_rings, rel=0.02, abs=0.3)


def test_modes_warm_as_the_whole_network():
    """Another integrator on every node: unlike windings, steel on one of them, one drive a voltage."""
    board = plate(
        LONG,
        coil((-14e-3, 0.0)),
        wound(rectangle(20e-3, 8e-3, (14e-3, 2e-3))),
        bodies=(steel(circle(8e-3, (-14e-3, 0.0))),),
    )
    net = plate_network(board, 3e-3)
    drive = (*amperes(0.7), Circuit(supply=Supply(voltage=2.5), windings=(1,)))
    film = exact_film(net)

    def flow(_time, rise):
        return residual(net, rise, heat(net, rise, drive, film)) / net.capacity

    def slope(_time, rise):
        return heat(net, rise, drive, film).slope.near / net.capacity[:, None]

    times = np.array([1.0, 5.0, 20.0, 100.0])
    other = solve_ivp(
        flow, (0, 100), np.zeros(len(net.capacity)), "BDF", times, jac=slope, rtol=1e-6, atol=1e-4
    )
    found = plate_warming(net, drive, 100.0)
    turns = net.turns
    for winding in (0, 1):
        expected = other.y[turns[winding]].max(axis=0)
        near = np.interp(times[2:], found.time, found.hottest[:, winding]) - AIR
        assert near == pytest.approx(expected[2:], rel=5e-3)
    assert found.rise == pytest.approx(other.y[:, -1], abs=5e-3 * other.y[:, -1].max())


def test_ends_in_the_steady_state():
    drive = (*amperes(0.4), Circuit(supply=Supply(voltage=1.5), windings=(1,)))
    found, settled = plate_warming(PAIR, drive, 3000.0), plate_steady_state(PAIR, drive)
    assert isinstance(settled, PlateSteady)
    assert found.hottest[-1] == pytest.approx(settled.hottest, abs=0.02)
    assert found.mean[-1] == pytest.approx(settled.mean, abs=0.02)
    assert found.resistance[-1] == pytest.approx(settled.resistance, rel=1e-4)
    assert found.current[-1] == pytest.approx(settled.current, rel=1e-4)


def test_first_moment_keeps_all_heat():
    found = plate_warming(PAIR, amperes(5.0, 2.0), 1e-3)
    cold = 5.0 * (1 + 0.00393 * 5)
    assert PAIR.capacity @ found.rise == pytest.approx((25.0 + 4.0) * cold * 1e-3, rel=1e-3)


def test_a_pulse_ends_where_it_reaches_a_limit():
    found = plate_warming(PAIR, amperes(5.0, 1.0), 100.0, stop_at=105.0)
    assert found.melted
    reached = found.time_to_reach(105.0)
    assert reached[1] == np.inf
    assert plate_warming(PAIR, amperes(5.0, 1.0), reached[0]).hottest[-1, 0] == pytest.approx(105.0, abs=0.3)
    assert found.time_to_reach(AIR)[0] == 0.0


def test_cools_to_the_air_from_where_it_was():
    hot = plate_warming(PAIR, amperes(0.5, 0.5), 200.0)
    found = plate_warming(PAIR, (), 100.0, hot.rise)
    assert found.hottest[0] == pytest.approx(hot.hottest[-1], abs=0.01)
    assert np.all(np.diff(found.hottest, axis=0) < 0.02)
    assert np.all(found.current == 0.0)
    assert plate_warming(PAIR, (), 3000.0, hot.rise).hottest[-1] == pytest.approx([AIR, AIR], abs=0.5)


@pytest.mark.parametrize(("frequency", "duty"), [(0.1, 0.2), (0.01, 0.15)])
def test_round_board_swings_as_by_rings(frequency, duty):
    other = ring_pulse.periodic_state(BY_RINGS, Supply(current=1.0), frequency, duty)
    assert isinstance(other, ring_pulse.Periodic)
    found = plate_periodic_state(ROUND, [Switched(circuit=amperes(1.0)[0], duty=duty)], frequency)
    for name in ("peak", "lowest", "mean"):
        assert getattr(found, name)[0] - AIR == pytest.approx(getattr(other, name) - AIR, rel=0.02), name


def test_who_begins_does_not_count():
    """Two windings by turns are as warm as one another, and as with both begun later."""
    first, second = amperes(1.0, 1.0)
    drives = [Switched(circuit=first, duty=0.2), Switched(circuit=second, duty=0.2, begin=0.5)]
    found = plate_periodic_state(PAIR, drives, 0.01)
    later = plate_periodic_state(PAIR, [replace(each, begin=(each.begin + 0.3) % 1) for each in drives], 0.01)
    assert found.peak[0] == pytest.approx(found.peak[1], abs=0.05)
    assert found.peak == pytest.approx(later.peak, abs=0.05)
    assert len(found.histories) == 4
    assert sum(each.time[-1] for each in found.histories) == pytest.approx(100.0)
    assert np.all(found.lowest < found.mean)
    assert np.all(found.mean < found.peak)


def test_fast_switching_is_its_mean_power():
    drive = Switched(circuit=amperes(1.0)[0], duty=0.2)
    found = plate_periodic_state(PAIR, [drive], 100.0)
    assert found.peak[0] - found.lowest[0] < 0.1
    assert found.peak == pytest.approx(found.steady.hottest, abs=0.05)


def test_what_is_always_on_does_not_swing():
    found = plate_periodic_state(PAIR, [Switched(circuit=amperes(0.4)[0], duty=1.0)], 1.0)
    assert found.histories == ()
    assert found.peak is found.lowest


def test_a_linear_plate_swings_about_the_sum_of_its_drives():
    net = plate_network(linear(LONG, coil((-12e-3, 0.0)), coil((12e-3, 0.0))), 2e-3)
    drives = [Switched(circuit=each, duty=0.3) for each in amperes(1.0, 0.5)]
    both, *each = (
        plate_periodic_state(net, some, 0.02).histories[-1].rise for some in (drives, drives[:1], drives[1:])
    )
    assert both == pytest.approx(sum(each), abs=2e-3 * both.max())


def test_mean_power_that_melts_is_told():
    assert isinstance(
        plate_periodic_state(PAIR, [Switched(circuit=volts(60.0)[0], duty=0.9)], 1.0), PlateRunaway
    )


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: plate_warming(PAIR, (), 0.0), "until must be positive"),
        (lambda: plate_periodic_state(PAIR, [Switched(circuit=amperes(1.0)[0], duty=0.5)], 0.0), "frequency"),
        (lambda: Switched(circuit=amperes(1.0)[0], duty=0.0), "0 < duty <= 1"),
        (lambda: Switched(circuit=amperes(1.0, on=0.5)[0], duty=0.5), "on all the time"),
    ],
)
def test_what_cannot_be_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        wrong()
