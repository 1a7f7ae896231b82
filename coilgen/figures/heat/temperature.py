"""The coil once it has settled under its drive: temperature, hot resistance, current and power."""

import itertools
import math
from typing import TYPE_CHECKING

from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._assembly import ENDS, stuck_magnet, told
from coilgen.result.figure import Answer, Case, Quantity

if TYPE_CHECKING:
    from coilgen.physics.heat.steady import Steady

_COUNTED = (
    "rings of copper and laminate with what is mounted on them, convection in still air (or as told) and "
    "radiation; copper's resistance follows its temperature"
)


_FAB = "the band adds the fab's tolerance"


def _drive(case: Case) -> str:
    """How the drive counts."""
    drive = case.design.drive
    if _heat.swings(case):
        return f"the drive's own periods, once they repeat: the peak{_heat.moment(case)}"
    if drive.waveform == "square":
        return f"mean power at a duty of {drive.duty:g}, the current following at once"
    if drive.waveform == "sine":
        return "root mean square, direct-current resistance"
    return "direct current"


def _temperature(case: Case) -> Answer | None:
    if _heat.at_hottest(case) is None:
        return None
    found = _heat.hottest(case)
    return Answer(
        value=_heat.peak(found.typical),
        model=f"settled: {_COUNTED}{told(case)}; {_drive(case)}; {_heat.BAND}",
        band=(_heat.peak(found.cool), _heat.peak(found.hot)),
    )


def _mean_temperature(case: Case) -> Answer | None:
    """Of a drive with a period."""
    if case.design.drive.frequency is None or _heat.at_hottest(case) is None:
        return None
    each = {end: _heat.mean_peak(case, end) for end in ENDS}
    within = "between its peaks" if _heat.swings(case) else "as the periods are too short for it to swing"
    return Answer(
        value=each["typical"],
        model=f"of temperature's model, mean over a period, {within}; {_heat.BAND}",
        band=(min(each.values()), max(each.values())),
    )


def _ends(case: Case) -> "tuple[Steady, Steady] | None":
    """The settled coil at both ends of the band; None where the hot end does not settle."""
    from coilgen.physics.heat.steady import Steady

    found = _heat.hottest(case)
    if isinstance(found.cool, Steady) and isinstance(found.hot, Steady):
        return found.cool, found.hot
    return None


def _spread(case: Case) -> tuple[float, float]:
    """Least and largest resistance that the fab may make, over the expected one."""
    cold = case.figure("resistance_20c")
    assert cold is not None
    low, high = cold.band or (cold.value, cold.value)
    return low / cold.value, high / cold.value


def _resistance(case: Case) -> Answer | None:
    state, ends, spread = _heat.at_hottest(case), _ends(case), _spread(case)
    if state is None:
        return None
    band = None if ends is None else (ends[0].resistance * spread[0], ends[1].resistance * spread[1])
    return Answer(
        value=state.resistance,
        model=f"resistance at 20 degC brought to each turn's settled temperature{_heat.moment(case)}; {_FAB}",
        band=band,
    )


def _corners(case: Case) -> list[tuple[float, float]]:
    """Currents A and powers W over the band of temperature and the fab's tolerance; none without a hot end.

    The expected ones among them: a sine's power is greatest where resistance and reactance are alike.
    """
    state, ends = _heat.at_hottest(case), _ends(case)
    if state is None or ends is None:
        return []
    corners = itertools.product((*ends, state), (*_spread(case), 1.0))
    return [_driven(case, each, made) for each, made in corners]


def _driven(case: Case, state: "Steady", made: float) -> tuple[float, float]:
    """Current and power of a coil whose resistance is `made` times the expected; a sine's reactance stays."""
    drive, resistance, reactance = case.design.drive, state.resistance * made, 0.0
    if drive.waveform == "sine" and drive.voltage is not None:
        reactance = math.sqrt(max(0.0, (drive.voltage / state.current) ** 2 - state.resistance**2))
    current = drive.through(resistance, reactance)
    return current, current**2 * resistance


def _over(values: list[float]) -> tuple[float, float] | None:
    return (min(values), max(values)) if values else None


def _current(case: Case) -> Answer | None:
    state = _heat.at_hottest(case)
    if state is None:
        return None
    if case.design.drive.current is not None:
        return Answer(value=state.current, model="as the design file gives it")
    reactance = " with the winding's reactance" if case.design.drive.waveform == "sine" else ""
    if case.design.drive.gives_in(state.resistance):
        return Answer(
            value=state.current,
            model=f"held by the supply at its limit{_heat.moment(case)}; {_FAB}",
            band=_over([current for current, _ in _corners(case)]),
        )
    return Answer(
        value=state.current,
        model=f"voltage over the hot resistance{reactance}{_heat.moment(case)}; {_FAB}",
        band=_over([current for current, _ in _corners(case)]),
    )


def _power(case: Case) -> Answer | None:
    state = _heat.at_hottest(case)
    if state is None:
        return None
    return Answer(
        value=state.current**2 * state.resistance,
        model=f"hot current squared times hot resistance{_heat.moment(case)}; {_FAB}",
        band=_over([power for _, power in _corners(case)]),
    )


def _bodies(case: Case) -> Answer | None:
    state, ends = _heat.at_hottest(case), _ends(case)
    if state is None:
        return None
    found = _read(case, state)
    low, high = ({}, {}) if ends is None else (_read(case, ends[0]), _read(case, ends[1]))
    return Answer(
        value=[
            {"body": body, "temperature": value, "low": low.get(body), "high": high.get(body)}
            for body, value in found.items()
        ],
        model=f"of temperature's state{_heat.moment(case)}; bodies by their mean, weighted by heat capacity",
    )


def _read(case: Case, state: "Steady") -> dict[str, float]:
    return {
        "hottest copper": state.coil_peak,
        "copper, mean": state.coil_mean,
        **{_body(case, part): value for part, value in state.part_mean.items()},
    }


def _body(case: Case, part: str) -> str:
    base = case.design.mounting.base_plate
    if part == "core":
        return "core in the pocket"
    if part == "board":
        return part
    if base is not None and base.place == part:
        return "base plate"
    return "magnet" if stuck_magnet(case, part) is not None else f"core on the {part}"


FIGURES = (
    Quantity(
        name="temperature",
        unit="degC",
        says="hottest copper once the drive has settled, peaks within its period included",
        group="heat",
        compute=_temperature,
    ),
    Quantity(
        name="mean_temperature",
        unit="degC",
        says="hottest copper once the drive has settled, mean over its period",
        group="heat",
        compute=_mean_temperature,
    ),
    Quantity(
        name="hot_resistance",
        unit="ohm",
        says="resistance between the terminals once the coil has settled",
        group="heat",
        compute=_resistance,
    ),
    Quantity(
        name="hot_current",
        unit="A",
        says="current while the drive is on, once the coil has settled",
        group="heat",
        compute=_current,
    ),
    Quantity(
        name="hot_power",
        unit="W",
        says="power while the drive is on, once the coil has settled",
        group="heat",
        compute=_power,
    ),
    Quantity(
        name="body_temperatures",
        unit="table(body, temperature degC, low degC, high degC)",
        says="temperatures of copper, board and what is mounted on it",
        group="heat",
        compute=_bodies,
    ),
)
