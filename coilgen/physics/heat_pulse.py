"""Pulses: the periodic state of a drive that switches on and off, and what keeps its peak under a limit."""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.heat_balance import Film, heat, tabulated_film
from coilgen.physics.heat_body import ZERO_CELSIUS, Supply
from coilgen.physics.heat_network import Network
from coilgen.physics.heat_steady import COPPER_MELTS, NoSteadyState, Steady, state_at_peak, steady_state
from coilgen.physics.heat_transient import TOLERANCE, History, time_to_reach, warming

Floats = NDArray[np.float64]

_ROUNDS = 30
_CLOSE = 1e-4
"""K; a period that ends so near to where it began repeats."""
_SLACK = 0.02
"""Logarithm of the drive by which the search begins below the continuous limit."""


@dataclass(frozen=True, kw_only=True)
class Periodic:
    """The state that repeats each period; of the hottest turn: peak when switched off, lowest when on, degC.

    on, off: one period's histories, None for a duty of 1, which is steady; steady: the state under the mean
    power, about which it swings.
    """

    peak: float
    lowest: float
    steady: Steady
    on: History | None
    off: History | None


def periodic_state(
    net: Network, supply: Supply, frequency: float, duty: float, ceiling: float = COPPER_MELTS
) -> Periodic | NoSteadyState:
    """The periodic state under a supply that is on for a share of each period; frequency Hz, 0 < duty <= 1.

    NoSteadyState when the mean power alone passes the ceiling, degC. The period's end is brought to its
    beginning by Newton's method; the map of small changes over a period is that about the mean state.
    """
    if not 0 < duty <= 1 or not frequency > 0 or supply.on_share != 1:
        raise ValueError("0 < duty <= 1, frequency > 0, and a supply that is on all the time by itself")
    steady = steady_state(net, replace(supply, on_share=duty), ceiling)
    if isinstance(steady, NoSteadyState):
        return steady
    if duty == 1:
        return Periodic(peak=steady.coil_peak, lowest=steady.coil_peak, steady=steady, on=None, off=None)
    film = tabulated_film(net)
    change = _change_left(net, steady.rise, supply, film, (duty / frequency, (1 - duty) / frequency))
    begin = steady.rise
    for _ in range(_ROUNDS):
        on, off = _period(net, supply, (duty / frequency, (1 - duty) / frequency), begin, film)
        if on.melted or off is None:
            return _melts(net, duty)
        step = np.linalg.solve(np.eye(len(begin)) - change, off.rise[-1] - begin)
        begin = begin + step
        if float(np.abs(step).max()) < _CLOSE:
            return Periodic(
                peak=float(on.coil_peak.max()), lowest=float(off.coil_peak[-1]), steady=steady, on=on, off=off
            )
    raise ArithmeticError("no periodic state found")


def longest_pulse(net: Network, supply: Supply, limit: float, until: float = 3600.0) -> float:
    """Time from a cold start to a limit of the hottest turn, degC, in s; infinite when over `until`, s."""
    history = warming(net, supply, until, stop_at=limit)
    return time_to_reach(net, history, limit)


def largest_duty(net: Network, supply: Supply, frequency: float, limit: float) -> float:
    """Largest duty at a frequency, Hz, that keeps the hottest turn of the periodic state to a limit, degC.

    1 when the coil may stay on; within 1e-4.
    """
    from scipy.optimize import brentq

    def excess(duty: float) -> float:
        state = periodic_state(net, supply, frequency, duty)
        return COPPER_MELTS - limit if isinstance(state, NoSteadyState) else state.peak - limit

    least = 1e-6
    if excess(1.0) <= 0:
        return 1.0
    if excess(least) >= 0:
        return 0.0
    return float(brentq(excess, least, 1.0, xtol=1e-4))


def largest_pulse_current(net: Network, limit: float, duration: float) -> float:
    """Constant current that heats a cold coil's hottest turn to a limit, degC, just at a pulse's end, A."""
    return _largest(net, limit, duration, "current")


def largest_pulse_voltage(net: Network, limit: float, duration: float) -> float:
    """Constant voltage that heats a cold coil's hottest turn to a limit, degC, just at a pulse's end, V."""
    return _largest(net, limit, duration, "voltage")


def _largest(net: Network, limit: float, duration: float, kind: Literal["current", "voltage"]) -> float:
    """Root of the time to the limit, by the logarithm of the drive, from the continuous limit upward."""
    from scipy.optimize import brentq

    continuous = state_at_peak(net, limit)
    least = continuous.current if kind == "current" else continuous.voltage
    film = tabulated_film(net)

    def excess(log_drive: float) -> float:
        drive = math.exp(log_drive)
        supply = Supply(current=drive) if kind == "current" else Supply(voltage=drive)
        history = warming(net, supply, duration, film=film, stop_at=limit + 1)
        if history.time[-1] < duration or history.coil_peak[-1] >= limit:
            return math.log(duration / time_to_reach(net, history, limit))
        return float(history.coil_peak[-1] - limit) / (limit + ZERO_CELSIUS)

    low = math.log(least) - _SLACK
    high = low + 0.5
    while excess(high) < 0:
        low, high = high, high + 1.0
    # A long pulse ends so near to the steady state that the transient's error could undercut it.
    return max(least, math.exp(float(brentq(excess, low, high, xtol=1e-6))))


def _period(
    net: Network, supply: Supply, spans: tuple[float, float], begin: Floats, film: Film
) -> tuple[History, History | None]:
    """Histories while on and then off; no second one when the first ends early."""
    on = warming(net, supply, spans[0], begin, film, TOLERANCE / 10)
    if on.melted:
        return on, None
    return on, warming(net, None, spans[1], on.rise[-1], film, TOLERANCE / 10)


def _change_left(
    net: Network, rise: Floats, supply: Supply, film: Film, spans: tuple[float, float]
) -> Floats:
    """What a period leaves of a small change of the rises, (n, n)."""
    from scipy.linalg import expm

    on, off = (heat(net, rise, drive, film).slope / net.capacity[:, None] for drive in (supply, 0.0))
    left: Floats = expm(off * spans[1]) @ expm(on * spans[0])
    return left


def _melts(net: Network, duty: float) -> NoSteadyState:
    begins = state_at_peak(net, COPPER_MELTS, duty)
    return NoSteadyState(ceiling=COPPER_MELTS, current=begins.current, voltage=begins.voltage)
