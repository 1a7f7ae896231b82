"""Coils at the ends of what tolerances leave open, and what is solved for all of them at once."""

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from coilgen.figures.electrical._copper_eddies import RISE_ERROR
from coilgen.figures.heat._air import convection_factor
from coilgen.figures.heat._assembly import has_joints
from coilgen.figures.heat._eddies import copper_heat
from coilgen.figures.heat._made import EXPECTED, Made
from coilgen.figures.in_place._losses import makes_heat
from coilgen.figures.in_place._spreads import single
from coilgen.result.figure import Case

FEW = 0.01
"""Of the resistance: eddy currents in the copper that add less leave the band as it is."""
T = TypeVar("T")


def sources(case: Case) -> Iterator[tuple[str, Made, Made]]:
    """Those besides the copper's resistance, each with the coil at its low and at its high end."""
    tolerance = case.design.tolerance
    least, _, most = convection_factor(case)
    if least < most:
        yield "convection", Made(air="hot"), Made(air="cool")
    if has_joints(case):
        yield "joints", Made(joints="cool"), Made(joints="hot")
    if tolerance.voltage and case.design.drive.voltage is not None:
        yield "voltage", Made(voltage=1 - tolerance.voltage), Made(voltage=1 + tolerance.voltage)
    if tolerance.ambient:
        yield "ambient", Made(warmer=-tolerance.ambient), Made(warmer=tolerance.ambient)
    if makes_heat(case):
        for source, low, high in single(case):
            yield source, Made(metal=low), Made(metal=high)
    if copper_heat(case) > FEW * case.value("resistance_20c"):
        yield "model of impedance", Made(eddies=1 - RISE_ERROR), Made(eddies=1 + RISE_ERROR)
    if case.design.drive.waveform == "sine" and case.design.drive.voltage is not None:
        inductance = case.spread("inductance")
        less, more = (Made(inductance=end / inductance.value) for end in inductance.band)
        yield "inductance", less, more


def ends(case: Case) -> tuple[Made, ...]:
    """Every coil that a spread is solved for, besides the expected one."""
    return case.once("heat ends", lambda: tuple(_ends(case)))


def _ends(case: Case) -> Iterator[Made]:
    for _, *pair in sources(case):
        yield from pair
    for end in case.spread("resistance_20c").band:
        yield replace(EXPECTED, copper=end / case.value("resistance_20c"))


def solved(
    case: Case,
    made: Made,
    others: tuple[Made, ...],
    of: Callable[..., Sequence[T]],
    *told: Hashable,
) -> T:
    """What a function of case, coils and what is told says of a coil: of the expected one by itself, of one
    among others together with all of these.
    """
    group = others if made in others and made != EXPECTED else (made,)
    return case.kept(of, group, *told)[group.index(made)]
