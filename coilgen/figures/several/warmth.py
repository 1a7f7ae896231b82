"""A board of several windings once it has settled: how hot each winding gets beside the others."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.electrical._copper_eddies import RISE_ERROR, counts_copper_eddies
from coilgen.figures.heat._cautions import (
    CARE,
    OUT_OF_RANGE,
    Peak,
    magnet_weakens,
    marks_passed,
    own_limit,
    thin_leads,
)
from coilgen.figures.heat._limits import outlasts
from coilgen.figures.heat._sources import FEW
from coilgen.figures.heat._spreads import lasting
from coilgen.figures.heat._warmth import ceiling
from coilgen.figures.several._drives import longest_period, slow
from coilgen.figures.several._eddies import eddies
from coilgen.figures.several._leads import leads_of_several
from coilgen.figures.several._made import Made
from coilgen.figures.several._plate import plate
from coilgen.figures.several._warm import LeadsMelt, Melts, Warm, coarse_enough, state
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.spread import Spread
from coilgen.units import in_mm, readable

if TYPE_CHECKING:
    from coilgen.physics.heat.plate.steady import PlateRunaway

_COUNTED = (
    "a plate on a grid with the heat of every winding where it lies, convection in still air (or as told) "
    "and radiation; copper's resistance follows its temperature"
)
_DOWN_TAIL = "leads in the tail by themselves, cut along and across, those up to it counted "
_ON_BOARD = "leads by themselves over the board beneath them, their heat near the windings counted there too"
_TRACKS = "the tracks that join coils"
LEADS_ERROR = (-0.27, 0.04)
"""Of the leads' rise: finite differences of drawn boards find from a third less to 4 % more (tests)."""
BAND = "the band is that of convection, of the joints, of the copper's resistance and of the drives"


def _model(case: Case) -> str:
    led = f"; {_led(case)}" if leads_of_several(case) else ""
    led = f"{_heated_by_fields(case)}{led}"
    if not slow(case):
        return f"settled under the mean power of all drives: {_COUNTED}{led}"
    return f"settled, at the peak of periods that repeat: {_COUNTED}{_in_step(case)}{led}"


def _heated_by_fields(case: Case) -> str:
    """How eddy currents in the copper are counted."""
    if not any(counts_copper_eddies(each.case) for each in case.windings):
        return ""
    alike = "" if case.design.array is not None else ", where drives go alike with all crests at once"
    return f"; with eddy currents in the copper of each, in its own field and those of the others{alike}"


def _led(case: Case) -> str:
    """How leads are counted."""
    if case.coil.tail is None:
        return _ON_BOARD
    return f"{_DOWN_TAIL}{'on the board' if case.design.array is not None else 'in the windings'} too"


def _in_step(case: Case) -> str:
    """How slow drives are counted that differ in frequency."""
    frequencies = {each.case.design.drive.frequency for each in slow(case)}
    together = f", slow drives all at {readable(1 / longest_period(case), 'Hz')}, the slowest of them"
    return f"; slow drives begin together{together if len(frequencies) > 1 else ''}"


def temperature(case: Case) -> Answer | None:
    """Hottest copper of all windings."""
    if not isinstance(state(case), Warm):
        return None
    found = _of_hottest(case)
    return lasting(case, found, f"of {_which(case)}, the hottest; {_model(case)}", BAND)


def _of_hottest(case: Case) -> Spread:
    """Of all copper; where leads are the hottest, with what their model may be wrong by."""
    found, settled = _spread(case, _hottest), state(case)
    if not (isinstance(settled, Warm) and settled.leads >= found.value):
        return found
    rise = found.value - case.design.drive.ambient
    low, high = LEADS_ERROR
    return found.plus(**{"model of the leads": (low * rise, high * rise)})


def _hottest(found: object, number: int | None = None) -> float:
    """Of all windings or of one, degC; the ceiling where the board does not settle."""
    if not isinstance(found, Warm):
        return ceiling()
    return min(found.peak if number is None else float(found.hottest[number]), ceiling())


def _spread(case: Case, of: Callable[[object], float]) -> Spread:
    """With shifts from a coarser grid where that does: they hardly feel its error."""
    coarse = coarse_enough(case)
    usual = of(state(case, Made(coarse=coarse)))

    def shift(end: Made) -> float:
        return of(state(case, replace(end, coarse=coarse))) - usual

    shifts = {source: (shift(low), shift(high)) for source, low, high in _sources(case)}
    return Spread(of(state(case)), shifts)


def _sources(case: Case) -> Iterator[tuple[str, Made, Made]]:
    """Those of the band, each with the board at its low and at its high end."""
    tolerance = case.design.tolerance
    yield "convection", Made(air="hot"), Made(air="cool")
    if plate(case).bodies or plate(case).cores:
        yield "joints", Made(joints="cool"), Made(joints="hot")
    ends = [
        tuple(end / spread.value for end in spread.band)
        for spread in (each.case.spread("resistance_20c") for each in case.windings)
    ]
    yield (
        "copper's resistance",
        Made(copper=tuple(low for low, _ in ends)),
        Made(copper=tuple(high for _, high in ends)),
    )
    if tolerance.voltage and any(each.case.design.drive.voltage is not None for each in case.windings):
        yield "voltage", Made(voltage=1 - tolerance.voltage), Made(voltage=1 + tolerance.voltage)
    yield from _of_eddies(case)
    if tolerance.ambient:
        yield "ambient", Made(warmer=-tolerance.ambient), Made(warmer=tolerance.ambient)


def _of_eddies(case: Case) -> Iterator[tuple[str, Made, Made]]:
    """Of eddy currents in the copper, where they make more than a hundredth of the heat."""
    cold = tuple(float(each.case.value("resistance_20c")) for each in case.windings)
    found = eddies(case, cold)
    if (found.alone.sum(axis=1) > FEW * np.array(cold)).any():
        yield "model of impedance", Made(eddies=1 - RISE_ERROR), Made(eddies=1 + RISE_ERROR)
    if case.design.array is None and (np.abs(found.in_step).sum(axis=1) > FEW * np.array(cold)).any():
        yield "instants of the drives", Made(step=-1.0), Made()


def _windings(case: Case) -> Answer:
    """Every winding at its temperature; where it does not settle, what tells so."""
    found = state(case)
    if isinstance(found, Melts):
        return Answer(value=[], model=_model(case), cautions=_melts(case, found))
    if isinstance(found, LeadsMelt):
        return Answer(value=[], model=_model(case), cautions=_leads_melt(case))
    if not isinstance(found, Warm):
        return Answer(value=[], model=_model(case), cautions=_burns(case, found))
    table = []
    for number, each in enumerate(case.windings):
        spread = _spread(case, partial(_hottest, number=number))
        low, high = spread.band
        lasts = outlasts(case, spread.value)
        table.append(
            {
                "winding": each.name,
                "temperature": spread.value,
                "low": low if lasts else None,
                "high": min(high, ceiling()) if lasts else None,
                "resistance": float(found.resistance[number]),
                "current": float(found.current[number]),
                "power": float(found.power[number]),
            }
        )
    return Answer(
        value=table,
        model=f"hottest copper of each winding, {_model(case)}; power is the mean; {BAND}",
        cautions=(*_marked(case), *_hotter_leads(case, found), *_together(case), *_left_out(case, found)),
    )


def _burns(case: Case, found: "PlateRunaway") -> tuple[str, ...]:
    name = case.windings[found.winding].name
    return (
        f"{WARNING}No steady state: {name} heats up until it burns out, with danger of fire. This begins at "
        f"{found.factor:.3g} times all drives, at the latest; copper melts at {found.ceiling:.0f} °C.",
    )


def _melts(case: Case, found: Melts) -> tuple[str, ...]:
    name, period = case.windings[found.winding].name, readable(found.period, "s")
    return (f"{WARNING}The copper of {name} melts while its drive is on within one period of {period}.",)


def _leads_melt(case: Case) -> tuple[str, ...]:
    thinnest = min(step.width for lead in leads_of_several(case) for step in (*lead.near, *lead.far))
    return (
        f"{WARNING}Danger of fire: {_leads(case)} find no steady state under copper's melting point of "
        f"{ceiling():.0f} °C: they burn out; make them wider than {in_mm(thinnest)} (terminals.lead_width), "
        "or drive less.",
    )


def _marked(case: Case) -> Iterator[str]:
    """What the hottest copper passes, as expected and at the hot end of its band."""
    found = _of_hottest(case)
    low, high = found.band
    peak = Peak(low, found.value, high, f"the copper of {_which(case)}", outlasts(case, found.value))
    passed = [*marks_passed(case, peak), *own_limit(case, peak), *magnet_weakens(case, peak)]
    yield from passed
    yield from CARE if passed else ()


def _which(case: Case) -> str:
    """Where the hottest copper is."""
    found = state(case)
    assert isinstance(found, Warm)
    number = int(found.hottest.argmax())
    hottest = {
        case.windings[number].name: found.hottest[number],
        _leads(case): found.leads,
        _TRACKS: found.peak,
    }
    return max(hottest, key=lambda each: float(hottest[each]))


def _leads(case: Case) -> str:
    return "the leads" if case.coil.tail is None else "the leads in the tail"


def _hotter_leads(case: Case, found: Warm) -> Iterator[str]:
    led = leads_of_several(case)
    if led:
        thinnest = min(step.width for lead in led for step in (*lead.near, *lead.far))
        yield from thin_leads(min(found.leads, ceiling()), float(found.hottest.max()), thinnest)


def _together(case: Case) -> Iterator[str]:
    """Slow drives whose instants are not known to one another."""
    swinging = [each.name for each in slow(case)]
    if len(swinging) > 1:
        yield (
            f"The slow drives of {' and '.join(swinging)} are taken to switch on together: at other instants "
            "the copper peaks lower."
        )


def _left_out(case: Case, found: Warm) -> Iterator[str]:
    if not found.in_range:
        yield OUT_OF_RANGE
    yield from _without_eddies(case)


def _without_eddies(case: Case) -> Iterator[str]:
    """Metal in fields that change, whose own heat is not counted."""
    design = case.design
    kinds = (("cores", design.core), ("target", design.target), ("magnet", design.magnet))
    metal = [word for word, there in (*kinds, ("base plate", design.mounting.base_plate)) if there]
    changing = [each.name for each in case.windings if each.case.design.drive.waveform != "dc"]
    if metal and changing:
        yield (
            f"Eddy currents that the drives of {' and '.join(changing)} make in {' and '.join(metal)} are "
            "left out: their heat warms the board besides what is told."
        )


FIGURES = (
    Quantity(
        name="winding_temperatures",
        unit="table(winding, temperature degC, low degC, high degC, resistance ohm, current A, power W)",
        says="each winding once the board has settled",
        group="heat",
        compute=_windings,
        of="several",
    ),
)
