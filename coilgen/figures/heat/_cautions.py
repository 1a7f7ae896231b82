"""What the temperatures caution against, each sentence raised by a number."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from coilgen.design.bodies import Magnet
from coilgen.figures.heat import _eddies
from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._leads import runs
from coilgen.figures.heat._limits import OWN, charring, marks, material_marks, outlasts
from coilgen.figures.heat._spreads import peaks, unsettled
from coilgen.frozen import dataclass
from coilgen.result.caution import WARNING
from coilgen.result.figure import Case
from coilgen.units import in_mm, per_cent, readable

_WARM = 5.0
"""K over the air, from which on a correlation's range matters."""
OUT_OF_RANGE = (
    "The board is so small or so large that the formulas of convection are used outside their range: "
    "temperatures may lie outside their band."
)
_ADHESIVE_CONDUCTIVITY = 0.2
"""W/(m K), of adhesives and tapes, or more than that of any air (common practice, no source)."""


@dataclass(frozen=True)
class Peak:
    """The hottest copper, degC: low end of its band, as expected, high end; which copper it is, and whether
    the board outlasts it."""

    low: float
    middle: float
    high: float
    copper: str = "the copper"
    lasts: bool = True

    @property
    def told(self) -> str:
        """In words."""
        if not self.lasts:
            return f"{self.copper} would reach {self.middle:.0f} °C, if the board lasted"
        end = f"{self.high:.0f} °C" if self.high < _heat.ceiling() else "burning out"
        return f"{self.copper} reaches {self.middle:.0f} °C ({self.low:.0f} to {end} by the model's band)"


def cautions(case: Case) -> tuple[str, ...]:
    """Sentences for the report, the gravest first."""
    hot = (*_unsteady(case), *(_marked(case) if _heat.at_hottest(case) else ()))
    return (*hot, *_hotter_leads(case), *_out_of_range(case), *_joints(case), *(CARE if hot else ()))


CARE = (
    "Temperatures are estimates: measure the first sample with a current-limited supply and a thermocouple; "
    "shiny copper misleads an infrared thermometer.",
    "Where a coil gets hot near people or things that burn, local codes and licensed practice come first.",
)


def _unsteady(case: Case) -> Iterator[str]:
    from coilgen.physics.heat.steady import NoSteadyState

    found, drive = _heat.settled(case), case.design.drive
    if isinstance(found, NoSteadyState):
        yield (
            f"{WARNING}No steady state at {_asked(case)}: the coil heats up until it burns out, with danger "
            f"of fire. This begins at {_begins(case, found)}, at the latest; copper melts at "
            f"{found.ceiling:.0f} °C."
        )
    elif isinstance(_heat.hottest(case), NoSteadyState):
        period = readable(1 / (drive.frequency or 1.0), "s")
        yield f"{WARNING}The copper melts while the drive is on within one period of {period}."
    elif lost := unsettled(case):
        begins = _begins(case, _heat.hottest(case, lost[0]))
        yield (
            f"{WARNING}There may be no steady state at {_asked(case)}: at the hot end of its band the coil "
            f"burns out from {begins} on."
        )


def _hotter_leads(case: Case) -> Iterator[str]:
    state = _heat.at_hottest(case)
    found = None if state is None else _heat.leads_and_winding(case, state)
    if found is not None:
        yield from thin_leads(*found, min(step.width for run in runs(case) for step in run))


def thin_leads(leads: float, wound: float, thinnest: float) -> Iterator[str]:
    """Leads that are hotter than the hottest turns, both degC, and so limit the current; thinnest: m."""
    if leads > wound + _WARM:
        yield (
            f"The leads are the hottest copper, {leads:.0f} °C where the turns have {wound:.0f} °C, and "
            f"limit the current: make them wider than {in_mm(thinnest)} (terminals.lead_width), or shorter."
        )


def _asked(case: Case) -> str:
    drive = case.design.drive
    level = readable(drive.voltage, "V") if drive.voltage is not None else readable(drive.current or 0.0, "A")
    return f"{level}, on for {per_cent(drive.duty)} of the time" if drive.duty else level


def _begins(case: Case, state: Any) -> str:
    by_voltage = case.design.drive.voltage is not None and case.design.drive.waveform != "sine"
    return readable(state.voltage, "V") if by_voltage else readable(state.current, "A")


def _marked(case: Case) -> Iterator[str]:
    """What the settled temperature passes."""
    low, middle, high = peaks(case)
    found = Peak(low, middle, high, _which(case), outlasts(case, middle))
    yield from marks_passed(case, found)
    yield from own_limit(case, found)
    yield from _magnet(case, found)


def _which(case: Case) -> str:
    """Copper that is the hottest."""
    state = _heat.at_hottest(case)
    found = None if state is None else _heat.leads_and_winding(case, state)
    return "the copper" if found is None or found[0] <= found[1] else "the copper of the leads"


def marks_passed(case: Case, found: Peak) -> Iterator[str]:
    """The marks of touch, of this board and of fire that the hottest copper passes, or may pass."""
    yield from _passed(found, marks("touch"), "Hot to touch")
    yield from _passed(found, (*material_marks(case), *charring(case)), "Too hot for this board", WARNING)
    yield from _passed(found, marks("fire"), "Danger of fire", WARNING)


def _passed(
    found: Peak, rising: Iterable[tuple[str, Mapping[str, Any]]], danger: str, perhaps: str = ""
) -> Iterator[str]:
    """The highest mark that the hottest copper passes, and that which the hot end of its band does.

    perhaps: how the latter begins.
    """
    reached = [row for _, row in rising if row["temperature"] <= found.high]
    passed = [row for row in reached if row["temperature"] <= found.middle]
    for row in passed[-1:]:
        yield f"{WARNING}{danger}: {found.told}. {_mark(row)}."
    for row in reached[-1:] if len(reached) > len(passed) else ():
        yield f"{perhaps}{danger}, perhaps: {found.told}. {_mark(row)}."


def _mark(row: Mapping[str, Any]) -> str:
    return f"At {row['temperature']:g} °C: {str(row['says']).replace('degC', '°C')}"


def own_limit(case: Case, found: Peak) -> Iterator[str]:
    """The designer's own limit that the hottest copper passes, or may pass."""
    own = case.design.mounting.limit_temperature
    if own is not None and own <= found.high:
        word = "passes" if own <= found.middle else "may pass"
        yield f"{WARNING if own <= found.middle else ''}The copper {word} {OWN}, {own:g} °C: {found.told}."


def _magnet(case: Case, found: Peak) -> Iterator[str]:
    magnet = case.design.magnet
    own = _eddies.loose_temperatures(case, _current(case)).get("the magnet", 0.0)
    if magnet is not None and own > found.middle:
        yield from _own_heat(magnet, own)
        return
    yield from magnet_weakens(case, found)


def magnet_weakens(case: Case, found: Peak) -> Iterator[str]:
    """What the hottest copper does to a magnet at it."""
    magnet, middle, high = case.design.magnet, found.middle, found.high
    if magnet is None or float(magnet.row["largest_temperature"]) > high:
        return
    bears = float(magnet.row["largest_temperature"])
    says = "The magnet weakens" if bears <= middle else "The magnet may weaken"
    yield (
        f"{WARNING}{says} for good where it touches the coil or stands close over it: its grade, "
        f"{magnet.grade or 'taken as N42'}, bears {bears:g} °C; {found.told}."
    )


def _current(case: Case) -> float:
    state = _heat.at_hottest(case)
    return 0.0 if state is None else state.current


def _own_heat(magnet: Magnet, temperature: float) -> Iterator[str]:
    """A magnet that its eddy currents make hotter than the copper."""
    bears = float(magnet.row["largest_temperature"])
    if bears <= temperature:
        yield (
            f"{WARNING}The magnet weakens for good: eddy currents heat it to {temperature:.0f} °C, and its "
            f"grade, {magnet.grade or 'taken as N42'}, bears {bears:g} °C."
        )


def _out_of_range(case: Case) -> Iterator[str]:
    state = _heat.steady(case)
    if state is not None and not state.in_range and state.coil_peak - case.design.drive.ambient > _WARM:
        yield OUT_OF_RANGE


def _joints(case: Case) -> Iterator[str]:
    """Cores whose gap is far thicker than the joint that their heat is reckoned with."""
    for number, core in enumerate(case.design.core, start=1):
        most = case.design.mounting.contact_band(core.contact)[-1]
        if core.gap is not None and core.gap / _ADHESIVE_CONDUCTIVITY > 2 * most:
            yield (
                f"Core {number} stands {in_mm(core.gap)} off, farther than its joint for heat, "
                f"{core.contact or _mounted(case)}, tells; set its contact to what fills the gap, or to "
                "air-gap."
            )


def _mounted(case: Case) -> str:
    mounting = case.design.mounting
    return "mounting.contact_resistance" if mounting.contact_resistance else mounting.contact
