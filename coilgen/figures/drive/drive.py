"""What the drive does to the cold coil: current, power, ampere-turns, current density, time constant."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.phase_drive import crest
from coilgen.figures.drive._drive_circuit import eddy_resistance
from coilgen.figures.electrical._copper_eddies import copper_eddies
from coilgen.figures.in_place._spreads import Facts, series_impedance, single
from coilgen.figures.several._network import heat_of_all
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried, factor, told, within
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.design.design import Design

_COLD = "with the resistance at 20 degC: a cold coil, before it warms up"


def _current(case: Case) -> Answer:
    through = _through(case)
    return through if case.in_phase is None else _of_phase(case.in_phase, through)


def _of_phase(board: "Design", through: Answer) -> Answer:
    """Of a coil beside a mover: forces go with the amplitude, the copper's heat with what is told here."""
    assert board.array is not None
    amplitude = readable(crest(board) * board.array.side_by_side * through.value, "A")
    constant = "torque_constant" if board.array.arrangement == "ring" else "thrust_constant"
    return replace(
        through,
        says="root mean square of a coil's current in its phase, mover held",
        model="direct current that warms the coil as its phase's does while the mover is held: the root mean "
        f"square. The phase's amplitude, with which {constant} goes, is {amplitude}; {through.model}",
    )


def _through(case: Case) -> Answer:
    drive = case.design.drive
    if drive.current is not None:
        return Answer(value=drive.current, model="as the design file gives it")
    if drive.waveform == "sine" and drive.frequency is not None:
        return spread_answer(_sine_current(case, drive.frequency), _over(case))
    through = carried(
        lambda voltage, resistance: drive.limited(voltage / resistance),
        _voltage(case),
        case.spread("resistance_20c"),
    )
    return spread_answer(through, _over(case))


def _sine_current(case: Case, frequency: float) -> Spread:
    omega, near, own = 2 * math.pi * frequency, series_impedance(case, frequency), copper_eddies(case)

    def through(voltage: float, resistance: float, inductance: float, added: complex = near) -> float:
        return voltage / abs(resistance + own + 1j * omega * inductance + added)

    given = (_voltage(case), case.spread("resistance_20c"), case.spread("inductance"))
    volts, ohms, henries = (each.value for each in given)

    def shift(facts: Facts) -> float:
        added = series_impedance(case, frequency, facts)
        return through(volts, ohms, henries, added) - through(volts, ohms, henries)

    metal = {source: (shift(low), shift(high)) for source, low, high in single(case)}
    return carried(through, *given).plus(**metal)


def _voltage(case: Case) -> Spread:
    voltage = case.design.drive.voltage
    assert voltage is not None
    return within(voltage, "voltage", case.design.tolerance.voltage)


def _over(case: Case) -> str:
    drive, cold = case.design.drive, float(case.value("resistance_20c"))
    if drive.waveform == "sine":
        return (
            f"root mean square: {drive.voltage:g} V over the impedance of resistance and inductance in "
            f"series, with what stands at the coil, {_COLD}"
        )
    settled = ", once the current has risen" if drive.waveform == "square" else ""
    if drive.gives_in(cold):
        return (
            f"held by the supply at its limit, as {drive.voltage:g} V would drive "
            f"{readable((drive.voltage or 0.0) / cold, 'A')}{settled}, {_COLD}"
        )
    return f"{drive.voltage:g} V over the resistance{settled}, {_COLD}"


def _power(case: Case) -> Answer:
    if case.windings:
        return _power_of_all(case)
    drive = case.design.drive
    current = case.spread("current")
    if drive.voltage is not None and drive.waveform != "sine" and drive.current_limit is None:
        power = carried(lambda voltage, amperes: voltage * amperes, _voltage(case), current)
        return spread_answer(power, f"voltage times current while on, {_COLD}")
    added = eddy_resistance(case)
    power = carried(lambda amperes, ohm: amperes**2 * (ohm + added), current, case.spread("resistance_20c"))
    eddies = " with that of eddy currents in copper and metal" if added else ""
    return spread_answer(power, f"current squared times resistance{eddies}, {_COLD}")


def _power_of_all(case: Case) -> Answer:
    each = [winding.case.spread("power") for winding in case.windings]
    share = heat_of_all(case)
    joints = " and the tracks that join them" if share > 1 else ""
    power = carried(lambda *watts: share * sum(watts), *each)
    return spread_answer(power, f"of all windings{joints} together, {_COLD}")


def _ampere_turns(case: Case) -> Answer:
    turns = case.value("turns_total")
    return spread_answer(
        carried(lambda amperes: amperes * turns, case.spread("current")), "current times turns"
    )


def _current_density(case: Case) -> Answer:
    """In the trace that carries most for its section, as wide and thick as the fab makes it."""
    copper, tolerance = case.design.board.stackup.copper, case.design.tolerance
    traces = zip(case.shares, case.coil.traces, strict=True)
    share, width, thickness = max(
        ((share, trace.width, copper[trace.layer - 1]) for share, trace in traces),
        key=lambda each: each[0] / (each[1] * each[2]),
    )
    density = carried(
        lambda amperes, wide, thick: amperes * share / (max(wide, 0.05 * width) * thick),
        case.spread("current"),
        told(width, "trace width", width - tolerance.trace_width, width + tolerance.trace_width),
        factor("copper thickness", tolerance.copper_thickness, thickness),
    )
    says = "current over the cross-section of the trace that carries most for its size"
    return spread_answer(density, says)


def _time_constant(case: Case) -> Answer:
    bare = "; cores not counted, current_against_time counts them" if case.design.core else ""
    constant = carried(
        lambda henry, ohm: henry / ohm, case.spread("inductance"), case.spread("resistance_20c")
    )
    return spread_answer(constant, f"inductance over resistance at 20 degC{bare}")


FIGURES = (
    Quantity(
        name="current",
        unit="A",
        says="current while the drive is on",
        group="drive",
        compute=_current,
        of="each",
    ),
    Quantity(
        name="power",
        unit="W",
        says="power while the drive is on",
        group="drive",
        compute=_power,
        of="both",
    ),
    Quantity(
        name="ampere_turns",
        unit="A",
        says="ampere-turns of the winding",
        group="drive",
        compute=_ampere_turns,
        of="each",
    ),
    Quantity(
        name="current_density",
        unit="A/m2",
        says="largest current density in a trace",
        group="drive",
        compute=_current_density,
        of="each",
        idle=False,
    ),
    Quantity(
        name="time_constant",
        unit="s",
        says="time constant of the current's rise",
        group="electrical",
        compute=_time_constant,
        of="each",
    ),
)
