"""Switching the coil off: the energy in its field, the voltage of the path that takes it, the time."""

from coilgen.figures.drive._drive_circuit import (
    cold_crest,
    hot_resistance,
    hot_spread,
    in_series,
    inductance,
    inductance_spread,
    repeating,
)
from coilgen.figures.in_place._metal import coil_in_metal
from coilgen.physics.circuit.drive import freewheel_time, spike_voltage, stored_energy
from coilgen.result.figure import Answer, Case, Figure, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import readable

LEFT = 0.1
"""Of the current, when it counts as switched off."""
SWITCH_RATING = 30.0
"""V, that small switching transistors bear at least (common practice, no source)."""


def _energy(case: Case) -> Answer:
    coil, current = inductance(case), case.figure("current")
    inductances = _inductances(case)
    assert current is not None
    crest = cold_crest(case)
    band = None
    if inductances is not None:
        ends = zip(inductances, current.band or (current.value, current.value), strict=True)
        low, high = (float(stored_energy(each, i * crest)) for each, i in ends)
        band = (low, high)
    return Answer(
        value=float(stored_energy(coil.value, current.value * crest)),
        model=f"half {coil.says} times the square of the largest current of the cold coil{_secant(case)}",
        band=band,
    )


def _inductances(case: Case) -> tuple[float, float] | None:
    """Least and most, H: for small changes, with cores also the mean up to the current; None if exact."""
    names = ("inductance_in_place", "core_inductance") if case.design.core else ("inductance_in_place",)
    found = [case.figure(name) for name in names]
    bands = [one.band for one in found or [] if one is not None and one.band is not None]
    if not bands:
        bare = case.figure("inductance")
        return None if bare is None else bare.band
    return min(low for low, _ in bands), max(high for _, high in bands)


def _secant(case: Case) -> str:
    return "; a core near saturation stores more, within the band" if case.design.core else ""


def _switched(case: Case) -> bool:
    """Whether the drive ever cuts the current: a sine's amplifier does not."""
    return case.design.drive.waveform != "sine"


def _voltage(case: Case) -> Answer | None:
    if not _switched(case):
        return None
    drive = case.design.drive
    supply = case.value("voltage")
    return Answer(
        value=drive.clamp,
        model="of the path that takes the current over, drive.clamp; the open switch bears it on top of the "
        f"supply, {readable(supply + drive.clamp, 'V')}",
        cautions=_spike(case, supply),
    )


def _spike(case: Case, supply: float) -> tuple[str, ...]:
    """What happens without the path."""
    capacitance: Figure | None = case.figure("winding_capacitance")
    if capacitance is None or capacitance.value == 0.0:
        return ()
    current = case.value("current") * cold_crest(case)
    spike = spike_voltage(current, inductance(case).value, capacitance.value)
    if spike + supply <= SWITCH_RATING:
        return ()
    return (
        "Give the current a path when the drive switches off, such as a diode across the coil or those of a "
        f"bridge: without one {readable(current, 'A')} would drive the winding up to about "
        f"{readable(spike, 'V', 2)}, or to where the switch breaks down; small transistors bear about "
        f"{SWITCH_RATING:g} V.",
    )


def _time(case: Case) -> Answer | None:
    if not _switched(case):
        return None
    hot, current = hot_resistance(case), _hot_crest(case)
    return spread_answer(
        _time_spread(case, _run_out(case, hot.value, current), current),
        f"until a tenth of {readable(current, 'A')} is left, with {hot.says} and {in_series(case)}, "
        f"against the clamp of {case.design.drive.clamp:g} V; the band is that of current, resistance and "
        "inductance",
    )


def _time_spread(case: Case, value: float, crest: float) -> Spread:
    """In the ratio in which one inductance in series with one resistance would change, s."""
    current = case.spread("current" if case.figure("hot_resistance") is None else "hot_current")

    def time(amperes: float, ohm: float, henry: float) -> float:
        switched = crest * amperes / current.value
        return float(freewheel_time(switched, ohm, henry, case.design.drive.clamp, left=LEFT * switched))

    single = carried(
        time,
        current,
        hot_spread(case),
        inductance_spread(case),
    )
    return carried(lambda found: value * found / single.value, single)


def _run_out(case: Case, resistance: float, current: float) -> float:
    """Time, s, until little is left of a current, A."""
    from coilgen.physics.metal.switched import run_out_time

    clamp, coil = case.design.drive.clamp, coil_in_metal(case, resistance)
    if coil is None:
        return freewheel_time(current, resistance, inductance(case).value, clamp, left=LEFT * current)
    return run_out_time(coil, current, clamp, LEFT * current)


def _hot_crest(case: Case) -> float:
    """Current at which the hot coil is switched off, A."""
    resistance = hot_resistance(case).value
    ripple = repeating(case, resistance)
    if ripple is not None:
        return ripple.highest
    return case.design.drive.through(resistance) * cold_crest(case)


FIGURES = (
    Quantity(
        name="stored_energy",
        unit="J",
        says="energy in the coil's field at the drive's largest current",
        group="drive",
        compute=_energy,
        of="each",
        idle=False,
    ),
    Quantity(
        name="switch_off_voltage",
        unit="V",
        says="voltage over the coil while its current runs out through the clamp",
        group="drive",
        compute=_voltage,
        of="each",
        idle=False,
    ),
    Quantity(
        name="switch_off_time",
        unit="s",
        says="time until a tenth of the current is left after switching off",
        group="drive",
        compute=_time,
        of="each",
        idle=False,
    ),
)
