"""The coil's heat under its drive: networks, steady states and the warming that several figures share."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilgen.catalogue import rows
from coilgen.figures.drive._drive_circuit import reactance
from coilgen.figures.heat._assembly import ENDS, End, assembly
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.network import Network
    from coilgen.physics.heat.pulse import Periodic
    from coilgen.physics.heat.steady import NoSteadyState, Steady
    from coilgen.physics.heat.transient import History

BAND = "the band is that of convection, from dead still air to a slight draught, and of the joints"
"""What figures say of their band; how wide it is stands in data/convection.toml."""
_SLIGHT_REACTANCE = 0.01
"""Of the resistance; less changes the current by under 1e-4."""
_SWING = 0.5
"""K, within a period, from which on the mean power does not tell all."""
_CONSTANTS = 12.0
"""Of the slowest time constants after which the coil counts as settled, to 1e-5 of its rise."""
_FINE = 1e-3
"""Of the whole rise: largest error of a step where that is small."""
LONGEST = 1e7
"""s."""


@dataclass(frozen=True, kw_only=True)
class Settled:
    """Where the coil settles under its drive: at the cool end of the band, as expected, at the hot end."""

    cool: "Steady | NoSteadyState"
    typical: "Steady | NoSteadyState"
    hot: "Steady | NoSteadyState"


def ceiling() -> float:
    """Temperature over which no steady state counts: copper melts, degC."""
    return float(str(rows("temperature_limits")["copper"]["temperature"]))


def net(case: Case, end: End = "typical") -> "Network":
    """The design's network of heat at an end of its band."""
    from coilgen.physics.heat.network import network

    return case.once(f"heat network {end}", lambda: network(assembly(case, end)))


def supply(case: Case, *, on_share: float | None = None) -> "Supply":
    """The drive as the heat model takes it; on for the drive's duty unless told otherwise.

    A sine is told by its root mean square; what its voltage drives is that of `settled`.
    """
    from coilgen.physics.heat.body import Supply

    drive = case.design.drive
    share = (drive.duty or 1.0) if on_share is None else on_share
    return Supply(voltage=drive.voltage, current=drive.current, on_share=share)


def settled(case: Case) -> Settled:
    """The steady states under the drive's mean power, with the band of joints and convection."""
    return case.once("heat settled", lambda: Settled(**{end: _state(case, net(case, end)) for end in ENDS}))


def steady(case: Case) -> "Steady | None":
    """The steady state as expected; None when there is none."""
    from coilgen.physics.heat.steady import Steady

    found = settled(case).typical
    return found if isinstance(found, Steady) else None


def peak(state: "Steady | NoSteadyState") -> float:
    """Hottest copper, degC; the ceiling where there is no steady state under it."""
    from coilgen.physics.heat.steady import Steady

    return state.coil_peak if isinstance(state, Steady) else state.ceiling


def level(case: Case, *, on_share: float | None = 1.0) -> "Supply":
    """The drive for transients, while it is on or with its duty (None).

    A sine counts as the voltage across the hot coil's resistance.
    """
    from coilgen.physics.heat.body import Supply

    drive, state = case.design.drive, steady(case)
    if drive.waveform == "sine" and drive.voltage is not None and state is not None:
        return Supply(voltage=state.voltage)
    return supply(case, on_share=on_share)


def mean_power(case: Case) -> str:
    """How a history counts a square drive, for the figures' models."""
    return ", under the mean power of the periods" if case.design.drive.waveform == "square" else ""


def history(case: Case) -> "History":
    """Warming from switching on under the drive's mean power, until it has settled or melts."""
    return case.once("heat history", lambda: _history(case))


def _history(case: Case) -> "History":
    from coilgen.physics.heat.transient import TOLERANCE, time_constants, warming

    on, drive, state = net(case), level(case, on_share=None), steady(case)
    if state is None:
        return warming(on, drive, LONGEST, stop_at=ceiling())
    until = _CONSTANTS * float(time_constants(on, state.rise, drive)[0])
    fine = min(TOLERANCE, _FINE * float(state.rise.max()))
    return warming(on, drive, min(until, LONGEST), tolerance=fine, stop_at=ceiling())


def repeated(case: Case) -> "Periodic | NoSteadyState | None":
    """The repeating state of a square drive slow enough for the copper to swing; None for the rest."""
    return case.once("heat repeated", lambda: _repeated(case))


def swings(case: Case) -> bool:
    """Whether a square drive's period is long enough for the copper to follow it."""
    return case.once("heat swings", lambda: _swings(case))


def _swings(case: Case) -> bool:
    from coilgen.physics.heat.transient import warming

    drive = case.design.drive
    if drive.waveform != "square" or drive.frequency is None or drive.duty is None:
        return False
    once = warming(net(case), level(case), drive.duty / drive.frequency, stop_at=ceiling())
    return float(once.coil_peak[-1] - once.coil_peak[0]) > _SWING


def _repeated(case: Case) -> "Periodic | NoSteadyState | None":
    from coilgen.physics.heat.pulse import periodic_state

    drive = case.design.drive
    if not swings(case) or drive.frequency is None or drive.duty is None:
        return None
    return periodic_state(net(case), level(case), drive.frequency, drive.duty, ceiling())


def after_pulse(case: Case) -> tuple[float, bool]:
    """Hottest copper after one pulse from cold, degC, and whether it melts before the pulse ends."""
    from coilgen.physics.heat.transient import warming

    pulse = warming(net(case), level(case), case.design.drive.pulse, stop_at=ceiling())
    return min(float(pulse.coil_peak.max()), ceiling()), pulse.melted


def _state(case: Case, on: "Network") -> "Steady | NoSteadyState":
    from coilgen.physics.heat.steady import steady_state

    forced = case.design.drive.voltage is None
    if forced or reactance(case) < _SLIGHT_REACTANCE * float(case.value("resistance_20c")):
        return steady_state(on, supply(case), ceiling())
    return _with_reactance(case, on)


def _with_reactance(case: Case, on: "Network") -> "Steady | NoSteadyState":
    """A sine's voltage divides between resistance and reactance: the hot resistance that agrees is sought."""
    from coilgen.physics.base.bracketed_root import root_between
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.steady import Steady, state_at_peak, steady_state

    voltage, reactive = case.design.drive.voltage, reactance(case)
    assert voltage is not None
    most = state_at_peak(on, ceiling()).resistance

    def state(resistance: float) -> "Steady | NoSteadyState":
        across = voltage * resistance / math.hypot(resistance, reactive)
        return steady_state(on, Supply(voltage=across), ceiling())

    def excess(resistance: float) -> float:
        found = state(resistance)
        return (found.resistance if isinstance(found, Steady) else 2 * most) / resistance - 1

    if excess(most) >= 0:
        return state(most)
    least = float(case.value("resistance_20c")) / 2
    return state(root_between(excess, least, most, within=1e-10 * most))
