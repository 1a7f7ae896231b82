"""Pulses: the periodic state of a drive that switches on and off, and what keeps its peak under a limit."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.heat.balance import Film, heat, tabulated_film
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.network import Network
from coilgen.physics.heat.steady import COPPER_MELTS, NoSteadyState, Steady, state_at_peak, steady_state
from coilgen.physics.heat.transient import TOLERANCE, History, time_to_reach, warming

Floats = NDArray[np.float64]

_ROUNDS = 30
_CLOSE = 1e-4
"""K; a period that ends so near to where it began repeats."""
_PULSE_TOLERANCE = 3e-4
"""Of a pulse's rise, for one step, in the search for its drive."""
_EXACT = 1e-4
"""Of a pulse's drive, and of the rise that it makes."""
_SLOPE = 2.0
_SEARCHES = 80


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

    @cache
    def excess(duty: float) -> float:
        state = periodic_state(net, supply, frequency, duty)
        return COPPER_MELTS - limit if isinstance(state, NoSteadyState) else state.peak - limit

    least, most = 1e-6, _fast_duty(net, supply, limit)
    if most == 1 and excess(1.0) <= 0:
        return 1.0
    if excess(least) >= 0:
        return 0.0
    return most if excess(most) <= 0 else root_between(excess, least, most, within=1e-4)


def _fast_duty(net: Network, supply: Supply, limit: float) -> float:
    """Duty whose mean power alone leads to a limit, degC: slower switching allows less."""
    state = state_at_peak(net, limit)
    share = (
        state.current / supply.current
        if supply.current is not None
        else state.voltage / (supply.voltage or 1)
    )
    return min(1.0, share**2)


def largest_pulse_current(net: Network, limit: float, duration: float) -> float:
    """Constant current that heats a cold coil's hottest turn to a limit, degC, just at a pulse's end, A."""
    return _largest(net, limit, duration, "current")


def largest_pulse_voltage(net: Network, limit: float, duration: float) -> float:
    """Constant voltage that heats a cold coil's hottest turn to a limit, degC, just at a pulse's end, V."""
    return _largest(net, limit, duration, "voltage")


def _largest(net: Network, limit: float, duration: float, kind: Literal["current", "voltage"]) -> float:
    """Root by the logarithm of the drive, from the continuous limit upward: no pulse allows less."""
    continuous, film = state_at_peak(net, limit), tabulated_film(net)
    rise = limit + ZERO_CELSIUS - net.ambient

    def excess(log_drive: float) -> float:
        drive = math.exp(log_drive)
        supply = Supply(current=drive) if kind == "current" else Supply(voltage=drive)
        coarse = _PULSE_TOLERANCE * rise
        history = warming(net, supply, duration, film=film, tolerance=coarse, stop_at=limit + coarse)
        if history.time[-1] < duration or history.coil_peak[-1] >= limit:
            return math.log(duration / time_to_reach(net, history, limit))
        return math.log(float(history.coil_peak[-1] + ZERO_CELSIUS - net.ambient) / rise)

    current = math.hypot(continuous.current, _adiabatic_current(net, rise, duration))
    guess = current * (1.0 if kind == "current" else continuous.resistance)
    least = math.log(getattr(continuous, kind))
    return math.exp(_root(excess, least, max(math.log(guess), least)))


def _adiabatic_current(net: Network, rise: float, duration: float) -> float:
    """Current that would warm the nodes of the turns by a rise, K, did they keep all heat, A."""
    speed = float((net.resistance_20c / net.capacity).max())
    return math.sqrt(rise / (speed * duration))


def _root(excess: Callable[[float], float], low: float, guess: float) -> float:
    """Root over `low` of a growing function with a slope near 2, as a warming by the drive's square has.

    Secants, held between the nearest values on both sides.
    """
    high, at, slope = math.inf, guess, _SLOPE
    before: tuple[float, float] | None = None
    for _ in range(_SEARCHES):
        value = excess(at)
        low, high = (at, high) if value < 0 else (low, at)
        if abs(value) < _EXACT or high - low < _EXACT:
            return at
        if before is not None and at != before[0]:
            slope = max((value - before[1]) / (at - before[0]), _SLOPE / 10)
        before, next_at = (at, value), at - value / slope
        if not low < next_at < high:
            next_at = (low + high) / 2 if math.isfinite(high) else low + 1.0
        at = next_at
    raise ArithmeticError("no pulse found that just reaches the limit")


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
