"""How the coil warms after switching on: temperature against time, the thermal time constant, one pulse."""

import math

import numpy as np

from coilgen.figures.heat import _warmth as _heat
from coilgen.result.figure import Answer, Case, Quantity

_SETTLED = 1 - math.exp(-5)
"""Share of the rise after five time constants of a body of one temperature."""
_ROWS = 60
_SLOWEST = 3


def _time_constant(case: Case) -> Answer | None:
    if _heat.steady(case) is None:
        return None
    return Answer(
        value=_time_to_share(case, 1 - math.exp(-1)),
        model="time after which the winding's mean temperature has made 63 % of its whole rise from cold, by "
        "the transient of the steady state's model",
    )


def _time_constants(case: Case) -> Answer | None:
    """The slow ones; the rest even out within a layer of copper."""
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.transient import time_constants

    state = _heat.steady(case)
    if state is None:
        return None
    sine = case.design.drive.waveform == "sine"
    driven = Supply(current=state.current) if sine else _heat.supply(case)
    slowest = time_constants(_heat.net(case), state.rise, driven)[:_SLOWEST]
    return Answer(
        value=[
            {"mode": number, "time_constant": float(each)} for number, each in enumerate(slowest, start=1)
        ],
        model="of small changes about the steady state, from the slopes of the same model: the first is the "
        "whole warming against the air, the next are differences between its parts evening out",
    )


def _time_to_share(case: Case, share: float) -> float:
    from coilgen.physics.heat.transient import time_to_share

    return time_to_share(_heat.net(case), _heat.history(case), share)


def _against_time(case: Case) -> Answer:
    """Rows stand closer at the beginning, where the copper warms faster than what it is mounted on."""
    from coilgen.physics.heat.transient import rises_at, time_to_reach

    history, net = _heat.history(case), _heat.net(case)
    settles = _heat.steady(case) is not None
    span = _time_to_share(case, _SETTLED) if settles else time_to_reach(net, history, _heat.ceiling())
    time = span * np.linspace(0, 1, _ROWS + 1) ** 2
    hottest = rises_at(history, time)[:, net.coil].max(axis=1) + case.design.drive.ambient
    until = "five time constants" if settles else "copper's melting point, as there is no steady state"
    return Answer(
        value=[{"time": float(t), "temperature": float(c)} for t, c in zip(time, hottest, strict=True)],
        model=f"hottest copper from switching on to {until}; stiff integration of the steady state's model"
        f"{_heat.mean_power(case)}",
    )


def _pulse(case: Case) -> Answer:
    pulse = case.design.drive.pulse
    peak, melted = _heat.after_pulse(case)
    return Answer(
        value=peak,
        model=f"hottest copper at the end of one pulse of {pulse:g} s (drive.pulse) from cold"
        + (", where it would melt before" if melted else ""),
    )


def _cycle(case: Case) -> Answer | None:
    from coilgen.physics.heat.pulse import Periodic

    found = _heat.repeated(case)
    if not isinstance(found, Periodic):
        return None
    return Answer(
        value=found.peak,
        model="hottest copper at the end of each on time once the periods repeat, "
        f"falling to {found.lowest:.1f} degC in between",
    )


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
    Quantity(
        name="cycle_temperature",
        unit="degC",
        says="hottest copper within a slow square drive's period",
        group="heat",
        compute=_cycle,
    ),
)
