"""Temperature from a cold start under a drive that is switched, tooth by tooth, or a tooth here and there."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.balance import heat, tabulated_film
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.network import Network
from coilgen.physics.heat.pulse import Periodic, Span, one_period
from coilgen.physics.heat.transient import History, rises_at

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Teeth:
    """time (m,) s from switching on, rising; peak (m,) degC of the hottest turn; one of `every` periods."""

    time: Floats
    peak: Floats
    every: int

    def time_to_reach(self, limit: float) -> float:
        """First time at a limit, degC, in s; infinite when not within."""
        over = np.flatnonzero(self.peak >= limit)
        if len(over) == 0:
            return float("inf")
        after = int(over[0])
        if after == 0:
            return 0.0
        ends = slice(after - 1, after + 1)
        return float(np.interp(limit, self.peak[ends], self.time[ends]))


def followed(net: Network, spans: tuple[Span, ...], until: float) -> Teeth:
    """Every period from a cold start to a time, s, or to where the copper melts; exact."""
    film, begin, passed = tabulated_film(net), np.zeros(len(net.capacity)), 0.0
    times, peaks = [], []
    while passed < until:
        for history in one_period(net, spans, begin, film):
            times.append(passed + history.time)
            peaks.append(history.coil_peak)
            passed += float(history.time[-1])
        if history.melted:
            break
        begin = history.rise[-1]
    return Teeth(time=np.concatenate(times), peak=np.concatenate(peaks), every=1)


def superposed(net: Network, periodic: Periodic, mean: History, until: float, most: int) -> Teeth:
    """At most so many of the periods to a time, s, each with its begin and its peak.

    mean: the warming under the mean power, on which the settled period's swing is laid; what the first period
    lacks of it fades as small changes about the mean state do. For periods short against the warming.
    """
    period = sum(span.time for span in periodic.spans)
    number = max(1, int(until / period))
    every = -(-number // most)
    begins: Floats = period * np.arange(0, number, every, dtype=np.float64)
    begin, high, when = _swing(periodic)
    tips: Floats = begins + when
    at_begin = _laid(net, periodic, mean, begins, begin)
    at_peak = _laid(net, periodic, mean, tips, high)
    time = np.column_stack([begins, tips]).ravel()
    peak = np.column_stack([at_begin, at_peak]).ravel()
    return Teeth(time=time, peak=peak, every=every)


def _swing(periodic: Periodic) -> tuple[Floats, Floats, float]:
    """Of the settled period: rises over the mean state at begin and peak (n,) K, and the time between, s."""
    mean, passed = periodic.steady.rise, 0.0
    best: tuple[float, Floats, float] | None = None
    for history in periodic.histories:
        at = int(np.argmax(history.coil_peak))
        if best is None or history.coil_peak[at] > best[0]:
            best = float(history.coil_peak[at]), history.rise[at] - mean, passed + float(history.time[at])
        passed += float(history.time[-1])
    assert best is not None
    return periodic.histories[0].rise[0] - mean, best[1], best[2]


def _laid(net: Network, periodic: Periodic, mean: History, time: Floats, swing: Floats) -> Floats:
    """Hottest turn at times (m,) s: the mean's warming, the swing (n,) K, and what has not faded, degC."""
    held = np.minimum(time, mean.time[-1])
    lacking = -(periodic.histories[0].rise[0] - periodic.steady.rise)
    rises = rises_at(mean, held) + swing + _faded(net, periodic, lacking, time)
    peak: Floats = rises[:, net.coil].max(axis=1) + net.ambient - ZERO_CELSIUS
    return peak


def _faded(net: Network, periodic: Periodic, change: Floats, time: Floats) -> Floats:
    """What is left at times (m,) s of a small change (n,) K about the mean state, (m, n) K."""
    film, share = tabulated_film(net), [span.time for span in periodic.spans]
    slopes = [
        heat(net, periodic.steady.rise, 0.0 if span.supply is None else span.supply, film).slope
        for span in periodic.spans
    ]
    slope = np.average(slopes, axis=0, weights=share) / net.capacity[:, None]
    rate, modes = np.linalg.eig(slope)
    parts = np.linalg.solve(modes, change.astype(complex))
    left: Floats = (np.exp(np.outer(time, rate)) * parts @ modes.T).real
    return left
