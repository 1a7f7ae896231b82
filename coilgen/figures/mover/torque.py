"""Torque or thrust of the phases' currents on the mover: constant, against its place, ripple."""

import math
from collections.abc import Callable

import numpy as np

from coilgen.figures.mover._cores import has_cores
from coilgen.figures.mover._machine import (
    Machine,
    cancelled,
    machine,
    phase_resistance,
    phases,
)
from coilgen.figures.mover._spreads import not_negative, with_tolerances
from coilgen.figures.mover.voltage import model, of_row
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import readable

_ROWS = 72
_DEAD = 0.05
"""Of the mean torque or thrust: where no more is left, friction holds the mover (our choice)."""


def six_steps(case: Case) -> bool:
    """Whether the drive switches in six steps; else currents are sinusoidal."""
    return case.design.drive.waveform == "six-step"


def delta(case: Case) -> bool:
    """Whether phases are joined in a delta."""
    return case.design.array is not None and case.design.array.connection == "delta"


def currents(case: Case, found: Machine) -> Floats:
    """Of the phases (m, n) at the mover's places, amplitude 1, as the drive makes them."""
    from coilgen.physics.mover.voltages import sinusoidal, six_step

    return six_step(found.voltages, delta=delta(case)) if six_steps(case) else sinusoidal(found.voltages)


def per_ampere(case: Case, found: Machine) -> Floats:
    """Torque or thrust (n,) of an amplitude of one ampere with the drive's currents."""
    from coilgen.physics.mover.voltages import torque

    return torque(found.voltages, currents(case, found))


def mean_per_ampere(case: Case) -> Spread:
    """Mean torque or thrust over the amplitude of the drive's currents."""
    return with_tolerances(case, lambda found: float(per_ampere(case, found).mean()))


def _sinusoidal(found: Machine) -> float:
    from coilgen.physics.mover.voltages import sinusoidal, torque

    return float(torque(found.voltages, sinusoidal(found.voltages)).mean())


def _constant(case: Case, row: bool) -> Answer | None:
    if case.design.mover is None or of_row(case) != row:
        return None
    return spread_answer(
        with_tolerances(case, _sinusoidal),
        "mean over the amplitude of sinusoidal currents, each in phase with its phase's voltage: half the "
        f"phases times the voltage constant; {model(case)}",
    )


@dataclass(frozen=True, kw_only=True)
class AtRest:
    """Amplitude of the phases' current with the mover held, A, and in words where it comes from."""

    current: Spread
    says: str


def at_rest(case: Case) -> AtRest:
    """What the drive sends through phases of a mover that is held."""
    from coilgen.design.phase_drive import voltage_share

    drive, array = case.design.drive, case.design.array
    assert array is not None
    if drive.voltage is None:
        assert drive.current is not None
        return AtRest(current=Spread(drive.current), says="the drive's current")
    share, volts = voltage_share(drive, phases(case), array.connection), drive.voltage
    found = carried(lambda ohm: drive.limited(share * volts / ohm), phase_resistance(case))
    return AtRest(current=found, says="what the supply drives through cold copper with the mover held")


def _against_place(case: Case, row: bool) -> Answer | None:
    if case.design.mover is None or of_row(case) != row:
        return None
    found, amplitude = machine(case), at_rest(case)
    own, key = per_ampere(case, found), "position" if row else "angle"
    drives, what, cored = _by_drive(case, found), "force" if row else "torque", has_cores(case)
    rows = [
        {
            key: float(found.voltages.places[k]),
            what: float(amplitude.current.value * own[k] + found.cogging[k]),
            "per_ampere": float(own[k]),
            **{drive: None if each is None else float(each[k]) for drive, each in drives.items()},
            **({"cogging": float(found.cogging[k])} if cored else {}),
        }
        for k in range(0, len(own), len(own) // _ROWS or 1)
    ]
    told = (
        f"{what} of currents, sum of each times its flux's slope, and cogging together"
        if cored
        else "sum of currents times the flux's slope"
    )
    unit = "N" if row else "N m"
    columns = [f"{key} {'m' if row else 'rad'}", f"{what} {unit}", f"per_ampere {unit}/A"]
    columns += [f"sinusoidal {unit}/A", f"six_step {unit}/A", *([f"cogging {unit}"] if cored else [])]
    return Answer(
        value=rows,
        model=f"{told}, {_waveform(case)}, amplitude {amplitude.says}; beside it what an amplitude of one "
        f"ampere gives by either drive; {model(case)}",
        unit=f"table({', '.join(columns)})",
    )


def _by_drive(case: Case, found: Machine) -> "dict[str, Floats | None]":
    """Torque or thrust (n,) of an amplitude of one ampere; six steps are for three phases."""
    from coilgen.physics.mover.voltages import sinusoidal, six_step, torque

    voltages, three = found.voltages, phases(case) == 3
    steps = torque(voltages, six_step(voltages, delta=delta(case))) if three else None
    return {"sinusoidal": torque(voltages, sinusoidal(voltages)), "six_step": steps}


def _waveform(case: Case) -> str:
    return "currents in six steps" if six_steps(case) else "sinusoidal currents"


def _ripple(case: Case) -> Answer | None:
    from coilgen.physics.mover.voltages import ripple

    if case.design.mover is None or cancelled(case):
        return None
    cored, amplitude = has_cores(case), at_rest(case).current.value

    def whole(found: Machine) -> float:
        return ripple(amplitude * per_ampere(case, found) + found.cogging)

    found = not_negative(with_tolerances(case, whole, power=1 if cored else 0))
    cogging = ", cogging and the drive's current with the mover held together" if cored else ""
    return spread_answer(
        found,
        f"from least to greatest over the mean, {_waveform(case)}{cogging}; {model(case)}",
        cautions=_dead_places(case),
    )


@dataclass(frozen=True, kw_only=True)
class Weakest:
    """Where the drive's currents move the mover least: share of the mean, place in rad or m."""

    share: float
    place: float

    @property
    def dead(self) -> bool:
        """Whether the mover does not start there."""
        return self.share <= _DEAD


def weakest(case: Case) -> Weakest:
    """One phase has places without any torque, and phases out of balance may; cogging is not counted."""
    found = machine(case)
    values = per_ampere(case, found)
    shares = values / values.mean()
    least = int(np.argmin(shares))
    return Weakest(share=float(shares[least]), place=float(found.voltages.places[least]))


def _dead_places(case: Case) -> tuple[str, ...]:
    least, row = weakest(case), of_row(case)
    if not least.dead:
        return ()
    what, at = "torque", f"{math.degrees(least.place):.3g}°"
    if row:
        what, at = "force", readable(least.place, "m")
    return (
        f"{WARNING}The mover does not start from every place: the drive's {what} falls to "
        f"{round(100 * least.share)} % of its mean at {at}. Change the number of coils, poles or phases.",
    )


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="force", compute=compute, of="several")


FIGURES = (
    _quantity(
        "torque_constant", "N m/A", "torque over the phases' current", lambda case: _constant(case, False)
    ),
    _quantity(
        "thrust_constant", "N/A", "thrust over the phases' current", lambda case: _constant(case, True)
    ),
    _quantity(
        "torque_against_angle",
        "table(angle rad, torque N m, per_ampere N m/A, sinusoidal N m/A, six_step N m/A)",
        "torque with the drive's current against the mover's angle",
        lambda case: _against_place(case, False),
    ),
    _quantity(
        "force_against_position",
        "table(position m, force N, per_ampere N/A, sinusoidal N/A, six_step N/A)",
        "thrust with the drive's current against the mover's position",
        lambda case: _against_place(case, True),
    ),
    _quantity("torque_ripple", "1", "ripple of torque or thrust", _ripple),
)
