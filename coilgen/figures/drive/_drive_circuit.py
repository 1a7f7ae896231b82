"""Coil and drive as the circuit that figures of the drive share: inductance in place, hot resistance."""

import math

from coilgen.design.phase_drive import crest
from coilgen.figures.electrical._copper_eddies import copper_eddies
from coilgen.figures.in_place._metal import added_at, coil_in_metal
from coilgen.frozen import dataclass
from coilgen.physics.circuit.drive import Ripple, square_ripple
from coilgen.result.figure import Case
from coilgen.result.spread import Spread


@dataclass(frozen=True, kw_only=True)
class Element:
    """A resistance, ohm, or an inductance, H, with its name for the models."""

    value: float
    says: str


def inductance(case: Case) -> Element:
    """With cores, target and magnet where they stand, for small changes about the drive's current."""
    in_place = case.figure("inductance_in_place")
    if in_place is not None:
        return Element(value=float(in_place.value), says="the inductance in place")
    return Element(value=float(case.value("inductance")), says="the inductance")


def inductance_spread(case: Case) -> Spread:
    """Of `inductance`, H."""
    return case.spread("inductance" if case.figure("inductance_in_place") is None else "inductance_in_place")


def hot_spread(case: Case) -> Spread:
    """Of `hot_resistance`, ohm."""
    return case.spread("resistance_20c" if case.figure("hot_resistance") is None else "hot_resistance")


def reactance(case: Case) -> float:
    """At the frequency of a sine with what stands at the coil, at the drive's level, ohm; 0 for others."""
    frequency = _sine(case)
    if frequency == 0.0:
        return 0.0
    return 2 * math.pi * frequency * float(case.value("inductance")) + added_at(case, frequency).imag


def eddy_resistance(case: Case) -> float:
    """What eddy currents in the copper and in the metal about the coil add to a sine's way, ohm."""
    frequency = _sine(case)
    return 0.0 if frequency == 0.0 else added_at(case, frequency).real + copper_eddies(case)


def _sine(case: Case) -> float:
    """Frequency, Hz; 0 for other drives."""
    drive = case.design.drive
    return drive.frequency if drive.waveform == "sine" and drive.frequency is not None else 0.0


def hot_resistance(case: Case) -> Element:
    """Of the settled coil; of the cold one where the coil has no steady state, or others warm it too."""
    hot = case.figure("hot_resistance")
    if hot is None:
        cold = (
            "the coil finds no steady state" if not case.copper_layers else "the board tells how warm it gets"
        )
        says = f"the resistance at 20 degC, as {cold}"
        return Element(value=float(case.value("resistance_20c")), says=says)
    return Element(value=float(hot.value), says="the hot resistance")


def warmth(case: Case) -> str:
    """Of the coil with `hot_resistance`, in a word."""
    return "cold" if case.figure("hot_resistance") is None else "hot"


def repeating(case: Case, resistance: float, duty: float | None = None) -> Ripple | None:
    """A square drive's current once it repeats; None for other drives and those that force a current.

    duty: another one than the drive's.
    """
    drive = case.design.drive
    if drive.waveform != "square" or drive.voltage is None:
        return None
    share = drive.duty if duty is None else duty
    assert drive.frequency is not None and share is not None
    coil = coil_in_metal(case, resistance)
    if coil is not None and share < 1.0:
        from coilgen.physics.metal.switched import repeating as in_metal
        from coilgen.physics.metal.switched import ripple

        limit = drive.current_limit or math.inf
        return ripple(*in_metal(coil, drive.voltage, drive.frequency, share, drive.clamp, limit))
    return square_ripple(
        drive.voltage,
        resistance,
        inductance(case).value,
        drive.frequency,
        share,
        drive.clamp,
        limit=drive.current_limit or math.inf,
    )


def heating_share(case: Case, resistance: float, duty: float | None = None) -> float:
    """Mean square of the drive's current over the square of that in which it settles while on.

    The duty where the current follows at once; less where a square drive switches before it has risen.
    """
    if duty is None:
        return case.once(f"heating share at {resistance}", lambda: _heating_share(case, resistance, None))
    return _heating_share(case, resistance, duty)


def _heating_share(case: Case, resistance: float, duty: float | None) -> float:
    drive = case.design.drive
    found = repeating(case, resistance, duty)
    if found is None:
        return (drive.duty or 1.0) if duty is None else duty
    return min(1.0, (found.rms / drive.through(resistance)) ** 2)  # but for rounding it is no more


def in_series(case: Case) -> str:
    """What carries the drive's current besides the resistance, for the models."""
    if coil_in_metal(case, 1.0) is None:
        return inductance(case).says
    return "the inductance with the metal's eddy currents (impedance_at_drive)"


def cold_crest(case: Case) -> float:
    """Largest current of the cold coil over time, as a share of the current while the drive is on."""
    if case.in_phase is not None:
        return crest(case.in_phase)
    if case.design.drive.waveform == "sine":
        return math.sqrt(2)
    ripple = repeating(case, case.value("resistance_20c"))
    return 1.0 if ripple is None else ripple.highest / float(case.value("current"))
