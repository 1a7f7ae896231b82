"""What each tolerance changes in a figure of heat: solved again with one source at its ends."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._limits import CHARRED, outlasts
from coilgen.figures.heat._made import EXPECTED, Made
from coilgen.figures.heat._sources import ends, sources
from coilgen.result.figure import Answer, Case, spread_answer
from coilgen.result.spread import Shift, Spread

Of = Callable[[Made], float]
"""A figure's value of a coil made so."""


def spread(case: Case, of: Of) -> Spread:
    """The expected value with what joints, convection, copper, voltage, ambient and metal change in it."""
    value = of(EXPECTED)
    if case.values_only:
        return Spread(value)
    solved = {source: (of(low) - value, of(high) - value) for source, low, high in sources(case)}
    together = case.spread("resistance_20c").together
    return Spread(value, {**solved, **_of_copper(case, of, value)}, together)


def _of_copper(case: Case, of: Of, value: float) -> Mapping[str, Shift]:
    """Solved at both ends of the resistance's band; each of its sources has its share of the way there."""
    resistance = case.spread("resistance_20c")
    low, high = (end / resistance.value for end in resistance.band)
    slopes = {
        side: (of(replace(EXPECTED, copper=end)) - value) / (end - 1) if end != 1 else 0.0
        for side, end in ((False, low), (True, high))
    }
    return {source: _scaled(shift, slopes, resistance.value) for source, shift in resistance.shifts.items()}


def _scaled(shift: Shift, slopes: Mapping[bool, float], whole: float) -> Shift:
    low, high = (slopes[each > 0] * each / whole for each in shift)
    return low, high


def settles(case: Case) -> bool:
    """Whether the coil settles whichever source stands at its end that a band asks for."""
    return not unsettled(case)


def unsettled(case: Case) -> tuple[Made, ...]:
    """The coils, among the ends of the tolerances, that have no settled state."""
    from coilgen.physics.heat.steady import Steady

    made = (EXPECTED,) if case.values_only else (EXPECTED, *ends(case))
    return tuple(each for each in made if not isinstance(_heat.hottest(case, each), Steady))


def peaks(case: Case) -> tuple[float, float, float]:
    """Hottest copper of the settled drive: low end of its band, expected, high end; degC, to the ceiling."""
    found = temperature(case)
    low, high = found.band
    return low, found.value, min(high, _heat.ceiling())


def temperature(case: Case) -> Spread:
    """Hottest copper of the settled drive, degC; the ceiling where it does not settle."""
    return case.once(
        "heat spread of temperature", lambda: spread(case, lambda made: _heat.peak(_heat.hottest(case, made)))
    )


def lasting(case: Case, found: Spread, model: str, band: str = _heat.BAND) -> Answer:
    """A temperature that is to last, with its band, or without one where the board decomposes before."""
    if not outlasts(case, found.value):
        return Answer(value=found.value, model=f"{model}; {CHARRED}")
    return capped(found, f"{model}; {band}")


def capped(found: Spread, model: str) -> Answer:
    """A temperature's answer, whose band ends where copper melts."""
    answer = spread_answer(found, model)
    if answer.band is None:
        return answer
    return replace(answer, band=(answer.band[0], min(answer.band[1], _heat.ceiling())))
