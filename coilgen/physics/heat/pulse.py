"""Pulses: the periodic state of a drive that switches on and off, and what keeps its peak under a limit."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.heat.balance import Film, heat, tabulated_film
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.network import Network, together
from coilgen.physics.heat.steady import (
    COPPER_MELTS,
    NoSteadyState,
    Steady,
    snapshot,
    state_at_peak,
    steady_state,
)
from coilgen.physics.heat.transient import TOLERANCE, History, hottest_in, time_to_reach, warming, warmings

Floats = NDArray[np.float64]

_ROUNDS = 30
_CLOSE = 5e-4
"""K; a period that ends so near to where it began repeats."""
_PULSE_TOLERANCE, _BESIDE_TOLERANCE = 3e-4, 3e-3
"""Of a pulse's rise, for one step, in the search for its drive; beside a known pulse with the same steps."""
_EXACT, _SAME = 5e-5, 1e-5
"""Of a pulse's drive: how far it may be off; and of the rise that it makes, what is none."""
_BEYOND = 0.5
"""Of the rise: a pulse that passes the limit by more is not followed to its end."""
_SLOPE, _OFF, _BENT = 2.0, 0.5, 0.1
"""Slope of `_over` by the logarithm of the drive, as heat goes with its square; of a value: how far a step by
that may be off, over what it bends; share of two values' product that a secant through them may be off."""
_LEAST_GROWTH = 1e-9
"""1/K, of the resistance of a metal that has none."""
_SEARCHES, _SECANTS = 80, 8
_SINE_STEPS = 12
"""Of half a sine's period: the peak is caught to a hundredth of the swing."""


@dataclass(frozen=True, kw_only=True)
class Span:
    """A stretch of a period: its supply, None while off, and how long it lasts, s."""

    supply: Supply | None
    time: float


@dataclass(frozen=True, kw_only=True)
class Periodic:
    """The state that repeats each period; of the hottest turn: peak, lowest and mean over the period, degC.

    hottest: as things stand at the peak; steady: the state under the mean power, about which it swings;
    spans and histories: those of one period, none where the supply is on all the time.
    """

    peak: float
    lowest: float
    mean: float
    hottest: Steady
    steady: Steady
    spans: tuple[Span, ...]
    histories: tuple[History, ...]


@dataclass(frozen=True, kw_only=True)
class Pulse:
    """A pulse of constant current, A, at whose end the hottest turn is at a limit, degC.

    slope: of `_over` by the logarithm of the current.
    """

    current: float
    limit: float
    slope: float


def periodic_state(
    net: Network, supply: Supply, frequency: float, duty: float, ceiling: float = COPPER_MELTS
) -> Periodic | NoSteadyState:
    """The periodic state under a supply that is on for a share of each period; frequency Hz, 0 < duty <= 1.

    NoSteadyState when the mean power alone passes the ceiling, degC, or the copper melts while on.
    """
    if not 0 < duty <= 1 or not frequency > 0 or supply.on_share != 1:
        raise ValueError("0 < duty <= 1, frequency > 0, and a supply that is on all the time by itself")
    return _repeating(net, square_spans(supply, frequency, duty), replace(supply, on_share=duty), ceiling)


def periodic_sine_state(
    net: Network, supply: Supply, frequency: float, ceiling: float = COPPER_MELTS
) -> Periodic | NoSteadyState:
    """The same under a sine told by its root mean square; the heat repeats with each half of its period."""
    if not frequency > 0 or supply.on_share != 1:
        raise ValueError("frequency > 0, and a supply that is on all the time by itself")
    return _repeating(net, sine_spans(supply, frequency), supply, ceiling)


def square_spans(supply: Supply, frequency: float, duty: float) -> tuple[Span, ...]:
    """One period of a square drive; frequency Hz."""
    on = Span(supply=supply, time=duty / frequency)
    return (on,) if duty == 1 else (on, Span(supply=None, time=(1 - duty) / frequency))


def sine_spans(supply: Supply, frequency: float) -> tuple[Span, ...]:
    """Half a period of a sine from its zero on, in steps with the mean square that the sine has in each."""
    edges = np.linspace(0, np.pi, _SINE_STEPS + 1)
    squares = 1 - np.diff(np.sin(2 * edges)) / (2 * np.diff(edges))
    step = 0.5 / frequency / _SINE_STEPS
    return tuple(Span(supply=supply.scaled(math.sqrt(square)), time=step) for square in squares)


def _repeating(
    net: Network, spans: tuple[Span, ...], mean: Supply, ceiling: float
) -> Periodic | NoSteadyState:
    """The period's end is brought to its beginning by Newton's method.

    mean: the supply of the mean power; the map of small changes over a period is that about its steady state.
    """
    steady = steady_state(net, mean, ceiling)
    if isinstance(steady, NoSteadyState):
        return steady
    if len(spans) == 1:
        peak = steady.coil_peak
        return Periodic(
            peak=peak, lowest=peak, mean=peak, hottest=steady, steady=steady, spans=(), histories=()
        )
    film = tabulated_film(net)
    change, begin = _change_left(net, steady.rise, spans, film), steady.rise
    for _ in range(_ROUNDS):
        histories = one_period(net, spans, begin, film)
        if histories[-1].melted:
            return _melts(net, mean)
        step = np.linalg.solve(np.eye(len(begin)) - change, histories[-1].rise[-1] - begin)
        begin = begin + step
        if float(np.abs(step).max()) < _CLOSE:
            return _periodic(net, spans, histories, steady)
    raise ArithmeticError("no periodic state found")


def _periodic(
    net: Network, spans: tuple[Span, ...], histories: tuple[History, ...], steady: Steady
) -> Periodic:
    peaks = np.concatenate([history.coil_peak for history in histories])
    span, history = max(zip(spans, histories, strict=True), key=lambda each: each[1].coil_peak.max())
    rise = history.rise[int(np.argmax(history.coil_peak))]
    area = sum(np.trapezoid(each.coil_peak, each.time) for each in histories)
    return Periodic(
        peak=float(peaks.max()),
        lowest=float(peaks.min()),
        mean=float(area / sum(each.time[-1] for each in histories)),
        hottest=snapshot(net, rise, span.supply),
        steady=steady,
        spans=spans,
        histories=histories,
    )


def one_period(net: Network, spans: tuple[Span, ...], begin: Floats, film: Film) -> tuple[History, ...]:
    """Histories of a period's spans from rises (n,) K at its beginning; they end where the copper melts."""
    histories: list[History] = []
    for span in spans:
        histories.append(warming(net, span.supply, span.time, begin, film, TOLERANCE / 10))
        begin = histories[-1].rise[-1]
        if histories[-1].melted:
            break
    return tuple(histories)


def longest_pulse(net: Network, supply: Supply, limit: float, until: float = 3600.0) -> float:
    """Time from a cold start to a limit of the hottest turn, degC, in s; infinite when over `until`, s."""
    history = warming(net, supply, until, stop_at=limit)
    return time_to_reach(net, history, limit)


def longest_pulses(
    nets: Sequence[Network], supplies: Sequence[Supply], limit: float, until: float
) -> list[float]:
    """The same of networks that stack, warmed all at once, where each passes the limit at some time."""
    found = []
    for net, supply, history in zip(nets, supplies, warmings(nets, supplies, until, limit), strict=True):
        time = time_to_reach(net, history, limit)
        found.append(time if math.isfinite(time) else longest_pulse(net, supply, limit, until))
    return found


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
    return min(1.0, (state.current / supply.through(state.resistance)) ** 2)


def largest_pulse(
    net: Network, limit: float, duration: float, *, lasting: float | None = None, near: Pulse | None = None
) -> Pulse:
    """The pulse of constant current that heats a cold coil's hottest turn to a limit, degC, just at its end.

    lasting: A that holds the limit, if known. near: a pulse as long to another limit, sought from there on.
    Root by the current's logarithm, from the lasting current upward: no pulse allows less.
    """
    film, least = tabulated_film(net), lasting or state_at_peak(net, limit).current
    rise = limit + ZERO_CELSIUS - net.ambient
    beyond = limit + _BEYOND * rise

    def excess(logarithm: float) -> float:
        supply = Supply(current=math.exp(logarithm))
        history = warming(net, supply, duration, film=film, tolerance=_PULSE_TOLERANCE * rise, stop_at=beyond)
        if history.coil_peak[-1] >= beyond:
            return _over(net, beyond, limit) + math.log(duration / time_to_reach(net, history, beyond))
        return _over(net, float(history.coil_peak[-1]), limit)

    if near is None:
        guess, slope = math.hypot(least, _adiabatic_current(net, rise, duration)), _SLOPE
    else:
        guess, slope = near.current * math.exp(_over(net, limit, near.limit) / near.slope), near.slope
    logarithm, slope = _root(excess, math.log(least), math.log(max(guess, least)), slope)
    return Pulse(current=math.exp(logarithm), limit=limit, slope=slope)


def pulses_beside(usual: Network, pulse: Pulse, nets: Sequence[Network], duration: float) -> list[float]:
    """Currents of pulses to the same limit of networks that stack with one, whose pulse is known, A.

    Sought all at once by secants. All take the same steps, whose errors cancel in what differs from the
    known pulse. What is not found so, as where one passes the limit by far, is sought by itself.
    """
    found, which = np.full(len(nets), math.nan), np.arange(len(nets))
    at, step, before = (np.full(len(nets), each) for each in (math.log(pulse.current), 0.0, _OFF))
    for _ in range(_SECANTS):
        currents = np.append(pulse.current, np.exp(at))
        value = _excesses([usual, *(nets[each] for each in which.tolist())], currents, pulse.limit, duration)
        if value is None:
            break
        value = value[1:] - value[0]
        slope = np.divide(value - before, step, out=np.full(len(step), pulse.slope), where=step != 0)
        step = -value / np.maximum(slope, _SLOPE / 10)
        done = (np.abs(value) < _SAME) | (_BENT * np.abs(before * value) < _EXACT)
        found[which[done]] = np.exp(at + step)[done]
        if done.all():
            break
        which, at, step, before = which[~done], (at + step)[~done], step[~done], value[~done]
    return [
        largest_pulse(net, pulse.limit, duration).current if math.isnan(current) else float(current)
        for net, current in zip(nets, found, strict=True)
    ]


def _excesses(nets: Sequence[Network], currents: Floats, limit: float, duration: float) -> Floats | None:
    """How far pulses lead over the limit, as `_over`; None if one is far over."""
    rise = min(float(limit + ZERO_CELSIUS - net.ambient) for net in nets)
    hottest = hottest_in(
        together(nets),
        (currents**2).tolist(),
        duration,
        limit + _BEYOND * rise,
        tolerance=_BESIDE_TOLERANCE * rise,
    )
    if hottest is None:
        return None
    return np.array([_over(net, each, limit) for net, each in zip(nets, hottest.tolist(), strict=True)])


def _over(net: Network, reached: float, limit: float) -> float:
    """Logarithm of what a pulse's heat leads to, degC, over the limit, by what grows with its square.

    That is the logarithm of the copper's resistance over the cold one's, where all heat stays in it, and
    nearly so where it does not.
    """
    cold = 1 + net.temperature_coefficient * (net.ambient - ZERO_CELSIUS - 20)
    growth = max(net.temperature_coefficient / cold, _LEAST_GROWTH)
    grown = [math.log1p(growth * (each + ZERO_CELSIUS - net.ambient)) for each in (reached, limit)]
    return math.log(grown[0] / grown[1])


def _adiabatic_current(net: Network, rise: float, duration: float) -> float:
    """Current that would warm the nodes of the turns by a rise, K, did they keep all heat, A."""
    speed = float((net.resistance_20c / net.capacity).max())
    return math.sqrt(rise / (speed * duration))


def _root(excess: Callable[[float], float], low: float, guess: float, slope: float) -> tuple[float, float]:
    """Root over `low` of a growing function, from a guess of it and of its slope, and the slope there.

    Secants, held between the nearest values on both sides; what is amiss after one is a share of the product
    of the two values that it goes through, and after the first step a share of the value.
    """
    high, at, last = math.inf, guess, _OFF
    before: tuple[float, float] | None = None
    for _ in range(_SEARCHES):
        value = excess(at)
        low, high = (at, high) if value < 0 else (low, at)
        if before is not None and at != before[0]:
            slope = max((value - before[1]) / (at - before[0]), _SLOPE / 10)
        if abs(value) < _SAME or high - low < _SAME:
            return at, slope
        before, next_at = (at, value), at - value / slope
        if not low < next_at < high:
            next_at = (low + high) / 2 if math.isfinite(high) else low + 1.0
        elif _BENT * abs(last * value) < _EXACT:
            return next_at, slope
        at, last = next_at, value
    raise ArithmeticError("no pulse found that just reaches the limit")


def _change_left(net: Network, rise: Floats, spans: tuple[Span, ...], film: Film) -> Floats:
    """What a period leaves of a small change of the rises, (n, n)."""
    from scipy.linalg import expm

    left = np.eye(len(rise))
    for span in spans:
        slope = heat(net, rise, 0.0 if span.supply is None else span.supply, film).slope
        left = expm(slope / net.capacity[:, None] * span.time) @ left
    return left


def _melts(net: Network, mean: Supply) -> NoSteadyState:
    begins = state_at_peak(net, COPPER_MELTS, mean.on_share)
    return NoSteadyState(ceiling=COPPER_MELTS, current=begins.current, voltage=begins.voltage)
