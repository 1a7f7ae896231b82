"""Cogging: what the cores in an array's coils do to the mover without current."""

import math
from collections.abc import Callable, Iterator

from coilgen.figures.core._magnetics import over_iron
from coilgen.figures.mover._cores import flux_density, has_cores
from coilgen.figures.mover._machine import machine
from coilgen.figures.mover._magnets import mover_of
from coilgen.figures.mover._setting import DESIGNED, Setting
from coilgen.figures.mover._spreads import not_negative, spread_of, with_tolerances
from coilgen.figures.mover.torque import at_rest, mean_per_ampere
from coilgen.figures.mover.voltage import of_row
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread
from coilgen.units import per_cent, readable

_FALSE = "voltage, torque, cogging and pull are told"
_FLOODED = 0.1
"""Saturated share of the cores from which on their loss of use is told."""
_UNEVEN = 0.5
"""How far the rule of roots of squares is trusted; own judgement, no source."""
_HELD = 0.5
"""Of the stall torque, from which cogging on may hold a mover that starts."""


def _asked(case: Case, row: bool) -> bool:
    return case.design.mover is not None and of_row(case) == row and has_cores(case)


def _cogging(case: Case, row: bool) -> Answer | None:
    if not _asked(case, row):
        return None
    unit, one = _unit(row), machine(case).of_core
    return spread_answer(
        not_negative(with_tolerances(case, lambda found: found.most_cogging, power=2)),
        f"greatest {_what(row)} of the cores on the mover at any place, without current, all cores alike, "
        f"{_periods(case)}; magnetisation by a volume integral in one coil, turned to all; the cores of one "
        f"coil by themselves: up to {readable(one, unit, 3)}",
        cautions=tuple(_holds(case, row, unit)),
    )


def _what(row: bool) -> str:
    return "force along the motion" if row else "torque"


def _periods(case: Case) -> str:
    """How often it comes back."""
    mover, count = mover_of(case), len(case.design.windings)
    if mover.arrangement == "row":
        return "the ends of the row among it"
    return f"{math.lcm(mover.poles, count)} periods a turn"


def _additional(case: Case, row: bool) -> Answer | None:
    if not _asked(case, row):
        return None
    value = _uneven(case)
    return spread_answer(
        Spread(value, {"model of additional cogging": (-_UNEVEN * value, _UNEVEN * value)}),
        f"greatest {_what(row)} that comes to cogging where each coil's cores stand by themselves in the "
        "tolerance of the mover's gap: what that changes for one coil times the root of the coils' number; "
        "magnets that differ add theirs",
        cautions=tuple(_stop(case, row, value)),
    )


def _uneven(case: Case) -> float:
    """Alike cores of a ring nearly cancel each other; of uneven ones the root of the sum of squares stays."""
    step = min(case.design.tolerance.gap_of(mover_of(case)), 0.9 * mover_of(case).gap)
    usual, wider = (machine(case, Setting(rough=True, lifted=lift)).of_core for lift in (0.0, step))
    return float(len(case.design.windings) ** 0.5 * abs(usual - wider))


def _stop(case: Case, row: bool, value: float) -> Iterator[str]:
    if value > 2 * machine(case).most_cogging:
        yield (
            f"Cores that stand unevenly, by the gap's tolerance, leave {readable(value, _unit(row), 2)} of "
            "cogging where alike ones nearly cancel each other: seat them on a common stop."
        )


def _unit(row: bool) -> str:
    return "N" if row else "N m"


def _holds(case: Case, row: bool, unit: str) -> Iterator[str]:
    """Where the mover may stick."""
    cogging = machine(case).most_cogging
    stall = abs(at_rest(case).current.value * mean_per_ampere(case).value)
    if cogging > _HELD * stall:
        yield (
            f"{WARNING}Cogging of up to {readable(cogging, unit, 2)} may hold the mover against the "
            f"{_what(row)} of {readable(stall, unit, 2)} that the drive has at standstill: it starts only "
            "from some places, or not at all. Wider gaps, thinner or lower cores, or numbers of coils and "
            "poles whose least common multiple is greater help."
        )


def _flux_density(case: Case) -> Answer | None:
    if case.design.mover is None or not has_cores(case):
        return None
    mean, saturated = flux_density(case, DESIGNED)
    told = [mean if each.core.place == "pocket" else 0.0 for each in case.design.stand.bodies]
    return spread_answer(
        spread_of(case, lambda setting: flux_density(case, setting)[0]),
        "mean over the volume of a coil's cores at the place of the mover where it is most, without current",
        cautions=(*_flooded(saturated), *over_iron(case, told, _FALSE)),
    )


def _flooded(saturated: float) -> Iterator[str]:
    if saturated > _FLOODED:
        yield (
            f"The mover's magnets saturate up to {per_cent(saturated)} of the cores in the coils, "
            "which lead less "
            "flux then: voltage, torque and cogging are told with that, inductances without it, which are "
            "less beside the mover. A material that saturates later, or a wider gap, keeps the cores' use."
        )


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="force", compute=compute, of="several")


FIGURES = (
    _quantity(
        "cogging_torque",
        "N m",
        "greatest cogging (detent) torque, without current",
        lambda case: _cogging(case, False),
    ),
    _quantity(
        "cogging_force",
        "N",
        "greatest cogging (detent) force, without current",
        lambda case: _cogging(case, True),
    ),
    _quantity(
        "additional_cogging_torque",
        "N m",
        "cogging torque that cores add which stand unevenly",
        lambda case: _additional(case, False),
    ),
    _quantity(
        "additional_cogging_force",
        "N",
        "cogging force that cores add which stand unevenly",
        lambda case: _additional(case, True),
    ),
    _quantity(
        "stator_core_flux_density",
        "T",
        "flux density in the coils' cores as the mover passes",
        _flux_density,
    ),
)
