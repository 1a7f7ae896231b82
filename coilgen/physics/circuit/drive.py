"""Current of a coil against time for direct, square and sine drive; ripple, stored energy, switching off."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]

_SHORT = 0.5  # time constants
RESONANCE_SHARE = 0.1
"""Of the self-resonance; above it the coil is no plain inductance (common practice, no source)."""
EXTRA_LOW_VOLTAGE = 60.0
"""V, direct, that may be touched in dry places (IEC 61140; value from memory)."""
EXTRA_LOW_ALTERNATING_VOLTAGE = 25.0
"""V, root mean square, likewise (IEC 60364-4-41; value from memory)."""


@dataclass(frozen=True, kw_only=True)
class Ripple:
    """A square drive's current once it repeats, A: lowest and highest, mean, root mean square."""

    lowest: float
    highest: float
    mean: float
    rms: float

    @property
    def swing(self) -> float:
        """Highest less lowest, A."""
        return self.highest - self.lowest


def dc_current(
    time: ArrayLike, voltage: float, resistance: float, inductance: float, limit: float = math.inf
) -> Floats:
    """Current after a voltage is switched on, A: V/R (1 - exp(-t R/L)); time s, not before 0.

    limit: current at which the supply gives in and holds it, A. After one time constant L/R it has 63 %:

    >>> float(np.round(dc_current(1e-3, 1.0, 1.0, 1e-3), 3))
    0.632
    """
    fade = np.asarray(time, dtype=np.float64) * resistance / inductance
    current: Floats = np.minimum(-voltage / resistance * np.expm1(-fade), limit)
    return current


def square_ripple(
    voltage: float,
    resistance: float,
    inductance: float,
    frequency: float,
    duty: float,
    drop: float = 0.0,
    limit: float = math.inf,
) -> Ripple:
    """The repeating current of a coil switched on for a share of each period.

    voltage while on V, resistance ohm, inductance H, frequency Hz, duty over 0 to 1. drop: voltage of the
    path that takes the current over while off, V, as of a diode; it brings the current to zero and holds it
    there; infinite: it stops at once. limit: current at which the supply gives in and holds it, A.
    Exponentials of the single time constant, matched at both ends of the period.
    """
    _switched(frequency, duty)
    full, below, constant = voltage / resistance, drop / resistance, inductance / resistance
    if duty == 1:
        held = min(full, limit)
        return Ripple(lowest=held, highest=held, mean=held, rms=held)
    on, off = duty / frequency / constant, (1 - duty) / frequency / constant
    rise = full * -math.expm1(-on)
    lowest = max(0.0, (rise * math.exp(-off) + below * math.expm1(-off)) / -math.expm1(-(on + off)))
    highest = rise + lowest * math.exp(-on)
    if highest > limit:
        highest, lowest = limit, max(0.0, (limit + below) * math.exp(-off) - below)
    flowing = min(off, math.log1p(highest / below)) if below > 0 else off
    mean_on, square_on = _held_moments(lowest, full, on, limit)
    mean_off, square_off = _moments(highest, -below, flowing) if flowing > 0 else (0.0, 0.0)
    share_off = (1 - duty) * flowing / off
    mean = duty * mean_on + share_off * mean_off
    square = duty * square_on + share_off * square_off
    return Ripple(lowest=lowest, highest=highest, mean=mean, rms=math.sqrt(square))


def _held_moments(begin: float, level: float, span: float, limit: float) -> tuple[float, float]:
    """Means of a current and of its square on its way toward a level, held where it comes to a limit."""
    if level <= limit or begin - (level - begin) * math.expm1(-span) <= limit:
        return _moments(begin, level, span)
    until = math.log((level - begin) / (level - limit))
    mean, square = _moments(begin, level, until) if until > 0 else (0.0, 0.0)
    share = until / span
    return share * mean + (1 - share) * limit, share * square + (1 - share) * limit**2


def _moments(begin: float, level: float, span: float) -> tuple[float, float]:
    """Means of a current and of its square on its way from begin toward a level, over x from 0 to span.

    begin exp(-x) + level (1 - exp(-x)); a short span by quadrature, as the closed form's terms cancel there.
    """
    if span < _SHORT:
        nodes, weights = np.polynomial.legendre.leggauss(8)
        x = span * (nodes + 1) / 2
        current = begin * np.exp(-x) - level * np.expm1(-x)
        return float(weights @ current / 2), float(weights @ current**2 / 2)
    swing = begin - level
    one, two = -math.expm1(-span) / span, -math.expm1(-2 * span) / (2 * span)
    return level + swing * one, level**2 + 2 * level * swing * one + swing**2 * two


def repeating_square_current(
    time: ArrayLike,
    voltage: float,
    resistance: float,
    inductance: float,
    frequency: float,
    duty: float,
    drop: float = 0.0,
    limit: float = math.inf,
) -> Floats:
    """Current of a square drive long after its start, A; time s from the beginning of an on time, from 0.

    drop: voltage of the path that takes the current over while off, V, finite; else as `square_ripple`.
    """
    ripple = square_ripple(voltage, resistance, inductance, frequency, duty, drop, limit)
    full, below, constant = voltage / resistance, drop / resistance, inductance / resistance
    within = np.mod(np.asarray(time, dtype=np.float64) * frequency, 1.0) / frequency
    on = duty / frequency
    rising = full + (ripple.lowest - full) * np.exp(-within / constant)
    falling = (ripple.highest + below) * np.exp(-np.maximum(within - on, 0.0) / constant) - below
    current: Floats = np.where(within < on, np.minimum(rising, limit), np.maximum(falling, 0.0))
    return current


def sine_amplitude(
    voltage: float, resistance: float, inductance: float, frequency: float
) -> tuple[float, float]:
    """Root mean square current A and its lag rad under a sine of a root mean square voltage.

    >>> [round(x, 6) for x in sine_amplitude(10.0, 3.0, 4 / (2 * math.pi * 50), 50)]
    [2.0, 0.927295]
    """
    reactance = 2 * math.pi * frequency * inductance
    return voltage / math.hypot(resistance, reactance), math.atan2(reactance, resistance)


def repeating_sine_current(
    time: ArrayLike, voltage: float, resistance: float, inductance: float, frequency: float
) -> Floats:
    """Current under a sine long after its start, A; voltage rms V; time s from its upward zero."""
    t = np.asarray(time, dtype=np.float64)
    rms, lag = sine_amplitude(voltage, resistance, inductance, frequency)
    current: Floats = math.sqrt(2) * rms * np.sin(2 * np.pi * frequency * t - lag)
    return current


def stored_energy(inductance: float, current: ArrayLike) -> Floats:
    """Energy of the coil's field, J: L I²/2.

    >>> float(stored_energy(2e-3, 3.0).round(6))
    0.009
    """
    energy: Floats = inductance * np.asarray(current, dtype=np.float64) ** 2 / 2
    return energy


def spike_voltage(current: float, inductance: float, capacitance: float) -> float:
    """Voltage a coil rings up to when its current is cut with no other path, V: I sqrt(L/C).

    capacitance F: of the winding and the open switch. All the energy goes into it; nothing breaks down.

    >>> round(spike_voltage(1.0, 100e-6, 100e-12))
    1000
    """
    return abs(current) * math.sqrt(inductance / capacitance)


def freewheel_time(
    current: float, resistance: float, inductance: float, drop: float, left: float = 0.0
) -> float:
    """Time in which a freewheeling current falls to what is left of it, s.

    current, left A; drop V of the path, as of a diode (0 with left > 0 only); resistance ohm of coil and
    path. L/R ln((I R + V)/(I_left R + V)).

    >>> round(freewheel_time(1.0, 1.0, 1e-3, 0.0, left=math.exp(-1)) * 1e3, 6)
    1.0
    """
    if not 0 <= left <= current or not drop + left * resistance > 0:
        raise ValueError("0 <= left <= current, and a drop over 0 when nothing is to be left")
    ends = (current * resistance + drop) / (left * resistance + drop)
    return inductance / resistance * math.log(ends)


def near_resonance(frequency: float, self_resonance: float) -> bool:
    """Whether a drive is so fast that capacitance counts: over a tenth of the self-resonance; both Hz.

    >>> near_resonance(50e3, 1e6), near_resonance(150e3, 1e6)
    (False, True)
    """
    return frequency > RESONANCE_SHARE * self_resonance


def above_extra_low_voltage(voltage: float, *, alternating: bool = False) -> bool:
    """Whether a supply, V, is over the limit of extra-low voltage; root mean square if alternating.

    >>> above_extra_low_voltage(60.0), above_extra_low_voltage(-61.0)
    (False, True)
    >>> above_extra_low_voltage(25.0, alternating=True), above_extra_low_voltage(26.0, alternating=True)
    (False, True)
    """
    return abs(voltage) > (EXTRA_LOW_ALTERNATING_VOLTAGE if alternating else EXTRA_LOW_VOLTAGE)


def _switched(frequency: float, duty: float) -> None:
    if not (frequency > 0 and 0 < duty <= 1):
        raise ValueError("frequency must be positive, duty over 0 and up to 1")
