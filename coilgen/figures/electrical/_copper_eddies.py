"""What eddy currents in the winding's own copper add at the frequency of the drive."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.electrical.impedance import ladder
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.metal.relaxation import Relaxation

RISE_ERROR = 0.12
"""Of what eddy currents in the copper add; README tells what was found."""


def copper_rise(case: Case, frequency: float) -> float:
    """Of the winding's resistance over that at direct current, relative, at a frequency, Hz."""
    return resistance_rise(case.value("impedance"), case.value("resistance_20c"), frequency)


def resistance_rise(rows: Sequence[Mapping[str, float]], direct: float, frequency: float) -> float:
    """Of a table of impedances, over the resistance at direct current, ohm, relative, at a frequency, Hz.

    Between the frequencies told it goes with powers of the frequency, below the lowest with its square;
    above the highest with its root, as skins do that no longer fill the strip.
    """
    known = np.array([row["frequency"] for row in rows])
    excess = np.maximum([row["resistance"] / direct - 1 for row in rows], 1e-12)
    inside = min(max(frequency, known[0]), known[-1])
    found = np.exp(np.interp(np.log(inside), np.log(known), np.log(excess)))
    return float(found * min(1.0, frequency / known[0]) ** 2 * max(1.0, frequency / known[-1]) ** 0.5)


def counts_copper_eddies(case: Case) -> bool:
    """Whether the drive changes, so that heat, and under a sine the current too, counts them."""
    drive = case.design.drive
    return drive.frequency is not None and drive.duty != 1 and not drive.idle


def copper_eddies(case: Case) -> float:
    """Resistance that they add in the way of a sine, and heat over the mean square of its current, ohm.

    0 for other drives. That of cold copper: warmer copper has a little less of it where its traces are thin
    against the skin depth, a little more where they are thick.
    """
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return 0.0
    return copper_rise(case, drive.frequency) * float(case.value("resistance_20c"))


def copper_decays(case: Case) -> "Relaxation":
    """The same at all frequencies, as decays that currents of any course meet: those of the ladder circuit
    fitted to the impedance."""
    from coilgen.physics.metal.relaxation import of_single_body

    found = ladder(case)
    return of_single_body(0.0, found.stage_inductance, found.stage_inductance / found.stage_resistance)
