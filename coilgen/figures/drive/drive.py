"""What the drive does to the cold coil: current, power, ampere-turns, current density, time constant."""

import math

from coilgen.figures.drive._drive_circuit import reactance
from coilgen.result.figure import Answer, Case, Quantity

_COLD = "with the resistance at 20 degC: a cold coil, before it warms up"


def _current(case: Case) -> Answer:
    drive = case.design.drive
    if drive.current is not None:
        return Answer(value=drive.current, model="as the design file gives it")
    least, usual, most = (_through(case, each) for each in reversed(_resistances(case)))
    return Answer(value=usual, model=_over(case), band=(least, most))


def _resistances(case: Case) -> tuple[float, float, float]:
    """The cold coil's as the fab may make it, ohm: least, expected, most."""
    resistance = case.figure("resistance_20c")
    assert resistance is not None
    low, high = resistance.band or (resistance.value, resistance.value)
    return low, resistance.value, high


def _through(case: Case, resistance: float) -> float:
    """Current that the drive sends through a coil of this resistance, A."""
    drive = case.design.drive
    if drive.voltage is not None:
        return drive.voltage / math.hypot(resistance, reactance(case))
    assert drive.current is not None
    return drive.current


def _over(case: Case) -> str:
    drive = case.design.drive
    if drive.waveform == "sine":
        return (
            f"root mean square: {drive.voltage:g} V over the impedance of resistance and inductance in "
            f"series, no core, {_COLD}"
        )
    settled = ", once the current has risen" if drive.waveform == "square" else ""
    return f"{drive.voltage:g} V over the resistance{settled}, {_COLD}"


def _scaled(case: Case, factor: float, model: str) -> Answer:
    """A figure in proportion to the current, with the current's band."""
    current = case.figure("current")
    assert current is not None
    low, high = current.band or (current.value, current.value)
    band = None if current.band is None else (low * factor, high * factor)
    return Answer(value=current.value * factor, model=model, band=band)


def _power(case: Case) -> Answer:
    drive = case.design.drive
    if drive.voltage is not None and drive.waveform != "sine":
        return _scaled(case, drive.voltage, f"voltage times current while on, {_COLD}")
    low, usual, high = (_through(case, each) ** 2 * each for each in _resistances(case))
    return Answer(
        value=usual,
        model=f"current squared times resistance, {_COLD}",
        band=(min(low, usual, high), max(low, usual, high)),
    )


def _ampere_turns(case: Case) -> Answer:
    return _scaled(case, case.value("turns_total"), "current times turns")


def _current_density(case: Case) -> Answer:
    copper = case.design.board.stackup.copper
    traces = zip(case.shares, case.coil.traces, strict=True)
    densest = max(share / (trace.width * copper[trace.layer - 1]) for share, trace in traces)
    return _scaled(
        case, densest, "current over the cross-section of the trace that carries most for its size"
    )


def _time_constant(case: Case) -> Answer:
    bare = "; cores not counted, current_against_time counts them" if case.design.core else ""
    return Answer(
        value=case.value("inductance") / case.value("resistance_20c"),
        model=f"inductance over resistance at 20 degC{bare}",
    )


FIGURES = (
    Quantity(name="current", unit="A", says="current while the drive is on", group="drive", compute=_current),
    Quantity(name="power", unit="W", says="power while the drive is on", group="drive", compute=_power),
    Quantity(
        name="ampere_turns",
        unit="A",
        says="ampere-turns of the winding",
        group="drive",
        compute=_ampere_turns,
    ),
    Quantity(
        name="current_density",
        unit="A/m2",
        says="largest current density in a trace",
        group="drive",
        compute=_current_density,
    ),
    Quantity(
        name="time_constant",
        unit="s",
        says="time constant of the current's rise",
        group="electrical",
        compute=_time_constant,
    ),
)
