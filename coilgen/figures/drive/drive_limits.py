"""What the drive asks of its supply and its coil: voltage, impedance, distance from the self-resonance."""

import math
from dataclasses import replace

from coilgen.figures.drive._drive_circuit import (
    Element,
    hot_resistance,
    hot_spread,
    inductance,
    inductance_spread,
    warmth,
)
from coilgen.figures.electrical._copper_eddies import RISE_ERROR, copper_rise
from coilgen.figures.in_place._spreads import Facts, series_impedance, single
from coilgen.physics.circuit.drive import (
    EXTRA_LOW_ALTERNATING_VOLTAGE,
    EXTRA_LOW_VOLTAGE,
    above_extra_low_voltage,
    near_resonance,
)
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Shift, Spread, carried, told, within
from coilgen.units import readable

RAISED = 0.05
"""Relative rise of resistance that a designer is told of; less is lost in the other tolerances."""
_ACROSS = "voltage across the terminals while the drive is on, {} coil"
_IMPEDES = "impedance between the terminals at the sine's frequency, {} coil"
_LOSS_WITHIN = (0.25, 1.25)
"""Times the loss of a dielectric that holds all of the winding's field: some of it is in air and mask, and
laminates of one kind differ (common practice, no source)."""


def _voltage(case: Case) -> Answer:
    drive, hot = case.design.drive, hot_resistance(case)
    sine = drive.waveform == "sine"
    if drive.gives_in(hot.value):
        voltage = drive.through(hot.value) * hot.value
        model = f"the supply gives in: its current limit times {hot.says}"
    elif drive.voltage is not None:
        voltage, model = drive.voltage, "as the design file gives it"
    else:
        return _across(case, hot)
    says = _ACROSS.format(warmth(case))
    return Answer(value=voltage, model=model, cautions=_dangerous(voltage, sine), says=says)


def _across(case: Case, hot: Element) -> Answer:
    """What a forced current makes."""
    sine = case.design.drive.waveform == "sine"
    impedance = case.spread("drive_impedance") if sine else hot_spread(case)
    voltage = carried(lambda amperes, ohm: amperes * ohm, case.spread("current"), impedance)
    model = f"current times {'the impedance' if sine else hot.says}; a supply needs some more to regulate"
    says = _ACROSS.format(warmth(case))
    return spread_answer(voltage, model, _dangerous(voltage.value, sine), says=says)


def _dangerous(voltage: float, alternating: bool) -> tuple[str, ...]:
    if not above_extra_low_voltage(voltage, alternating=alternating):
        return ()
    limit, kind = (
        (EXTRA_LOW_ALTERNATING_VOLTAGE, "alternating, root mean square")
        if alternating
        else (EXTRA_LOW_VOLTAGE, "direct")
    )
    return (
        f"{WARNING}The supply of {readable(voltage, 'V')} is above {limit:g} V {kind}, the limit of "
        "extra-low voltage: bare terminals and traces may be dangerous to touch. Follow local codes and "
        "leave the wiring to licensed practice.",
    )


def _impedance(case: Case) -> Answer | None:
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return None
    hot, rise = hot_resistance(case), copper_rise(case, drive.frequency)
    impedance = _impedance_spread(case, drive.frequency, rise)
    return spread_answer(
        impedance,
        f"{hot.says}, raised by eddy currents in the copper and in the metal at the coil, and the "
        "inductance with it, permeabilities at the drive's level",
        cautions=_eddies(drive.frequency, rise),
        says=_IMPEDES.format(warmth(case)),
    )


def _impedance_spread(case: Case, frequency: float, rise: float) -> Spread:
    """With the tolerances of coil and metal, ohm."""
    omega, near = 2 * math.pi * frequency, series_impedance(case, frequency)
    given = (
        hot_spread(case),
        carried(lambda ohm, share: ohm * share, case.spread("resistance_20c"), _eddy_share(rise)),
        case.spread("inductance"),
    )

    def size(hot: float, eddies: float, henry: float, added: complex = near) -> float:
        return abs(hot + eddies + 1j * omega * henry + added)

    hot, eddies, henry = (each.value for each in given)
    found = carried(size, *given)

    def shift(facts: Facts) -> float:
        return size(hot, eddies, henry, series_impedance(case, frequency, facts)) - found.value

    metal = {source: (shift(low), shift(high)) for source, low, high in single(case)}
    return found.plus(**{source: _both(found.shifts.get(source), ends) for source, ends in metal.items()})


def _quality(case: Case) -> Answer | None:
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return None
    frequency, rise = drive.frequency, copper_rise(case, drive.frequency)
    near, board = series_impedance(case, frequency), _board_loss(case, frequency)
    given = (case.spread("resistance_20c"), _eddy_share(rise), case.spread("inductance"), board)
    ohms, share, henries, loss = (each.value for each in given)

    def quality(ohm: float, rise: float, henry: float, lost: float, added: complex = near) -> float:
        reactance = 2 * math.pi * frequency * henry + added.imag
        return reactance / (ohm * (1 + rise) + added.real + lost * reactance)

    def shift(facts: Facts) -> float:
        return quality(ohms, share, henries, loss, series_impedance(case, frequency, facts)) - found.value

    found = carried(quality, *given)
    metal = {source: (shift(low), shift(high)) for source, low, high in single(case)}
    answer = spread_answer(
        found.plus(**{source: _both(found.shifts.get(source), ends) for source, ends in metal.items()}),
        "reactance over resistance, cold copper, eddy currents in copper and metal counted, and the loss of "
        "the board's dielectric as if it held all of the winding's capacitance (without it "
        f"{quality(ohms, share, henries, 0.0):.3g}): the quality of a circuit that a capacitor without loss "
        "tunes to this frequency",
    )
    return replace(answer, key=found.value >= 1.0)


def _board_loss(case: Case, frequency: float) -> Spread:
    """Part of the reactance that dielectric loss adds to the resistance: of the winding's capacitance, which
    has the square of the frequency over the self-resonance of the coil's energy."""
    resonance = case.figure("self_resonance")
    if resonance is None:
        return Spread(0.0)
    share = (frequency / float(resonance.value)) ** 2
    whole = share * case.design.board.stackup.laminate.loss_tangent
    return told(whole, "dielectric loss", *(whole * each for each in _LOSS_WITHIN))


def _eddy_share(rise: float) -> Spread:
    """What eddy currents in the copper add, over the cold resistance."""
    return within(rise, "model of impedance", RISE_ERROR)


def _both(one: Shift | None, other: Shift) -> Shift:
    """Of a source that acts in two ways."""
    return other if one is None else (one[0] + other[0], one[1] + other[1])


def _eddies(frequency: float, rise: float) -> tuple[str, ...]:
    if rise <= RAISED:
        return ()
    return (
        f"At {readable(frequency, 'Hz')} eddy currents raise the copper's resistance to {1 + rise:.3g} times "
        "that at direct current (see impedance): current, power and temperatures count that, resistance_20c "
        "does not.",
    )


def _over_resonance(case: Case) -> Answer | None:
    frequency, resonance = case.design.drive.frequency, case.figure("self_resonance")
    if frequency is None or resonance is None:
        return None
    loaded = carried(
        lambda hertz, bare, henry: hertz * math.sqrt(bare / henry),
        case.spread("self_resonance"),
        case.spread("inductance"),
        inductance_spread(case),
    )
    return spread_answer(
        carried(lambda hertz: frequency / hertz, loaded),
        f"drive's frequency over the self-resonance with {inductance(case).says}, "
        f"{readable(loaded.value, 'Hz')}",
        _resonant(frequency, loaded.value),
    )


def _resonant(frequency: float, resonance: float) -> tuple[str, ...]:
    if not near_resonance(frequency, resonance):
        return ()
    return (
        f"The drive's frequency of {readable(frequency, 'Hz')} is above a tenth of the self-resonance, "
        f"{readable(resonance, 'Hz')}: the winding's capacitance changes current and impedance and the "
        "coil may ring; lower the frequency, or wind fewer turns.",
    )


FIGURES = (
    Quantity(
        name="voltage",
        unit="V",
        says=_ACROSS.format("hot"),
        group="drive",
        compute=_voltage,
        of="each",
        idle=False,
    ),
    Quantity(
        name="drive_impedance",
        unit="ohm",
        says=_IMPEDES.format("hot"),
        group="drive",
        compute=_impedance,
        of="each",
        idle=False,
    ),
    Quantity(
        name="drive_quality",
        unit="1",
        says="quality at the sine's frequency, cold coil",
        group="drive",
        compute=_quality,
        of="each",
        idle=False,
    ),
    Quantity(
        name="frequency_over_resonance",
        unit="1",
        says="drive's frequency as a share of the self-resonance",
        group="drive",
        compute=_over_resonance,
        of="each",
        idle=False,
    ),
)
