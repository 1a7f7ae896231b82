"""What the currents of several windings change in their field, where each one's part of it is known."""

from collections.abc import Iterator
from dataclasses import replace

from coilgen.result.figure import Case
from coilgen.result.spread import Spread, carried


def varied(case: Case) -> tuple[Spread, ...]:
    """Currents that the parts of a field go with, of one winding or an array one, else of each winding one.

    A part is per ampere of the first driven winding, so each is that one's current, and varies in proportion
    as its own winding's does, where nothing drives that not at all: parts that cancel leave what the windings
    do not have in common. Windings of several voltages have several supplies, which vary each for itself.
    """
    if not case.windings or case.design.array is not None:
        return (case.spread("current"),)
    usual = float(case.value("current"))
    return tuple(_over(current, usual) for current in _apart(case))


def _apart(case: Case) -> Iterator[Spread]:
    """Currents of the windings, each by its own supply where their voltages differ."""
    several = len({each.case.design.drive.voltage for each in case.windings} - {None}) > 1
    for each in case.windings:
        current = each.case.spread("current")
        own = {"voltage": f"voltage of {each.name}"} if several else {}
        shifts = {own.get(source, source): ends for source, ends in current.shifts.items()}
        yield replace(current, shifts=shifts)


def _over(current: Spread, usual: float) -> Spread:
    if current.value == 0:
        return Spread(usual)
    return carried(lambda amperes: usual * amperes / current.value, current)
