"""Heat of eddy currents in cores, base plate, target and magnet under the drive, and the flux's delay."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.in_place._losses import heating_resistances
from coilgen.figures.in_place._metal import HIGHEST, highest, metal, pieces, with_permeabilities
from coilgen.figures.in_place._spreads import USUAL, Facts, cold_current, single
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.metal.near_coil import Metal

OF_COPPER = 0.05
"""Of the copper's heat: what the metal's must be for a caution."""
RISE_ERROR = 0.1
"""Of the time that the flux takes."""
SLOW_FLUX = 0.1
"""Of the current's own rise or of a square wave's on time: what the flux's rise must take for a caution."""


def losses(case: Case) -> Floats | None:
    """Heat of each body of `pieces`, (n,) W, a period's mean; None for direct current and without metal."""
    if case.design.drive.frequency is None or not any(piece.conducts for piece in pieces(case)):
        return None
    return case.once("metal losses", lambda: _losses(case, USUAL))


def _losses(case: Case, facts: Facts) -> Floats:
    """Of the cold coil."""
    drive, cold = case.design.drive, float(case.value("resistance_20c"))
    mean_square = (drive.duty or 1.0) * cold_current(case, facts) ** 2
    return mean_square * heating_resistances(case, cold, facts)


def _loss(case: Case, kind: str) -> Answer | None:
    found = losses(case)
    mine = [k for k, piece in enumerate(pieces(case)) if piece.kind == kind and piece.conducts]
    if found is None or not mine:
        return None
    value = float(found[mine].sum())
    shifts = {
        source: (float(low[mine].sum()) - value, float(high[mine].sum()) - value)
        for source, low, high in _ends(case)
    }
    return spread_answer(Spread(value, shifts), _model(case))


def _ends(case: Case) -> Iterator[tuple[str, Floats, Floats]]:
    for source, low, high in single(case):
        yield source, _losses(case, low), _losses(case, high)


def _model(case: Case) -> str:
    drive = case.design.drive
    if drive.waveform == "sine":
        when = f"under the sine, {readable(case.value('current'), 'A')} root mean square"
    elif drive.voltage is not None:
        when = "mean over a period of the switched voltage, by the current's course with the metal in place"
    else:
        when = f"under the harmonics of a square wave of current up to {readable(HIGHEST, 'Hz', 2)}"
    return (
        f"eddy currents {when}, cold coil, permeability at the drive's level; hysteresis not counted, which "
        "in ferrite is most of the loss"
    )


def _by_body(case: Case) -> Answer | None:
    found = losses(case)
    if found is None:
        return None
    rows = [
        {"body": piece.name, "loss": float(heat)}
        for piece, heat in zip(pieces(case), found, strict=True)
        if piece.conducts
    ]
    return Answer(value=rows, model=_model(case), cautions=_heating(case, float(found.sum())))


def _heating(case: Case, heat: float) -> tuple[str, ...]:
    """Where the metal's own heat is no small part of the copper's."""
    drive = case.design.drive
    square = (drive.duty or 1.0) * float(case.value("current")) ** 2
    copper = square * float(case.value("resistance_20c"))
    if heat < OF_COPPER * copper:
        return ()
    return (
        f"Eddy currents heat the metal at the coil with {readable(heat, 'W', 2)} beside the "
        f"{readable(copper, 'W', 2)} of the copper: temperatures count both, and the supply gives both.",
    )


def _flux_rise(case: Case) -> Answer | None:
    """Of the core whose flux is slowest; none where it is faster than what eddy currents are solved for."""
    found = metal(case, "drive")
    if found is None or found.round is None:
        return None
    rises = {
        piece.name: (_rise(found, number), number)
        for number, piece in enumerate(pieces(case))
        if piece.kind == "core" and piece.conducts
    }
    if not rises:
        return None
    name, (slowest, number) = max(rises.items(), key=lambda each: each[1])
    if slowest < 1.0 / (2 * math.pi * highest(case)):
        return None
    return spread_answer(
        _rise_spread(case, slowest, number),
        f"10 to 90 % of the flux in {name} after a step of the current, by the decays of its eddy "
        f"currents{_of_target(case)}",
        cautions=_slow(case, name, slowest),
    )


def _rise_spread(case: Case, value: float, number: int) -> Spread:
    """Times grow with the conductivity; with the permeability as in weak fields, s."""
    usual = with_permeabilities(case, 1.0)

    def shift(facts: Facts) -> float:
        changed = with_permeabilities(case, facts.permeability)
        slower = 1.0 if changed is usual else _rise(changed, number) / _rise(usual, number)
        return value * (facts.conductivity * slower * (1.0 + RISE_ERROR * facts.model) - 1.0)

    return Spread(value, {source: (shift(low), shift(high)) for source, low, high in single(case)})


def _rise(found: "Metal", number: int) -> float:
    """Time, s, from 10 to 90 % of the flux in one of the round bodies."""
    from coilgen.physics.metal.round_bodies import flux_after_step

    assert found.round is not None
    decays = found.round.relaxation.time
    time = np.geomspace(1e-2 * decays.min(), 1e2 * decays.max(), 2001)
    share = flux_after_step(found.round, time)[:, number] / found.round.static_flux[number]
    after = [max(1, int(np.argmax(share >= level))) for level in (0.1, 0.9)]
    first, last = (
        float(np.interp(level, share[k - 1 : k + 1], time[k - 1 : k + 1]))
        for k, level in zip(after, (0.1, 0.9), strict=True)
    )
    return last - first


def _of_target(case: Case) -> str:
    """What the pull on a target of solid metal waits for."""
    found = metal(case, "drive")
    assert found is not None
    for number, piece in enumerate(pieces(case)):
        if piece.kind == "target" and piece.conducts:
            rise = readable(_rise(found, number), "s", 2)
            return f"; that in the target takes {rise}: the pull comes so much after the current"
    return ""


def _slow(case: Case, name: str, rise: float) -> tuple[str, ...]:
    drive = case.design.drive
    constant = float(case.value("inductance")) / float(case.value("resistance_20c"))
    on = constant if drive.frequency is None else min(constant, (drive.duty or 0.5) / drive.frequency)
    if rise < SLOW_FLUX * on:
        return ()
    return (
        f"The flux in {name} takes {readable(rise, 's', 2)} to follow the current (10 to 90 %), as eddy "
        "currents hold it back: field, force and pull come and go so much later.",
    )


def _quantity(kind: str, name: str) -> Quantity:
    return Quantity(
        name=name,
        unit="W",
        says=f"heat of eddy currents in the {kind} under the drive",
        group="heat",
        compute=lambda case: _loss(case, kind),
    )


FIGURES = (
    _quantity("core", "core_eddy_loss"),
    _quantity("base plate", "base_plate_loss"),
    _quantity("target", "target_loss"),
    Quantity(
        name="loss_by_body",
        unit="table(body, loss W)",
        says="heat of eddy currents in each body under the drive",
        group="heat",
        compute=_by_body,
    ),
    Quantity(
        name="flux_rise_time",
        unit="s",
        says="time in which the flux in the core follows a step of the current",
        group="drive",
        compute=_flux_rise,
    ),
)
