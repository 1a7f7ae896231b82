"""Heat of eddy currents in copper and in each body at the coil, by the current that drives them."""

import math
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.electrical._copper_eddies import (
    copper_decays,
    copper_eddies,
    counts_copper_eddies,
)
from coilgen.figures.in_place._metal import highest, leaving_some, metal, pieces
from coilgen.figures.in_place._spreads import USUAL, Facts, weak
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.metal.relaxation import Relaxation


def makes_heat(case: Case) -> bool:
    """Whether the drive changes and something at the coil conducts."""
    drive = case.design.drive
    return drive.frequency is not None and drive.duty != 1 and any(one.conducts for one in pieces(case))


def heating_resistances(case: Case, resistance: float, facts: Facts = USUAL) -> Floats:
    """Heat of each of `pieces` over the mean square of the current, (n,) ohm, the coil at a resistance, ohm.

    Of a square wave the current counts as if it followed at once, as the heat of the copper does: on for the
    duty. Facts of the metal change it in proportion to weak fields.
    """
    key = f"heating resistances at {resistance}, {facts}"
    return case.once(key, lambda: _resistances(case, resistance, facts))


def _resistances(case: Case, resistance: float, facts: Facts) -> Floats:
    found = metal(case, "drive") if makes_heat(case) else None
    if found is None:
        return np.zeros(len(pieces(case)))
    if facts == USUAL:
        return heat_by(case, resistance, found.relaxation)
    off = 1.0 + facts.model * found.resistance_error
    if facts == Facts(model=facts.model):
        return np.asarray(off * heating_resistances(case, resistance))
    usual = case.once(f"weak heating at {resistance}", lambda: heat_by(case, resistance, weak(case, USUAL)))
    share = heat_by(case, resistance, weak(case, facts)) / np.where(usual == 0.0, 1.0, usual)
    return np.asarray(heating_resistances(case, resistance) * share * off)


def copper_heating(case: Case, resistance: float) -> float:
    """Heat of eddy currents in the winding's own copper over the mean square of the current, ohm.

    Of a square wave as in `heating_resistances`, by its current as it rises and runs out.
    """
    if not counts_copper_eddies(case):
        return 0.0
    return case.once(f"copper heating at {resistance}", lambda: _of_copper(case, resistance))


def _of_copper(case: Case, resistance: float) -> float:
    from coilgen.physics.metal.relaxation import joined

    if case.design.drive.waveform == "sine":
        return copper_eddies(case)
    own = copper_decays(case)
    if not len(own.time):
        return 0.0
    near = metal(case, "drive") if any(one.conducts for one in pieces(case)) else None
    if near is not None:  # which may take all but a little by itself
        own = leaving_some(case, joined([near.relaxation, own]))
    return float(heat_by(case, resistance, own)[-1])


def heat_by(case: Case, resistance: float, decays: "Relaxation") -> Floats:
    """The same of given decays, wherever the winding's field makes them, (bodies,) ohm."""
    from coilgen.physics.metal.relaxation import body_losses, square_losses

    drive = case.design.drive
    assert drive.frequency is not None
    if drive.waveform == "sine":
        return np.asarray(body_losses(decays, np.array([drive.frequency]))[0])
    duty = drive.duty or 0.5
    if drive.voltage is not None:
        return _switched(case, resistance, decays) / (duty * drive.through(resistance) ** 2)
    return square_losses(decays, drive.frequency, duty, highest(case))


def _switched(case: Case, resistance: float, decays: "Relaxation") -> Floats:
    """Heat (bodies,) W under a voltage that is switched on and off, long after the start."""
    from coilgen.physics.metal.switched import CoilInMetal, mean_heat

    drive, limit = case.design.drive, case.design.drive.current_limit or math.inf
    coil = CoilInMetal(resistance=resistance, inductance=float(case.value("inductance")), metal=decays)
    assert drive.voltage is not None and drive.frequency is not None
    return mean_heat(coil, drive.voltage, drive.frequency, drive.duty or 0.5, drive.clamp, limit)
