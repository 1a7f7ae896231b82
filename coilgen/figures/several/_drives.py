"""What drives the windings of a board, as solvers of its heat take it: all the time, or as it switches."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.figures.heat._eddies import mean_square_share
from coilgen.figures.heat._made import Made as OneMade
from coilgen.figures.heat._warmth import supply
from coilgen.figures.several._leads import resistances_apart
from coilgen.figures.several._made import Made
from coilgen.figures.several._network import joints_heat
from coilgen.result.figure import Case, Winding

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.plate.body import Circuit
    from coilgen.physics.heat.plate.transient import Switched

_SLOW = 0.05
"""s, of a square wave's period, from which on the copper swings about its mean."""


def slow(case: Case) -> tuple[Winding, ...]:
    """Windings whose square waves are slow enough for their copper to swing."""
    return tuple(each for each in case.windings if _period(each) > _SLOW)


def _period(winding: Winding) -> float:
    """s; zero for what does not switch."""
    drive = winding.case.design.drive
    if drive.waveform != "square" or drive.frequency is None or drive.duty == 1:
        return 0.0
    return 1 / drive.frequency


def longest_period(case: Case) -> float:
    """Of the slow drives, s."""
    return max(_period(each) for each in slow(case))


def circuits(case: Case, made: Made) -> "tuple[Circuit, ...]":
    """Each winding's own drive; currents that another winding induces are left out.

    Coils of an array have their joints with them here, and the voltage that falls over these.
    """
    from coilgen.physics.heat.plate.body import Circuit

    driven = OneMade(voltage=made.voltage * (1 + joints_heat(case)), eddies=made.eddies)
    copper = made.copper_of(case)
    return tuple(
        Circuit(
            supply=_with_tail(supply(each.case, made=driven), made.tail * more * tail),
            windings=(number,),
        )
        for number, (each, tail, more) in enumerate(
            zip(case.windings, resistances_apart(case), copper, strict=True)
        )
    )


def _with_tail(supplied: "Supply", ohm: float) -> "Supply":
    """A supply with a tail's leads in the way of its current."""
    return replace(supplied, series_resistance=supplied.series_resistance + ohm)


def switched(case: Case, made: Made) -> "tuple[Switched, ...]":
    """Slow drives as they switch, all from one instant on; of the others their mean power all the time."""
    from coilgen.physics.heat.plate.body import Circuit
    from coilgen.physics.heat.plate.transient import Switched

    swinging = slow(case)
    found = []
    for number, each in enumerate(case.windings):
        duty = each.case.design.drive.duty or 1.0
        on = supply(each.case, on_share=1.0, made=OneMade(voltage=1 + joints_heat(case)))
        on = _with_tail(on, made.tail * resistances_apart(case)[number])
        share = duty if each in swinging else 1.0
        driven = on if each in swinging else _mean(on, mean_square_share(each.case))
        found.append(Switched(circuit=Circuit(supply=driven, windings=(number,)), duty=share))
    return tuple(found)


def _mean(on: "Supply", duty: float) -> "Supply":
    """A supply that makes all the time what the given one makes in its duty."""
    root = math.sqrt(duty)
    return replace(
        on,
        voltage=None if on.voltage is None else root * on.voltage,
        current=None if on.current is None else root * on.current,
        current_limit=None if on.current_limit is None else root * on.current_limit,
    )
