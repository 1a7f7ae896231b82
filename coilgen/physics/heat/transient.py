"""Temperatures against time from switch-on: a stiff integrator with its own step, and the time constants."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.heat.balance import (
    Drive,
    Film,
    heat,
    heat_left,
    node_resistance,
    residual,
    tabulated_film,
)
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.network import Network, together
from coilgen.physics.heat.rosenbrock import Course, Flowing, integrated
from coilgen.physics.heat.steady import COPPER_MELTS

Floats = NDArray[np.float64]

TOLERANCE = 0.01
"""K, of one step."""
_MOST_MULTIPLIED, _SAME = 500, 1e-11
"""In the search for the slowest time constant: steps, and what changes it no more, of itself."""


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
    By the method of `integrated`.
    """
    if not until > 0:
        raise ValueError("until must be positive")
    film, drive = film or tabulated_film(net), 0.0 if supply is None else supply
    rise = np.zeros(len(net.capacity)) if start is None else np.array(start, dtype=np.float64)
    ceiling = stop_at + ZERO_CELSIUS - net.ambient
    return _history(net, drive, integrated(flowing(net, drive, film, ceiling), rise, until, tolerance))


def warmings(
    nets: Sequence[Network], supplies: Sequence[Supply], until: float, stop_at: float
) -> list[History]:
    """As `warming` from cold of networks that stack, with steps in common until the last is so warm.

    Where one melts first, all end there.
    """
    stack = together(nets)
    ceiling, melting = (each + ZERO_CELSIUS - stack.ambient for each in (stop_at, COPPER_MELTS))

    def passed(rise: Floats) -> bool:
        warmed = (stack.coil & (rise >= ceiling)).any(axis=1).all()
        return bool(warmed or np.any(stack.coil & (rise >= melting)))

    by_rise = replace(flowing(stack, supplies, tabulated_film(stack), ceiling), passed=passed)
    found = integrated(by_rise, np.zeros(stack.resistance_20c.shape), until, TOLERANCE)
    return [
        _history(net, supply, Course(time=found.time, state=found.state[:, at], rate=found.rate[:, at]))
        for at, (net, supply) in enumerate(zip(nets, supplies, strict=True))
    ]


def hottest_in(
    nets: Network,
    drives: Drive,
    until: float,
    stop_at: float,
    film: Film | None = None,
    tolerance: float = TOLERANCE,
) -> Floats | None:
    """Hottest turns of each of a stack from cold to a time, s, under its drive, (e,) degC.

    None where one of them passes a temperature, degC; film and tolerance as of `warming`.
    """
    celsius = nets.ambient - ZERO_CELSIUS
    by_rise = flowing(nets, drives, film or tabulated_film(nets), stop_at - celsius)
    rise = integrated(by_rise, np.zeros(nets.resistance_20c.shape), until, tolerance).state
    if by_rise.passed(rise[-1]):
        return None
    hottest: Floats = np.where(nets.coil, celsius + rise, -np.inf).max(axis=(0, 2))
    return hottest


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
    return Course(time=history.time, state=history.rise, rate=history.rate).at(time)


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
    return _constants(heat(net, rise, 0.0 if supply is None else supply, tabulated_film(net)).slope, net)


def _constants(slope: Floats, net: Network) -> Floats:
    """Of slopes (..., n, n) W/K, (..., n) s, the longest first."""
    fading = np.sort(-np.linalg.eigvals(slope / net.capacity[..., :, None]).real)
    constants: Floats = np.where(fading > 0, 1 / np.where(fading > 0, fading, 1.0), np.inf)
    return constants


def slowest_time_constants(nets: Network, rise: Floats, supplies: Sequence[Supply]) -> Floats:
    """The longest of each of a stack about a state (e, n) that it settles to, (e,) s.

    By repeated multiplication with what each node's heat capacity leaves of itself, slope to the power -1;
    all constants are sought where the two longest are too near to one another for that to settle.
    """
    slope = heat(nets, rise, supplies, tabulated_film(nets)).slope
    left = -np.linalg.inv(slope) * nets.capacity
    shape, last = np.ones((*rise.shape, 1)), np.zeros(len(rise))
    for _ in range(_MOST_MULTIPLIED):
        shape = left @ shape
        constants: Floats = np.abs(shape).max(axis=(1, 2))
        if np.all(np.abs(constants - last) <= _SAME * constants):
            return constants
        shape, last = shape / constants[:, None, None], constants
    return _constants(slope, nets)[:, 0]


def flowing(net: Network, drive: Drive, film: Film, ceiling: float | Floats) -> Flowing:
    """Heat that stays in each node by its rise, K, under a drive, until a turn passes a rise, K."""

    def flow(rise: Floats) -> tuple[Floats, Floats]:
        balance = heat(net, rise, drive, film)
        return residual(net, rise, balance), balance.slope

    return Flowing(
        capacity=net.capacity,
        flow=flow,
        ahead=lambda rise: heat_left(net, rise, drive, film),
        size=lambda change: float(np.abs(change).max()),
        passed=lambda rise: bool(np.any(net.coil & (rise >= ceiling))),
    )


def _history(net: Network, drive: Supply | float, course: Course) -> History:
    rise = course.state
    celsius = net.ambient - ZERO_CELSIUS + rise
    resistance = node_resistance(net, rise).sum(axis=1)
    on = [drive.through(float(each)) if isinstance(drive, Supply) else 0.0 for each in resistance]
    peak = celsius[:, net.coil].max(axis=1)
    return History(
        time=course.time,
        rise=rise,
        rate=course.rate,
        coil_mean=np.average(celsius, axis=1, weights=net.resistance_20c),
        coil_peak=peak,
        resistance=resistance,
        current=np.array(on),
        melted=bool(peak[-1] >= COPPER_MELTS),
    )


def _crossing(net: Network, history: History, after: int, limit: float) -> float:
    """Time within the step that ends at an index, s: the hottest node's cubic through values and rates."""
    node = int(np.argmax(np.where(net.coil, history.rise[after], -np.inf)))
    air = float(net.ambient - ZERO_CELSIUS)
    low, high = (float(time) for time in history.time[after - 1 : after + 1])

    def over(time: float) -> float:
        return float(rises_at(history, np.array([time]))[0, node]) + air - limit

    return low if over(low) >= 0 else root_between(over, low, high)
