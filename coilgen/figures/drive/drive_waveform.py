"""Current against time under a voltage, and a square drive's ripple."""

import math
from itertools import pairwise

import numpy as np

from coilgen.design.drive import Drive
from coilgen.figures.drive._drive_circuit import hot_resistance, inductance, repeating
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.drive import Ripple, dc_current, repeating_sine_current, repeating_square_current
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.units import readable

CONSTANTS = 5.0
"""Time constants shown: the current has come within 1 % of its end."""
PERIODS = {"square": 3, "sine": 2}
UNSETTLED = 0.05
"""Of the settled current; a square drive that misses by more is told not to settle."""
_STEPS = 40


def _against_time(case: Case) -> Answer | None:
    drive = case.design.drive
    if drive.voltage is None:
        return None
    hot, coil = hot_resistance(case), inductance(case)
    time, current = _curve(drive, hot.value, coil.value)
    return Answer(
        value=[{"time": float(t), "current": float(i)} for t, i in zip(time, current, strict=True)],
        model=f"{hot.says} and {coil.says} in series; {_shown(drive)}",
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
            "two periods long after switching on, from the voltage's upward zero; direct-current resistance"
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
    return Answer(
        value=found.swing,
        model=f"highest less lowest current once it repeats, with {hot.says}, {inductance(case).says} and "
        f"the clamp of {case.design.drive.clamp:g} V; {told}",
        cautions=_unsteady(case, found, hot.value),
    )


def _unsteady(case: Case, found: Ripple, resistance: float) -> tuple[str, ...]:
    """What to know of a drive that switches again before the current has settled or died out."""
    drive = case.design.drive
    assert drive.voltage is not None
    settled = drive.through(resistance)
    constant = readable(inductance(case).value / resistance, "s")
    swing = f"it swings between {readable(found.lowest, 'A')} and {readable(found.highest, 'A')}"
    if found.highest < (1 - UNSETTLED) * settled:
        return (
            f"The square drive switches off before the current has settled (time constant {constant}): "
            f"{swing}, mean {readable(found.mean, 'A')}, where field, force and heat are told for the "
            "settled current while on; lower the frequency, or expect less.",
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
    ),
    Quantity(
        name="current_ripple",
        unit="A",
        says="peak-to-peak ripple of the current under the square drive, hot coil",
        group="drive",
        compute=_ripple,
    ),
)
