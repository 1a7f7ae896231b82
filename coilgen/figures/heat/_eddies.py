"""Eddy currents as the heat model takes them: in which body they make heat, what they add to the circuit."""

import math
from typing import TYPE_CHECKING

from coilgen.design.mounting import BasePlate
from coilgen.figures.drive._drive_circuit import heating_share
from coilgen.figures.electrical._copper_eddies import copper_eddies, counts_copper_eddies
from coilgen.figures.heat._assembly import assembly
from coilgen.figures.heat._made import EXPECTED, Made, network_of
from coilgen.figures.heat._mounted import lone_plate, stuck_magnet
from coilgen.figures.in_place._losses import copper_heating, heating_resistances, makes_heat
from coilgen.figures.in_place._metal import Piece, pieces
from coilgen.figures.in_place._spreads import series_impedance
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.network import Network

_ROUNDS, _CLOSE = 4, 1e-3
"""How often the hot resistance, on which a switched current depends, is sought; and how near, relative."""


def with_eddies(case: Case, made: Made) -> "Network":
    """The network of heat with what eddy currents make in the copper and in bodies that are part of it."""
    if not (makes_heat(case) or counts_copper_eddies(case)):
        return network_of(case, made)
    key = f"heat network with eddies {made}"
    return case.once(key, lambda: _heated(case, made, _hot_resistance(case)))


def _heated(case: Case, made: Made, resistance: float) -> "Network":
    from coilgen.physics.heat.network import with_eddy_currents

    by_part: dict[str, float] = {}
    counted = (case.design.drive.duty or 1.0) / heating_share(case, resistance)
    found = counted * heating_resistances(case, resistance, made.metal)
    for piece, each in zip(pieces(case), found, strict=True):
        if (part := _part(case, piece)) is not None:
            by_part[part] = by_part.get(part, 0.0) + float(each)
    own = counted * copper_heating(case, resistance) * made.eddies
    return with_eddy_currents(network_of(case, made), by_part, own)


def mean_square_share(case: Case) -> float:
    """Of the square of the current in which the drive settles while on: what heats."""
    return heating_share(case, _hot_resistance(case))


def _hot_resistance(case: Case) -> float:
    """At which a switched voltage drives the current that heats, ohm; cold where the drive does not repeat,
    and of one of several windings."""
    if case.copper_layers or case.design.drive.frequency is None:
        return float(case.value("resistance_20c"))
    return case.once("heat resistance for eddies", lambda: _sought(case))


def _sought(case: Case) -> float:
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.steady import Steady, steady_state

    drive, found = case.design.drive, float(case.value("resistance_20c"))
    if drive.waveform != "square" or drive.voltage is None:
        return found
    for _ in range(_ROUNDS):
        share = heating_share(case, found)
        supply = Supply(voltage=drive.voltage, current_limit=drive.current_limit, on_share=share)
        state = steady_state(_heated(case, EXPECTED, found), supply)
        if not isinstance(state, Steady) or abs(state.resistance / found - 1.0) < _CLOSE:
            break
        found = state.resistance
    return found


def _part(case: Case, piece: Piece) -> str | None:
    """Of the network, to which a body belongs; None for one that stands by itself."""
    whole = assembly(case)
    if piece.kind == "core" and piece.given.place == "pocket":
        return None if whole.core is None else "core"
    if piece.kind == "target" or (piece.kind == "magnet" and stuck_magnet(case, piece.given.place) is None):
        return None
    return str(piece.given.place)


def loose_temperatures(case: Case, current: float, made: Made = EXPECTED) -> dict[str, float]:
    """Bodies that hang in the air by themselves, by their own eddy currents' heat alone, by name, degC.

    current: A, while the drive is on. None where nothing makes heat.
    """
    from coilgen.physics.heat.network import free_body
    from coilgen.physics.heat.steady import alone

    if not makes_heat(case):
        return {}
    square = (case.design.drive.duty or 1.0) * current**2
    ohms = heating_resistances(case, _hot_resistance(case), made.metal)
    air = assembly(case, made.joints, made.air).surroundings
    found = {}
    for piece, ohm in zip(pieces(case), ohms, strict=True):
        if piece.conducts and _part(case, piece) is None and not isinstance(piece.given, BasePlate):
            rise = alone(free_body(lone_plate(piece.given), air), square * float(ohm))
            found[piece.name] = air.ambient + made.warmer + rise
    return found


def copper_heat(case: Case) -> float:
    """Heat of eddy currents in the copper over the mean square of the current, ohm."""
    return copper_heating(case, _hot_resistance(case)) if counts_copper_eddies(case) else 0.0


def eddy_resistance(case: Case, made: Made = EXPECTED) -> float:
    """Heat of eddy currents in copper and all metal at the coil over the mean square of the current, ohm."""
    own = copper_heat(case) * made.eddies
    if not makes_heat(case):
        return own
    return own + float(heating_resistances(case, _hot_resistance(case), made.metal).sum())


def series_resistance(case: Case, made: Made) -> float:
    """What eddy currents add to the way of a sine's current, ohm; none of what is switched."""
    return _added(case, made).real + copper_eddies(case) * made.eddies


def reactance(case: Case, made: Made) -> float:
    """In the way of a sine's current with all that stands at the coil, ohm; none of what is switched."""
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return 0.0
    inductance = float(case.value("inductance")) * made.inductance
    return 2 * math.pi * drive.frequency * inductance + _added(case, made).imag


def _added(case: Case, made: Made) -> complex:
    drive = case.design.drive
    if drive.waveform != "sine" or drive.frequency is None:
        return 0j
    return series_impedance(case, drive.frequency, made.metal)
