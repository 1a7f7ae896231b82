"""How much current, voltage, pulse and duty the limits of temperature allow."""

import math
from typing import Any

from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._cautions import cautions
from coilgen.figures.heat._limits import (
    continuous,
    duty,
    lasting,
    limits,
    longest_pulse,
    pulse_current,
)
from coilgen.figures.heat._spreads import peaks, spread
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.units import readable


def _limits(case: Case) -> Answer:
    return Answer(
        value=[_row(case, limit.name, limit.temperature) for limit in limits(case)],
        model=f"largest_current and largest_voltage: lasting, {_lasting_as(case)}; pulse_current: "
        f"of one pulse of {case.design.drive.pulse:g} s (drive.pulse) from cold; duty: of the drive, "
        f"switched {_switched(case)}; time_to_reach: from switching on{_heat.mean_power(case)}; all of the "
        "hottest copper",
        cautions=cautions(case),
    )


def _row(case: Case, name: str, limit: float) -> dict[str, Any]:
    current, voltage = continuous(case, limit)
    return {
        "limit": name,
        "temperature": limit,
        "reached": _reached(case, limit),
        "time_to_reach": _time_to_reach(case, limit),
        "largest_current": current,
        "largest_voltage": voltage,
        "pulse_current": pulse_current(case, limit),
        "duty": None if _is_too_far(case, limit) else duty(case, limit),
    }


def _is_too_far(case: Case, limit: float) -> bool:
    """Whether the duty of a slow drive, which takes a search, is for a limit that no design aims at."""
    return limit > lasting(case).temperature and _heat.swings(case)


def _reached(case: Case, limit: float) -> str:
    _, middle, high = peaks(case)
    if middle >= limit:
        return "yes"
    return "within the band" if high >= limit else "no"


def _time_to_reach(case: Case, limit: float) -> float | None:
    """From switching on, s; None where it is not reached."""
    from coilgen.physics.heat.transient import time_to_reach

    if _heat.peak(_heat.hottest(case)) < limit:
        return None
    if _heat.swings(case):
        time = _heat.teeth(case).time_to_reach(limit)
    else:
        time = time_to_reach(_heat.net(case), _heat.history(case), limit)
    return time if math.isfinite(time) else None


def _switched(case: Case) -> str:
    return "at its frequency" if _heat.swings(case) else "fast against the coil's warming"


def _lasting_as(case: Case) -> str:
    """What a lasting current is told as: a sine that the copper follows is hotter than its mean square."""
    if case.design.drive.waveform == "sine":
        return "root mean square at the drive's frequency"
    return "direct" if _heat.swings(case) else "direct or root mean square"


def _continuous(case: Case, quantity: int, what: str) -> Answer:
    """Largest current (0) or voltage (1)."""
    limit = lasting(case)
    return spread_answer(
        spread(case, lambda made: continuous(case, limit.temperature, made)[quantity]),
        f"lasting {_kind(case)} {what} that holds the hottest copper at {limit.temperature:g} degC "
        f"({limit.name}){_swinging(case)}; {_heat.BAND}",
    )


def _swinging(case: Case) -> str:
    """How much hotter than by its mean heat the copper peaks within a slow sine's period."""
    if case.values_only or case.design.drive.waveform != "sine" or not _heat.swings(case):
        return ""
    state = _heat.at_hottest(case)
    if state is None:
        return ""
    over = state.coil_peak - _heat.mean_peak(case)
    return (
        f" by the mean heat of a period; at the drive's level its peaks are {over:.0f} K hotter than the mean"
    )


def _kind(case: Case) -> str:
    """Of current and voltage."""
    drive = case.design.drive
    if drive.waveform != "sine":
        return "direct"
    return f"root mean square of a sine of {readable(drive.frequency or 0.0, 'Hz')},"


def _largest_current(case: Case) -> Answer:
    return _continuous(case, 0, "current")


def _largest_voltage(case: Case) -> Answer:
    return _continuous(case, 1, "voltage")


def _duty(case: Case) -> Answer | None:
    limit = lasting(case)
    if duty(case, limit.temperature) is None:
        return None
    return spread_answer(
        spread(case, lambda made: duty(case, limit.temperature, made) or 0.0),
        f"keeps the hottest copper to {limit.temperature:g} degC ({limit.name}), switched "
        f"{_switched(case)}; 1: it may stay on; {_heat.BAND}",
    )


def _pulse(case: Case) -> Answer | None:
    """None where the coil may stay on for good."""
    limit = lasting(case)
    if case.design.drive.ambient >= limit.temperature:
        return Answer(value=0.0, model=f"the air is as hot as {limit.temperature:g} degC ({limit.name})")
    if not math.isfinite(longest_pulse(case, limit.temperature)):
        return None
    return spread_answer(
        spread(case, lambda made: min(longest_pulse(case, limit.temperature, made), _heat.LONGEST)),
        f"of the drive while it is on, from cold to {limit.temperature:g} degC ({limit.name}); "
        f"{_heat.BAND}; {_heat.LONGEST:g} s: for good",
    )


def _pulse_current(case: Case) -> Answer:
    limit, pulse = lasting(case), case.design.drive.pulse
    return spread_answer(
        spread(case, lambda made: pulse_current(case, limit.temperature, made)),
        f"constant current that leads to {limit.temperature:g} degC ({limit.name}) at the end of one "
        f"pulse of {pulse:g} s (drive.pulse) from cold; {_heat.BAND}",
    )


FIGURES = (
    Quantity(
        name="largest_current",
        unit="A",
        says="largest current that may flow for good",
        group="heat",
        compute=_largest_current,
    ),
    Quantity(
        name="largest_voltage",
        unit="V",
        says="largest voltage that may stay on for good",
        group="heat",
        compute=_largest_voltage,
    ),
    Quantity(
        name="duty_limit",
        unit="1",
        says="largest share of the time that the drive may be on",
        group="heat",
        compute=_duty,
    ),
    Quantity(
        name="pulse_limit",
        unit="s",
        says="longest single pulse of the drive from cold",
        group="heat",
        compute=_pulse,
    ),
    Quantity(
        name="largest_pulse_current",
        unit="A",
        says="largest current of a single pulse from cold",
        group="heat",
        compute=_pulse_current,
    ),
    Quantity(
        name="temperature_limits",
        unit="table(limit, temperature degC, reached, time_to_reach s, largest_current A, "
        "largest_voltage V, pulse_current A, duty 1)",
        says="what each limit of temperature allows",
        group="heat",
        compute=_limits,
    ),
)
