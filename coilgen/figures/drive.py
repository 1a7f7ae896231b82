"""What the drive does to the cold coil: current, power, ampere-turns, current density, time constant."""

from coilgen.figure import Answer, Case, Quantity

_COLD = "with the resistance at 20 degC: a cold coil, before it warms up"


def _current(case: Case) -> Answer:
    drive = case.design.drive
    if drive.current is not None:
        return Answer(value=drive.current, model="as the design file gives it")
    resistance = case.figure("resistance_20c")
    assert resistance is not None and drive.voltage is not None
    low, high = resistance.band or (resistance.value, resistance.value)
    return Answer(
        value=drive.voltage / resistance.value,
        model=f"{drive.voltage:g} V over the resistance, {_COLD}",
        band=(drive.voltage / high, drive.voltage / low),
    )


def _scaled(case: Case, factor: float, model: str) -> Answer:
    """A figure in proportion to the current, with the current's band."""
    current = case.figure("current")
    assert current is not None
    low, high = current.band or (current.value, current.value)
    band = None if current.band is None else (low * factor, high * factor)
    return Answer(value=current.value * factor, model=model, band=band)


def _power(case: Case) -> Answer:
    drive, resistance = case.design.drive, case.value("resistance_20c")
    if drive.voltage is not None:
        return _scaled(case, drive.voltage, f"voltage times current while on, {_COLD}")
    assert drive.current is not None
    return Answer(value=drive.current**2 * resistance, model=f"current squared times resistance, {_COLD}")


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
    return Answer(
        value=case.value("inductance") / case.value("resistance_20c"),
        model="inductance over resistance at 20 degC",
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
