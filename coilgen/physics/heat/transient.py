"""Temperatures against time from switch-on: a stiff integrator with its own step, and the time constants."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.heat.balance import Film, heat, node_resistance, residual, tabulated_film
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.network import Network
from coilgen.physics.heat.steady import COPPER_MELTS

Floats = NDArray[np.float64]

TOLERANCE = 0.01
"""K, of one step."""


@dataclass(frozen=True, kw_only=True)
class History:
    """time (m,) s; rise (m, n) K over the air and rate (m, n) K/s of each node.

    coil_mean and coil_peak (m,) degC; resistance (m,) ohm; current (m,) A while on. melted: whether it ends
    early, where the hottest turn passes copper's melting point.
    """

    time: Floats
    rise: Floats
    rate: Floats
    coil_mean: Floats
    coil_peak: Floats
    resistance: Floats
    current: Floats
    melted: bool


def warming(
    net: Network,
    supply: Supply | None,
    until: float,
    start: Floats | None = None,
    film: Film | None = None,
    tolerance: float = TOLERANCE,
    stop_at: float = COPPER_MELTS,
) -> History:
    """Temperatures to a time in s after switch-on; supply None lets the coil cool.

    start (n,) K: rises over the air at the beginning, none by default; film: coefficients of convection, a
    table of the network's by default; tolerance K of a step; stop_at degC: the hottest turn ends it there.
    Rosenbrock's method RODAS3 of third order (Sandu and others, Atmospheric Environment 31, 1997;
    coefficients from memory).
    """
    if not until > 0:
        raise ValueError("until must be positive")
    film, drive = film or tabulated_film(net), 0.0 if supply is None else supply
    rise = np.zeros(len(net.capacity)) if start is None else np.array(start, dtype=np.float64)
    ceiling = stop_at + ZERO_CELSIUS - net.ambient
    times, rises, rates = [0.0], [rise], []
    flow, slope = _flow(net, rise, drive, film)
    rates.append(flow / net.capacity)
    step = min(until, _first_step(rates[0], until))
    while times[-1] < until and not _passed(net, rises[-1], ceiling):
        step = min(step, until - times[-1])
        new, error = _step(net, rises[-1], drive, film, step, flow, slope)
        if error <= tolerance:
            times.append(until if until - times[-1] <= step else times[-1] + step)
            rises.append(new)
            flow, slope = _flow(net, new, drive, film)
            rates.append(flow / net.capacity)
        step *= float(np.clip(0.9 * (tolerance / max(error, 1e-300)) ** (1 / 3), 0.2, 6.0))
        if not times[-1] + step > times[-1]:
            raise ArithmeticError("the step of the transient vanishes")
    return _history(net, drive, np.array(times), np.array(rises), np.array(rates), stop_at)


def time_to_reach(net: Network, history: History, limit: float) -> float:
    """First time the hottest turn reaches a limit, degC, in s; infinite when not within the history."""
    over = np.flatnonzero(history.coil_peak >= limit)
    if len(over) == 0:
        return float("inf")
    after = int(over[0])
    if after == 0:
        return 0.0
    return _crossing(net, history, after, limit)


def rises_at(history: History, time: Floats) -> Floats:
    """Rises over the air at times (k,) s within a history, (k, n) K: cubics through its values and rates."""
    after = np.clip(np.searchsorted(history.time, time), 1, len(history.time) - 1)
    begin, step = history.time[after - 1], np.diff(history.time)[after - 1][:, None]
    at = (time - begin)[:, None] / step
    low, high = history.rise[after - 1], history.rise[after]
    leave, arrive = step * history.rate[after - 1], step * history.rate[after]
    bend = (low - high + leave) * (1 - at) + (high - low - arrive) * at
    rises: Floats = low + (high - low) * at + at * (1 - at) * bend
    return rises


def time_to_share(net: Network, history: History, share: float) -> float:
    """First time the winding's mean temperature has made a share of its last rise over the air, s."""
    air = net.ambient - ZERO_CELSIUS
    target = share * float(history.coil_mean[-1] - air)
    after = int(np.flatnonzero(history.coil_mean - air >= target)[0])

    def short(time: float) -> float:
        rise = rises_at(history, np.array([time]))[0]
        return float(np.average(rise, weights=net.resistance_20c) - target)

    begin, end = float(history.time[max(after - 1, 0)]), float(history.time[after])
    return root_between(short, begin, end) if begin < end else end


def time_constants(net: Network, rise: Floats, supply: Supply | None) -> Floats:
    """Thermal time constants about a state, (n,) s, the longest first; they fade small changes of it.

    rise (n,) K; infinite for a mode that does not fade, as beyond thermal runaway.
    """
    slope = heat(net, rise, 0.0 if supply is None else supply, tabulated_film(net)).slope
    fading = np.sort(-np.linalg.eigvals(slope / net.capacity[:, None]).real)
    constants: Floats = np.where(fading > 0, 1 / np.where(fading > 0, fading, 1.0), np.inf)
    return constants


def _flow(net: Network, rise: Floats, drive: Supply | float, film: Film) -> tuple[Floats, Floats]:
    """Heat that stays in each node (n,) W, and its slope (n, n) W/K."""
    balance = heat(net, rise, drive, film)
    return residual(net, rise, balance), balance.slope


def _first_step(rate: Floats, until: float) -> float:
    """As long as the fastest node takes for a tenth of a kelvin, s."""
    fastest = float(np.abs(rate).max())
    return 0.1 / fastest if fastest > 0 else until


def _step(
    net: Network, rise: Floats, drive: Supply | float, film: Film, step: float, flow: Floats, slope: Floats
) -> tuple[Floats, float]:
    """Rises after one step, and its error, K."""
    inertia = net.capacity / step
    inverse = np.linalg.inv(np.diag(2 * inertia) - slope)
    one = inverse @ flow
    two = inverse @ (flow + inertia * 4 * one)
    ahead = residual(net, rise + 2 * one, heat(net, rise + 2 * one, drive, film))
    three = inverse @ (ahead + inertia * (one - two))
    low = rise + 2 * one + three
    ahead = residual(net, low, heat(net, low, drive, film))
    four = inverse @ (ahead + inertia * (one - two - 8 / 3 * three))
    return low + four, float(np.abs(four).max())


def _passed(net: Network, rise: Floats, ceiling: float) -> bool:
    return float(rise[net.coil].max()) >= ceiling


def _history(
    net: Network, drive: Supply | float, time: Floats, rise: Floats, rate: Floats, stop_at: float
) -> History:
    celsius = net.ambient - ZERO_CELSIUS + rise
    resistance = np.array([node_resistance(net, each).sum() for each in rise])
    on = [drive.through(float(each)) if isinstance(drive, Supply) else 0.0 for each in resistance]
    peak = celsius[:, net.coil].max(axis=1)
    return History(
        time=time,
        rise=rise,
        rate=rate,
        coil_mean=np.average(celsius, axis=1, weights=net.resistance_20c),
        coil_peak=peak,
        resistance=resistance,
        current=np.array(on),
        melted=bool(peak[-1] >= COPPER_MELTS),
    )


def _crossing(net: Network, history: History, after: int, limit: float) -> float:
    """Time within the step that ends at an index, s: the hottest node's cubic through values and rates."""
    node = int(np.argmax(np.where(net.coil, history.rise[after], -np.inf)))
    air = net.ambient - ZERO_CELSIUS
    low, high = (float(time) for time in history.time[after - 1 : after + 1])

    def over(time: float) -> float:
        return float(rises_at(history, np.array([time]))[0, node]) + air - limit

    return low if over(low) >= 0 else root_between(over, low, high)
