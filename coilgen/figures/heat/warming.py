"""How the coil warms after switching on: temperature against time, the thermal time constant, one pulse."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._made import EXPECTED, Made
from coilgen.figures.heat._sources import ends, solved
from coilgen.figures.heat._spreads import capped, settles, spread
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_ROWS = 60
_STRAIGHT = 0.04
"""Of a sawtooth's whole height: steps between its rows."""
_SLOWEST = 3


def _time_constant(case: Case) -> Answer | None:
    if _heat.steady(case) is None:
        return None
    return spread_answer(
        _banded(case, _time_to_share(case, 1 - math.exp(-1))),
        "time after which the winding's mean temperature has made 63 % of its whole rise from cold, by "
        f"the transient of the steady state's model; {_heat.BAND}, as far as it changes the slowest of "
        "thermal_time_constants",
    )


def _banded(case: Case, value: float) -> Spread:
    """With what the tolerances change in the slowest time constant of small changes; alone if it may burn."""
    if not settles(case):
        return Spread(value)
    slowest = spread(case, lambda made: _slowest(case, made))
    share = value / slowest.value
    return Spread(
        value, {source: (low * share, high * share) for source, (low, high) in slowest.shifts.items()}
    )


def _slowest(case: Case, made: Made) -> float:
    """Time constant of small changes about the settled state, s."""
    if made == EXPECTED:
        return float(_constants(case)[0])
    return solved(case, made, ends(case), _slowest_of)


def _slowest_of(case: Case, coils: Sequence[Made]) -> list[float]:
    from coilgen.physics.heat.network import together
    from coilgen.physics.heat.steady import Steady
    from coilgen.physics.heat.transient import slowest_time_constants

    states = [state for made in coils if isinstance(state := _heat.settled(case, made), Steady)]
    supplies = [_heat.supply(case, made=made) for made in coils]
    nets = together([_heat.net(case, made) for made in coils])
    found: list[float] = slowest_time_constants(
        nets, np.array([each.rise for each in states]), supplies
    ).tolist()
    return found


def _constants(case: Case) -> Floats:
    """Of small changes about the settled state, the longest first, s."""
    from coilgen.physics.heat.transient import time_constants

    state = _heat.steady(case)
    assert state is not None
    return case.once(
        "heat time constants", lambda: time_constants(_heat.net(case), state.rise, _heat.supply(case))
    )


def _time_constants(case: Case) -> Answer | None:
    """The slow ones; the rest even out within a layer of copper."""
    if _heat.steady(case) is None:
        return None
    return Answer(
        value=[
            {"mode": number, "time_constant": float(each)}
            for number, each in enumerate(_constants(case)[:_SLOWEST], start=1)
        ],
        model="of small changes about the steady state, from the slopes of the same model: the first is the "
        "whole warming against the air, the next are differences between its parts evening out",
    )


def _time_to_share(case: Case, share: float) -> float:
    from coilgen.physics.heat.transient import time_to_share

    return time_to_share(_heat.net(case), _heat.history(case), share)


def _against_time(case: Case) -> Answer:
    return _tooth_by_tooth(case) if _heat.swings(case) else _smooth(case)


def _smooth(case: Case) -> Answer:
    """Rows stand closer at the beginning, where the copper warms faster than what it is mounted on."""
    from coilgen.physics.heat.transient import rises_at

    history, net = _heat.history(case), _heat.net(case)
    time = _heat.span_shown(case) * np.linspace(0, 1, _ROWS + 1) ** 2
    hottest = rises_at(history, time)[:, net.coil].max(axis=1) + case.design.drive.ambient
    return Answer(
        value=_rows(time, hottest),
        model=f"hottest copper from switching on to {_until(case)}; stiff integration of the steady state's "
        f"model{_heat.mean_power(case)}",
    )


def _until(case: Case) -> str:
    if _heat.steady(case) is not None:
        return "five time constants"
    return "copper's melting point, as there is no steady state"


def _rows(time: Floats, temperature: Floats) -> list[dict[str, float]]:
    return [{"time": float(t), "temperature": float(c)} for t, c in zip(time, temperature, strict=True)]


def _tooth_by_tooth(case: Case) -> Answer:
    teeth = _heat.teeth(case)
    kept = _corners(teeth.peak)
    drawn = "each period" if teeth.every == 1 else f"of {teeth.every} periods one, from its begin to its peak"
    return Answer(
        value=_rows(teeth.time[kept], teeth.peak[kept]),
        model=f"hottest copper from switching on to {_until(case)} of the mean, {drawn}; stiff integration "
        "of the steady state's model",
    )


def _corners(peak: Floats) -> Indices:
    """Rows that are kept of a sawtooth: its tips, and between them what is a share of its height apart."""
    kept, near = [0], _STRAIGHT * float(np.ptp(peak))
    for at in range(1, len(peak) - 1):
        tip = (peak[at] - peak[kept[-1]]) * (peak[at + 1] - peak[at]) <= 0
        if tip or abs(peak[at] - peak[kept[-1]]) > near:
            kept.append(at)
    return np.array([*kept, len(peak) - 1])


def _pulse(case: Case) -> Answer:
    pulse, told = case.design.drive.pulse, case.design.drive.pulsed
    melted = _heat.after_pulse(case)[1]
    found = spread(case, lambda made: _heat.after_pulse(case, made)[0])
    answer = capped(
        found,
        f"hottest copper at the end of one pulse of {pulse:g} s (drive.pulse) from cold"
        + (", where it would melt before" if melted else "")
        + f"; {_heat.BAND}",
    )
    says = f"hottest copper after one pulse of {pulse:g} s from cold"
    return replace(answer, key=told, says=says)


FIGURES = (
    Quantity(
        name="thermal_time_constant",
        unit="s",
        says="time in which the coil warms by 63 % of its whole rise",
        group="heat",
        compute=_time_constant,
    ),
    Quantity(
        name="thermal_time_constants",
        unit="table(mode, time_constant s)",
        says="the slowest time constants of the coil and what it is mounted on",
        group="heat",
        compute=_time_constants,
    ),
    Quantity(
        name="temperature_against_time",
        unit="table(time s, temperature degC)",
        says="hottest copper from switching on",
        group="heat",
        compute=_against_time,
    ),
    Quantity(
        name="pulse_temperature",
        unit="degC",
        says="hottest copper after one pulse from cold",
        group="heat",
        compute=_pulse,
    ),
)
