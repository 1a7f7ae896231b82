"""A coil with metal near it under a switched voltage: the current's rise, ripple, end, the metal's heat.

States are the current i and, for each decay, the part j of it that the metal has let in: t dj/dt = i - j. The
voltage is R i + L di/dt + sum of a (i - j) / t, with L what is left where no flux enters the metal. All of it
is linear: each stretch of constant voltage is a sum of exponentials, exact at any time.
"""

import math
from collections.abc import Callable

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.drive import Ripple
from coilgen.physics.metal.relaxation import Relaxation

_ROUNDS, _SETTLED = 100, 1e-9
"""How often the times at which a current is held are sought, and how near, of the on and the off time."""
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

    def current(self, start: Floats, voltage: float) -> Callable[[float], float]:
        """The current, A, by the time after a start, s, under a constant voltage."""
        end = voltage * self.steady
        each = self.mode[0] * (self.share @ (start - end))
        return lambda time: float(end[0] + each @ np.exp(self.rate * time))


def after_switching_on(coil: CoilInMetal, voltage: float, time: Floats, limit: float = math.inf) -> Stretch:
    """From no current, at times (n,) s from 0 on; limit: A, at which the supply gives in and holds it."""
    return _rising(coil, _course(coil), coil.still, voltage, limit, time)


def repeating(
    coil: CoilInMetal, voltage: float, frequency: float, duty: float, clamp: float, limit: float = math.inf
) -> tuple[Stretch, Stretch]:
    """A period of a square drive that has settled, on and off, at even steps; duty under 1.

    clamp: V of the path that takes the current over while off, until there is none; limit: A of the supply.
    """
    course = _course(coil)
    on_time, off_time = (np.linspace(0.0, share / frequency, STEPS + 1) for share in (duty, 1.0 - duty))
    start = _repeated_start(coil, course, voltage, clamp, limit, on_time[-1], off_time[-1])
    on = _rising(coil, course, start, voltage, limit, on_time)
    return on, _running_out(coil, course, on.state[-1], clamp, off_time)


def mean_heat(
    coil: CoilInMetal, voltage: float, frequency: float, duty: float, clamp: float, limit: float = math.inf
) -> Floats:
    """What eddy currents heat each body with under the same drive, (bodies,) W, a period's mean; exact."""
    course, on, off = _course(coil), duty / frequency, (1.0 - duty) / frequency
    start = _repeated_start(coil, course, voltage, clamp, limit, on, off)
    reached = _reaches(course, start, voltage, limit, on)
    top = _rising(coil, course, start, voltage, limit, np.array([on])).state[0]
    stopped = _stops(course, top, clamp, off)
    there, end = (
        course.at(state, volts, np.array([time]))[0]
        for state, volts, time in ((start, voltage, reached), (top, -clamp, stopped))
    )
    each = (
        _driven_heat(coil, course, start, voltage, reached),
        _held_heat(coil, there, limit, on - reached),
        _driven_heat(coil, course, top, -clamp, stopped),
        _held_heat(coil, end, 0.0, off - stopped),
    )
    return np.asarray(frequency * sum(each))


def _driven_heat(coil: CoilInMetal, course: _Course, start: Floats, voltage: float, time: float) -> Floats:
    """Of each body in a stretch of constant voltage, (bodies,) J.

    What the metal has not let in is a sum of exponentials, and so is its square, which is integrated.
    """
    share = course.share @ (start - voltage * course.steady)
    lag = (course.mode[0] - course.mode[1:]) * share
    return _integrated(coil, lag, course.rate, time)


def _held_heat(coil: CoilInMetal, start: Floats, current: float, time: float) -> Floats:
    """The same while the current is held, A, from a state on."""
    if time <= 0.0:
        return np.zeros(len(coil.metal.damping))
    return _integrated(coil, np.diag(current - start[1:]), -1.0 / coil.metal.time, time)


def _integrated(coil: CoilInMetal, lag: Floats, rate: Floats, time: float) -> Floats:
    """Of currents (k,) that lag by the sums of (k, m) A times exp of rates (m,) 1/s below 0."""
    held = (coil.metal.amplitude / coil.metal.time)[:, None] * lag
    both = rate[:, None] + rate
    weight = np.expm1(both * time) / both
    return np.asarray(np.einsum("km,bkl,ln,mn->b", held, coil.metal.damping, held, weight, optimize=True))


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
    falling = course.current(np.full(len(course.rate), current), -clamp)
    high = 1.0 / float(np.abs(course.rate).max())
    while falling(high) > left:
        high *= 2.0
    return _passes(falling, left, high)


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


Affine = tuple[Floats, Floats]
"""What a stretch makes of a state x: A x + b, with A (k, k) and b (k,) A."""


def _repeated_start(
    coil: CoilInMetal, course: _Course, voltage: float, clamp: float, limit: float, on: float, off: float
) -> Floats:
    """State at the begin of an on time once it repeats.

    With the times given at which the supply gives in and the current stops a period is affine in the state,
    and the state that repeats is a solution of linear equations; the times follow from it, and so on.
    """
    reached, stopped = on, off
    for _ in range(_ROUNDS):
        start = _fixed(
            _driven(course, voltage, reached),
            _held(coil, limit, on - reached),
            _driven(course, -clamp, stopped),
            _held(coil, 0.0, off - stopped),
        )
        before = reached, stopped
        reached = _reaches(course, start, voltage, limit, on)
        top = _rising(coil, course, start, voltage, limit, np.array([on])).state[0]
        stopped = _stops(course, top, clamp, off)
        if abs(reached - before[0]) <= _SETTLED * on and abs(stopped - before[1]) <= _SETTLED * off:
            return start
    raise ArithmeticError("the period of a switched coil in metal does not settle")


def _driven(course: _Course, voltage: float, time: float) -> Affine:
    """A stretch of constant voltage."""
    kept = (course.mode * np.exp(course.rate * time)) @ course.share
    return kept, course.at(np.zeros(len(course.rate)), voltage, np.array([time]))[0]


def _held(coil: CoilInMetal, current: float, time: float) -> Affine:
    """A stretch of constant current, that from which it begins where it takes no time."""
    size = 1 + len(coil.metal.time)
    if time <= 0.0:
        return np.eye(size), np.zeros(size)
    left = np.append(0.0, np.exp(-time / coil.metal.time))
    return np.diag(left), current * (1.0 - left)


def _fixed(*stretches: Affine) -> Floats:
    """The state that a sequence of stretches leads back to."""
    matrix, moved = stretches[0]
    for then, shift in stretches[1:]:
        matrix, moved = then @ matrix, then @ moved + shift
    return np.asarray(np.linalg.solve(np.eye(len(moved)) - matrix, moved), dtype=np.float64)


def _reaches(course: _Course, start: Floats, voltage: float, limit: float, on: float) -> float:
    """When a rising current reaches a limit, s; the end of the on time where it does not."""
    if start[0] >= limit:
        return 0.0

    current = course.current(start, voltage)
    return root_between(lambda time: current(time) - limit, 0.0, on) if current(on) > limit else on


def _stops(course: _Course, start: Floats, clamp: float, off: float) -> float:
    """When a current against a clamp, V, is none, s; the end of the off time where it runs on."""
    current = course.current(start, -clamp)
    return off if clamp <= 0.0 or current(off) >= 0.0 else _passes(current, 0.0, off)


def _passes(falling: Callable[[float], float], wanted: float, until: float) -> float:
    """When a current that is lower at some time, s, passes a wanted one, A."""
    return root_between(lambda time: falling(time) - wanted, 0.0, until) if falling(0.0) > wanted else 0.0


def _rising(
    coil: CoilInMetal, course: _Course, start: Floats, voltage: float, limit: float, time: Floats
) -> Stretch:
    """Under a voltage until the supply gives in at a limit, A, and holds the current there."""
    reached = _reaches(course, start, voltage, limit, float(time[-1]))
    states = course.at(start, voltage, time)
    states[time == 0.0] = start  # no current is none, not a rounding below
    _hold(coil, states, time, reached, course.at(start, voltage, np.array([reached]))[0], limit)
    return Stretch(time=time, state=states)


def _running_out(coil: CoilInMetal, course: _Course, start: Floats, clamp: float, time: Floats) -> Stretch:
    """Against a clamp until the current is none; from then on the metal's currents die by themselves."""
    stopped = _stops(course, start, clamp, float(time[-1]))
    states = course.at(start, -clamp, time)
    _hold(coil, states, time, stopped, course.at(start, -clamp, np.array([stopped]))[0], 0.0)
    return Stretch(time=time, state=states)


def _hold(
    coil: CoilInMetal, states: Floats, time: Floats, since: float, there: Floats, current: float
) -> None:
    """Sets the states (n, k) after a time, s, to those of a held current, A, from a state (k,) on."""
    later = time > since
    states[later, 0] = current
    fade = np.exp(-(time[later, None] - since) / coil.metal.time)
    states[later, 1:] = current + (there[1:] - current) * fade
