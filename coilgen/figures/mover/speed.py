"""Speed against torque or thrust at the drive's supply: no load, stall, best efficiency."""

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.design.phase_drive import voltage_share
from coilgen.figures.mover._machine import (
    cancelled,
    machine,
    phase_resistance,
    phases,
)
from coilgen.figures.mover._spreads import strength, with_tolerances
from coilgen.figures.mover.torque import at_rest, delta, mean_per_ampere, six_steps
from coilgen.figures.mover.voltage import model, of_row
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Shift, Spread, carried, within
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.mover.supply import Supplied

_ROWS = 21
_STRIPS = 0.3
"""How far the loss of strips by themselves is trusted; own judgement, no source."""


def _phase_inductance(case: Case) -> float:
    """Of one phase with balanced currents in all, H."""
    place = "_in_place" if case.design.core else ""
    own = np.array(case.value(f"phase_inductance_matrix{place}"))
    beside = (own.sum() - np.trace(own)) / max(1, own.size - len(own))
    return float(np.trace(own) / len(own) - beside)


def _supplied(case: Case, volts: float, ohm: float, torque: float) -> "Supplied":
    """Phases at a supply, from its voltage, a phase's resistance, and the mean torque of an ampere."""
    from coilgen.physics.mover.supply import Supplied

    drive, array, count = case.design.drive, case.design.array, phases(case)
    assert array is not None
    steps, star = six_steps(case), array.connection == "star"
    loaded = _loaded(case)
    order = 2.0 * np.pi / _period(case)
    return Supplied(
        voltage=volts * (1.0 if steps else voltage_share(drive, count, array.connection)),
        resistance=ohm * (2.0 if steps and star else 1.0),
        reactance=0.0 if steps else order * case.once("phase inductance", lambda: _phase_inductance(case)),
        constant=torque / loaded,
        torque_constant=torque,
        heat_share=loaded,
        drag=machine(case).loss,
        limit=drive.current_limit or np.inf,
    )


def _loaded(case: Case) -> float:
    """Heat of all phases over resistance times amplitude squared, on a mean; of a star in six steps, both
    phases as one resistance."""
    if not six_steps(case):
        return phases(case) / 2
    array = case.design.array
    assert array is not None
    return {"star": 1.0, "delta": 1.5}.get(array.connection, 2.0)


def _period(case: Case) -> float:
    places = machine(case).voltages.places
    return float((places[1] - places[0]) * len(places))


def supplied(case: Case) -> "Supplied | None":
    """The phases at the drive's supply; None where the drive holds a current, or where voltages cancel."""
    volts = case.design.drive.voltage
    if case.design.mover is None or volts is None or cancelled(case):
        return None
    return case.once(
        "mover at its supply",
        lambda: _supplied(case, volts, phase_resistance(case).value, mean_per_ampere(case).value),
    )


def _with_tolerances(case: Case, of: "Callable[[Supplied], float]") -> Spread:
    assert case.design.drive.voltage is not None
    volts = within(case.design.drive.voltage, "voltage", case.design.tolerance.voltage)
    return carried(
        lambda volt, ohm, torque: of(_supplied(case, volt, ohm, torque)),
        volts,
        phase_resistance(case),
        mean_per_ampere(case),
    )


def _no_load(case: Case) -> Answer | None:
    if supplied(case) is None:
        return None
    speed = _with_tolerances(case, lambda found: found.no_load_speed)
    turns = "" if of_row(case) else f", {readable(speed.value * 30 / math.pi, 'r/min')}"
    return spread_answer(
        speed,
        f"where the induced voltage and the tracks' eddy currents leave no torque{turns}; no friction; "
        f"{_told(case)}",
        unit="m/s" if of_row(case) else "rad/s",
    )


def _stall(case: Case, row: bool) -> Answer | None:
    if case.design.mover is None or of_row(case) != row:
        return None
    amplitude = at_rest(case)
    found = carried(lambda ampere, torque: ampere * torque, amplitude.current, mean_per_ampere(case))
    volts = case.design.tolerance.voltage
    if case.design.drive.voltage is not None and volts and case.design.drive.current_limit is None:
        found = found.plus(voltage=(-volts * found.value, volts * found.value))
    return spread_answer(
        found,
        f"mean over all places at {amplitude.says}, copper at 20 degC; {model(case)}",
        cautions=tuple(_held(case)),
    )


def _held(case: Case) -> Iterator[str]:
    if case.design.drive.voltage is not None and case.design.drive.current_limit is None:
        yield (
            "A mover that is held or starts takes the whole stall current: temperatures are told for that. "
            "Limit the current (drive.current_limit) to what the copper bears."
        )


def _told(case: Case) -> str:
    waveform = (
        "six steps, the phases' inductance left out" if six_steps(case) else "sinusoidal currents in phase"
    )
    joined = ", delta" if delta(case) else ""
    return f"{waveform}{joined}; copper at 20 degC; {model(case)}"


def _table(case: Case, row: bool) -> Answer | None:
    found = supplied(case)
    if found is None or of_row(case) != row:
        return None
    return Answer(
        value=[_at(found, float(speed), row) for speed in found.speeds(_ROWS)],
        model="from rest to no load, the best efficiency's speed among them; eddy currents in the tracks "
        f"counted, no friction, no losses of the drive; {_told(case)}",
    )


def _at(found: "Supplied", speed: float, row: bool) -> dict[str, Any]:
    return {
        "speed": speed,
        "force" if row else "torque": found.torque(speed),
        "current": found.current(speed),
        "efficiency": found.efficiency(speed),
    }


def _best(case: Case) -> Answer | None:
    if supplied(case) is None:
        return None
    return spread_answer(
        _with_tolerances(case, lambda found: found.efficiency(found.best_speed)),
        f"greatest over all speeds; no friction, no losses of the drive; {_told(case)}",
    )


def _track_loss(case: Case) -> Answer | None:
    found = supplied(case)
    if found is None:
        return None
    speed = found.no_load_speed
    bare = with_tolerances(case, lambda each: each.loss * speed**2, power=0)
    shifts = {source: _squared(bare.value, *ends) for source, ends in strength(case).items()}
    shifts["model of track_eddy_loss"] = (-_STRIPS * bare.value, _STRIPS * bare.value)
    return spread_answer(
        bare.plus(**shifts),
        "thin strips across the magnets' alternating field, all harmonics, at the speed of no load; "
        "goes with the square of the speed",
    )


def _squared(value: float, low: float, high: float) -> Shift:
    """What shares of the field change in a value that goes with its square."""
    return ((1 + low) ** 2 - 1) * value, ((1 + high) ** 2 - 1) * value


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="drive", compute=compute, of="several")


FIGURES = (
    _quantity("no_load_speed", "rad/s", "speed of the mover without load", _no_load),
    _quantity("stall_torque", "N m", "torque with the mover held", lambda case: _stall(case, False)),
    _quantity("stall_force", "N", "thrust with the mover held", lambda case: _stall(case, True)),
    _quantity(
        "torque_against_speed",
        "table(speed rad/s, torque N m, current A, efficiency 1)",
        "torque, current and efficiency against speed at the supply",
        lambda case: _table(case, False),
    ),
    _quantity(
        "force_against_speed",
        "table(speed m/s, force N, current A, efficiency 1)",
        "thrust, current and efficiency against speed at the supply",
        lambda case: _table(case, True),
    ),
    _quantity("best_efficiency", "1", "greatest efficiency of the mover at the supply", _best),
    _quantity("track_eddy_loss", "W", "eddy currents in the tracks at the speed of no load", _track_loss),
)
