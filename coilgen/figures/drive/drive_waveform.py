"""Current against time under a voltage, and a square drive's ripple."""

import math
from itertools import pairwise

import numpy as np

from coilgen.design.drive import Drive
from coilgen.figures.drive._drive_circuit import (
    eddy_resistance,
    hot_resistance,
    hot_spread,
    in_series,
    inductance,
    inductance_spread,
    reactance,
    repeating,
    warmth,
)
from coilgen.figures.in_place._metal import coil_in_metal
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.drive import (
    Ripple,
    dc_current,
    repeating_sine_current,
    repeating_square_current,
    square_ripple,
)
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried, within
from coilgen.units import readable

_RIPPLE = "peak-to-peak ripple of the current under the square drive, {} coil"
CONSTANTS = 5.0
"""Time constants shown: the current has come within 1 % of its end."""
PERIODS = {"square": 3, "sine": 2}
UNSETTLED = 0.05
"""Of the settled current; a square drive that misses by more is told not to settle."""
_STEPS = 40
_SHOWN_STEPS = 8
"""Of the fine steps of a period with metal about the coil, each of which is told."""


def _against_time(case: Case) -> Answer | None:
    drive = case.design.drive
    if drive.voltage is None:
        return None
    hot, coil = hot_resistance(case), inductance(case)
    if drive.waveform == "sine" and drive.frequency is not None:
        eddies, henry = eddy_resistance(case), reactance(case) / (2 * math.pi * drive.frequency)
        time, current = _curve(drive, hot.value + eddies, henry)
    else:
        time, current = _in_metal(case, hot.value, coil.value) or _curve(drive, hot.value, coil.value)
    return Answer(
        value=[{"time": float(t), "current": float(i)} for t, i in zip(time, current, strict=True)],
        says=f"current of the {warmth(case)} coil against time",
        model=f"{hot.says} and {in_series(case)} in series; {_shown(drive)}",
    )


def _curve(drive: Drive, resistance: float, coil: float) -> tuple[Floats, Floats]:
    """Times, s, and currents, A."""
    assert drive.voltage is not None
    constant, limit = coil / resistance, drive.current_limit or math.inf
    if drive.frequency is None:
        time = np.linspace(0.0, CONSTANTS * constant, _STEPS + 1)
        return time, dc_current(time, drive.voltage, resistance, coil, limit)
    circuit = (drive.voltage, resistance, coil, drive.frequency)
    if drive.duty is None:
        time = np.linspace(0.0, PERIODS["sine"] / drive.frequency, PERIODS["sine"] * _STEPS + 1)
        return time, repeating_sine_current(time, *circuit)
    time = _square_times(drive.frequency, drive.duty, constant)
    return time, repeating_square_current(time, *circuit, drive.duty, drive.clamp, limit)


def _in_metal(case: Case, resistance: float, slow: float) -> tuple[Floats, Floats] | None:
    """The same with the currents in the metal about the coil; None without them, and for a sine."""
    from coilgen.physics.metal.switched import after_switching_on
    from coilgen.physics.metal.switched import repeating as in_metal

    drive, coil = case.design.drive, coil_in_metal(case, resistance)
    if coil is None or drive.voltage is None or drive.waveform == "sine":
        return None
    limit = drive.current_limit or math.inf
    if drive.frequency is None or drive.duty is None:
        time = np.linspace(0.0, CONSTANTS * slow / resistance, _STEPS + 1)
        return time, after_switching_on(coil, drive.voltage, time, limit).current
    if drive.duty >= 1.0:
        return None
    on, off = in_metal(coil, drive.voltage, drive.frequency, drive.duty, drive.clamp, limit)
    time = np.concatenate([on.time, on.time[-1] + off.time[1:]])[::_SHOWN_STEPS]
    current = np.concatenate([on.current, off.current[1:]])[::_SHOWN_STEPS]
    starts = np.arange(PERIODS["square"]) / drive.frequency
    whole = np.concatenate([start + time[:-1] for start in starts])
    return np.append(whole, starts[-1] + time[-1]), np.append(np.tile(current[:-1], len(starts)), current[-1])


def _square_times(frequency: float, duty: float, constant: float) -> Floats:
    """Each on and off time evenly, and more densely where the current has just been switched."""
    switched = [period + edge for period in range(PERIODS["square"]) for edge in (0.0, duty)]
    edges = np.unique([*switched, PERIODS["square"]]) / frequency
    after = np.linspace(0.0, CONSTANTS * constant, 11)
    parts = [
        np.concatenate([np.linspace(begin, end, 6), begin + after[after < end - begin]])
        for begin, end in pairwise(edges)
    ]
    return np.unique(np.concatenate(parts))


def _shown(drive: Drive) -> str:
    if drive.waveform == "sine":
        return (
            "two periods long after switching on, from the voltage's upward zero; eddy currents in the "
            "copper raise the resistance"
        )
    if drive.waveform == "square":
        return (
            "three periods long after switching on; while off the current runs on against the clamp of "
            f"{drive.clamp:g} V"
        )
    held = "" if drive.current_limit is None else ", held at the supply's limit"
    return f"from switching on, over {CONSTANTS:g} time constants{held}"


def _ripple(case: Case) -> Answer | None:
    hot = hot_resistance(case)
    found = repeating(case, hot.value)
    if found is None:
        return None
    told = ", ".join(
        f"{says} {readable(value, 'A')}"
        for says, value in (
            ("lowest", found.lowest),
            ("highest", found.highest),
            ("mean", found.mean),
            ("root mean square", found.rms),
        )
    )
    return spread_answer(
        _ripple_spread(case, found.swing),
        f"highest less lowest current once it repeats, with {hot.says}, {in_series(case)} and "
        f"the clamp of {case.design.drive.clamp:g} V; {told}",
        cautions=_unsteady(case, found, hot.value),
        says=_RIPPLE.format(warmth(case)),
    )


def _ripple_spread(case: Case, value: float) -> Spread:
    """In the ratio in which one inductance in series with one resistance would change, A."""
    drive = case.design.drive
    assert drive.voltage is not None and drive.frequency is not None and drive.duty is not None
    frequency, duty, limit = drive.frequency, drive.duty, drive.current_limit or math.inf

    def swing(volts: float, ohm: float, henry: float) -> float:
        return square_ripple(volts, ohm, henry, frequency, duty, drive.clamp, limit=limit).swing

    voltage = within(drive.voltage, "voltage", case.design.tolerance.voltage)
    single = carried(swing, voltage, hot_spread(case), inductance_spread(case))
    return carried(lambda found: value * found / single.value, single) if single.value else Spread(value)


def _unsteady(case: Case, found: Ripple, resistance: float) -> tuple[str, ...]:
    """What to know of a drive that switches again before the current has settled or died out.

    A current that does not come up is a warning: the coil does less than `current` and what follows tell.
    """
    drive = case.design.drive
    assert drive.voltage is not None
    settled = drive.through(resistance)
    constant = readable(inductance(case).value / resistance, "s")
    swing = f"it swings between {readable(found.lowest, 'A')} and {readable(found.highest, 'A')}"
    if found.highest < (1 - UNSETTLED) * settled:
        return (
            f"{WARNING}The square drive switches off before the current has settled (time constant "
            f"{constant}): {swing}, mean {readable(found.mean, 'A')}, where current, field, force, "
            "hot_current and hot_power are told for the settled current while on, temperatures for what "
            "flows; lower the frequency, or expect less.",
        )
    if found.lowest > UNSETTLED * settled:
        return (
            f"The square drive switches on again before the current has died out (time constant {constant}): "
            f"{swing}; lower the frequency, or use a clamp of higher voltage.",
        )
    return ()


FIGURES = (
    Quantity(
        name="current_against_time",
        unit="table(time s, current A)",
        says="current of the hot coil against time",
        group="drive",
        compute=_against_time,
        of="each",
        idle=False,
    ),
    Quantity(
        name="current_ripple",
        unit="A",
        says=_RIPPLE.format("hot"),
        group="drive",
        compute=_ripple,
        of="each",
        idle=False,
    ),
)
