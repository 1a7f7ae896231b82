"""What eddy currents in the winding's own copper add at the frequency of the drive."""

import numpy as np

from coilgen.result.figure import Case

RISE_ERROR = 0.12
"""Of what eddy currents in the copper add; README tells what was found."""


def copper_rise(case: Case, frequency: float) -> float:
    """Of the winding's resistance over that at direct current, relative; between the frequencies told.

    Below the lowest it grows with the square of the frequency; above the highest that of the highest holds.
    """
    rows, direct = case.value("impedance"), case.value("resistance_20c")
    known = np.array([row["frequency"] for row in rows])
    excess = np.maximum([row["resistance"] / direct - 1 for row in rows], 1e-12)
    inside = min(max(frequency, known[0]), known[-1])
    found = np.exp(np.interp(np.log(inside), np.log(known), np.log(excess)))
    return float(found * min(1.0, frequency / known[0]) ** 2)


def counts_copper_eddies(case: Case) -> bool:
    """Whether current, power and heat count them: under a sine, of a board with one winding."""
    drive = case.design.drive
    return drive.waveform == "sine" and drive.frequency is not None and not case.copper_layers


def copper_eddies(case: Case) -> float:
    """Resistance that they add for a sine, and heat over the mean square of its current, ohm; else 0.

    That of cold copper: warmer copper has a little less of it where its traces are thin against the skin
    depth, a little more where they are thick.
    """
    if not counts_copper_eddies(case):
        return 0.0
    frequency = case.design.drive.frequency
    assert frequency is not None
    return copper_rise(case, frequency) * float(case.value("resistance_20c"))
