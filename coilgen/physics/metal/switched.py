"""A coil with metal near it under a switched voltage: the current's rise, ripple, end, the metal's heat.

States are the current i and, for each decay, the part j of it that the metal has let in: t dj/dt = i - j. The
voltage is R i + L di/dt + sum of a (i - j) / t, with L what is left where no flux enters the metal. All of it
is linear: each stretch of constant voltage is a sum of exponentials, exact at any time.
"""

from dataclasses import dataclass

import numpy as np

from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.drive import Ripple
from coilgen.physics.metal.relaxation import Relaxation

_HALVINGS = 60
_SETTLED = 1e-7
"""Of the off time: how near the end of a current is sought."""
STEPS = 160
"""Even steps of an on or off time."""


@dataclass(frozen=True, kw_only=True)
class CoilInMetal:
    """resistance ohm, inductance H of the bare coil, and what metal adds."""

    resistance: float
    inductance: float
    metal: Relaxation

    @property
    def still(self) -> Floats:
        """The state without current."""
        return np.zeros(1 + len(self.metal.time))

    @property
    def least(self) -> float:
        """Inductance left where no flux enters the metal, H."""
        return self.inductance + self.metal.perfect


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Times (n,) s and states (n, 1 + k) A on the way: the current, then what the metal has let in of it."""

    time: Floats
    state: Floats

    @property
    def current(self) -> Floats:
        """(n,) A."""
        return np.asarray(self.state[:, 0])

    def heat(self, metal: Relaxation) -> Floats:
        """What eddy currents heat each body with, (n, bodies) W."""
        held = metal.amplitude * (self.state[:, :1] - self.state[:, 1:]) / metal.time
        return np.asarray(np.einsum("nk,bkl,nl->nb", held, metal.damping, held))


@dataclass(frozen=True, kw_only=True)
class _Course:
    """What a coil does by itself: rates (k,) 1/s, below 0; the states' modes and back; response to a volt."""

    rate: Floats
    mode: Floats
    share: Floats
    steady: Floats

    def at(self, start: Floats, voltage: float, time: Floats) -> Floats:
        """States (n, k) at times (n,) s after a start, under a constant voltage."""
        end = voltage * self.steady
        fading = (self.share @ (start - end)) * np.exp(self.rate * time[:, None])
        return np.asarray(end + fading @ self.mode.T)


def after_switching_on(coil: CoilInMetal, voltage: float, time: Floats) -> Stretch:
    """From no current, at times (n,) s from 0 on."""
    return Stretch(time=time, state=_course(coil).at(coil.still, voltage, time))


def repeating(
    coil: CoilInMetal, voltage: float, frequency: float, duty: float, clamp: float
) -> tuple[Stretch, Stretch]:
    """A period of a square drive that has settled, on and off, at even steps; duty under 1.

    clamp: V of the path that takes the current over while off, until there is none.
    """
    course = _course(coil)
    on_time, off_time = (np.linspace(0.0, share / frequency, STEPS + 1) for share in (duty, 1.0 - duty))
    start = _steady_start(course, voltage, clamp, on_time[-1], off_time[-1])
    if start[0] < 0.0:
        start = _repeated_start(coil, course, voltage, clamp, on_time[-1], off_time[-1])
    on = Stretch(time=on_time, state=course.at(start, voltage, on_time))
    return on, _running_out(coil, course, on.state[-1], clamp, off_time)


def ripple(on: Stretch, off: Stretch) -> Ripple:
    """Of a period: lowest and highest current, mean, root mean square, A."""
    period = on.time[-1] + off.time[-1]
    mean, square = (
        sum(float(np.trapezoid(part.current**power, part.time)) for part in (on, off)) / period
        for power in (1, 2)
    )
    both = np.concatenate([on.current, off.current])
    return Ripple(lowest=float(both.min()), highest=float(both.max()), mean=mean, rms=float(np.sqrt(square)))


def run_out_time(coil: CoilInMetal, current: float, clamp: float, left: float) -> float:
    """Time, s, in which a steady current, A, falls to what is left of it against a clamp, V."""
    course = _course(coil)
    return _time_at(course, np.full(len(course.rate), current), -clamp, left)


def _course(coil: CoilInMetal) -> _Course:
    """By the symmetric form of the equations: energies L i^2 and a j^2 weigh the states."""
    strength, time = coil.metal.strength, coil.metal.time
    lossy = strength / time
    matrix = -np.diag(np.append(coil.resistance + lossy.sum(), lossy))
    matrix[0, 1:] = matrix[1:, 0] = lossy
    scale = 1.0 / np.sqrt(np.append(coil.least, strength))
    rate, axes = np.linalg.eigh(matrix * scale[:, None] * scale)
    return _Course(
        rate=rate,
        mode=scale[:, None] * axes,
        share=axes.T / scale,
        steady=np.full(len(rate), 1.0 / coil.resistance),
    )


def _steady_start(course: _Course, voltage: float, clamp: float, on: float, off: float) -> Floats:
    """State at the begin of an on time once it repeats, while the current never stops."""
    rising, risen = _stretch(course, voltage, on)
    falling, fallen = _stretch(course, -clamp, off)
    start = np.linalg.solve(np.eye(len(risen)) - falling @ rising, falling @ risen + fallen)
    return np.asarray(start, dtype=np.float64)


def _repeated_start(
    coil: CoilInMetal, course: _Course, voltage: float, clamp: float, on: float, off: float
) -> Floats:
    """The same where the current stops within the off time: when it does is sought.

    For a time given the period is linear: on, running out, and the metal's currents alone for the rest.
    """
    rising, risen = _stretch(course, voltage, on)

    def repeated(stop: float) -> tuple[Floats, float]:
        """State that repeats if the current were set to none at a time, s, and the current then, A."""
        falling, fallen = _stretch(course, -clamp, stop)
        rest = np.append(0.0, np.exp(-(off - stop) / coil.metal.time))[:, None]
        period, moved = falling @ rising, falling @ risen + fallen
        start = np.linalg.solve(np.eye(len(moved)) - rest * period, rest[:, 0] * moved)
        return np.asarray(start), float((period @ start + moved)[0])

    stop = root_between(lambda time: -repeated(time)[1], 0.0, off, within=_SETTLED * off)
    return repeated(stop)[0]


def _stretch(course: _Course, voltage: float, time: float) -> tuple[Floats, Floats]:
    """What a stretch of constant voltage makes of a state x: A x + b; A (k, k) and b (k,) A."""
    kept = (course.mode * np.exp(course.rate * time)) @ course.share
    return kept, course.at(np.zeros(len(course.rate)), voltage, np.array([time]))[0]


def _running_out(coil: CoilInMetal, course: _Course, start: Floats, clamp: float, time: Floats) -> Stretch:
    """Against a clamp until the current is none; from then on the metal's currents die by themselves."""
    states = course.at(start, -clamp, time)
    if clamp <= 0.0 or states[-1, 0] >= 0.0:
        return Stretch(time=time, state=states)
    stop = _time_at(course, start, -clamp, 0.0)
    there = course.at(start, -clamp, np.array([stop]))[0]
    later = time > stop
    states[later, 0] = 0.0
    states[later, 1:] = there[1:] * np.exp(-(time[later, None] - stop) / coil.metal.time)
    return Stretch(time=time, state=states)


def _time_at(course: _Course, start: Floats, voltage: float, wanted: float) -> float:
    """When a falling current passes a wanted one, s, by halving."""
    low, high = 0.0, 1.0 / float(np.abs(course.rate).max())
    while course.at(start, voltage, np.array([high]))[0, 0] > wanted:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = course.at(start, voltage, np.array([middle]))[0, 0] > wanted
        low, high = (middle, high) if above else (low, middle)
    return high
