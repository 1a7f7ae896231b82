"""The coil's heat under its drive: networks, steady states and the warming that several figures share."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.catalogue import rows
from coilgen.figures.heat._eddies import mean_square_share, reactance, series_resistance, with_eddies
from coilgen.figures.heat._made import EXPECTED, Made, network_of
from coilgen.figures.heat._sources import ends, solved
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Supply
    from coilgen.physics.heat.network import Network
    from coilgen.physics.heat.pulse import Periodic
    from coilgen.physics.heat.sawtooth import Teeth
    from coilgen.physics.heat.steady import NoSteadyState, Steady
    from coilgen.physics.heat.transient import History

BAND = (
    "the band is that of convection, from dead still air to a slight draught, of the joints, of the copper's "
    "resistance and of the drive"
)
"""What figures say of their band; how wide that of convection is stands in data/convection.toml."""
_SWING = 0.5
"""K, within a period, from which on the mean power does not tell all."""
_CONSTANTS = 12.0
"""Of the slowest time constants after which the coil counts as settled, to 1e-5 of its rise."""
_FINE = 1e-3
"""Of the whole rise: largest error of a step where that is small."""
_SHOWN = 1 - math.exp(-5)
"""Share of the rise after five time constants of a body of one temperature."""
_LEAST_PERIODS, _MOST_FOLLOWED = 3.0, 40
"""Periods of a slow drive: so many are shown at least; so many are followed one by one, or laid, at most."""
_ROUGHER = 10.0
"""Error of a step over the usual one where only differences are told."""
LONGEST = 1e7
"""s."""


def ceiling() -> float:
    """Temperature over which no steady state counts: copper melts, degC."""
    return float(str(rows("temperature_limits")["copper"]["temperature"]))


def net(case: Case, made: Made = EXPECTED) -> "Network":
    """The design's network of heat under its drive, as expected or as made and mounted otherwise."""
    return with_eddies(case, made)


def held(case: Case, made: Made = EXPECTED) -> "Network":
    """The same under a drive that is held on: of what is switched no eddy currents are left."""
    return net(case, made) if case.design.drive.waveform == "sine" else network_of(case, made)


def as_held(case: Case, made: Made) -> Made:
    """As made, for a drive that is held on: metal and inductance matter to a sine alone."""
    if case.design.drive.waveform == "sine":
        return made
    return replace(made, inductance=EXPECTED.inductance, metal=EXPECTED.metal)


def supply(case: Case, *, on_share: float | None = None, made: Made = EXPECTED) -> "Supply":
    """The drive as the heat model takes it; on for what its mean square tells unless told otherwise.

    A sine is told by its root mean square.
    """
    from coilgen.physics.heat.body import Supply

    drive = case.design.drive
    share = mean_square_share(case) if on_share is None else on_share
    return Supply(
        voltage=None if drive.voltage is None else drive.voltage * made.voltage,
        current=drive.current,
        current_limit=drive.current_limit,
        on_share=share,
        series_resistance=series_resistance(case, made),
        reactance=reactance(case, made),
    )


def settled(case: Case, made: Made = EXPECTED) -> "Steady | NoSteadyState":
    """The steady state under the drive's mean power."""
    return solved(case, made, ends(case) if made != EXPECTED else (), _settled)


def held_on(case: Case, made: Made = EXPECTED) -> "Steady | NoSteadyState":
    """The steady state under a drive that is held on."""
    return solved(case, as_held(case, made), others_held(case, made), _held_on)


def others_held(case: Case, made: Made) -> tuple[Made, ...]:
    """Coils under a drive that is held on that are solved together with one: none with the expected one."""
    if made == EXPECTED:
        return ()
    return tuple(each for each in dict.fromkeys(as_held(case, end) for end in ends(case)) if each != EXPECTED)


def hottest(case: Case, made: Made = EXPECTED) -> "Steady | NoSteadyState":
    """The settled coil at its hottest: the steady state, or the peak within a period slow enough to swing."""
    from coilgen.physics.heat.pulse import Periodic

    found = repeated(case, made) if swings(case) else None
    if found is None:
        return settled(case, made)
    return found.hottest if isinstance(found, Periodic) else found


def mean_peak(case: Case, made: Made = EXPECTED) -> float:
    """Hottest copper, mean over a period, degC; the ceiling where there is no settled state."""
    from coilgen.physics.heat.pulse import Periodic

    found = repeated(case, made) if swings(case) else None
    return found.mean if isinstance(found, Periodic) else peak(hottest(case, made))


def steady(case: Case) -> "Steady | None":
    """The steady state under the mean power as expected; None when there is none."""
    from coilgen.physics.heat.steady import Steady

    found = settled(case)
    return found if isinstance(found, Steady) else None


def at_hottest(case: Case) -> "Steady | None":
    """The settled coil at its hottest, as expected; None when it does not settle."""
    from coilgen.physics.heat.steady import Steady

    found = hottest(case)
    return found if isinstance(found, Steady) else None


def moment(case: Case) -> str:
    """When within a slow period the coil is hottest, for the figures' models; else empty."""
    if not swings(case):
        return ""
    return {"square": " at the end of each on time", "sine": " at the peak of each half period"}[
        case.design.drive.waveform
    ]


def peak(state: "Steady | NoSteadyState") -> float:
    """Hottest copper, degC; the ceiling where there is no steady state under it."""
    from coilgen.physics.heat.steady import Steady

    return state.coil_peak if isinstance(state, Steady) else state.ceiling


def leads_and_winding(case: Case, state: "Steady", made: Made = EXPECTED) -> tuple[float, float] | None:
    """Hottest copper of the leads and of the winding, degC; None where leads count in the winding."""
    from coilgen.physics.heat.body import ZERO_CELSIUS

    on = net(case, made)
    if "leads" not in on.parts:
        return None
    celsius = on.ambient - ZERO_CELSIUS + state.rise
    board = on.parts["board"]
    return float(celsius[on.parts["leads"]].max()), float(celsius[board[on.coil[board]]].max())


def level(case: Case, *, on_share: float | None = 1.0, made: Made = EXPECTED) -> "Supply":
    """The drive for transients, while it is on or with its mean square (None)."""
    return supply(case, on_share=on_share, made=made)


def mean_power(case: Case) -> str:
    """How a history counts a drive that switches too fast to be followed, for the figures' models."""
    square = case.design.drive.waveform == "square" and not swings(case)
    return ", under the mean power of the periods" if square else ""


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


def teeth(case: Case) -> "Teeth":
    """Warming from switching on under a drive slow enough to swing, over the mean's five time constants.

    Of many periods some are laid on the warming under the mean power; few, or where there is no settled
    state to lay, are followed one by one.
    """
    return case.once("heat teeth", lambda: _teeth(case))


def _teeth(case: Case) -> "Teeth":
    from coilgen.physics.heat.pulse import Periodic, sine_spans, square_spans
    from coilgen.physics.heat.sawtooth import followed, superposed

    drive, found = case.design.drive, repeated(case)
    assert drive.frequency is not None
    driven = level(case)
    spans = (
        sine_spans(driven, drive.frequency)
        if drive.duty is None
        else square_spans(driven, drive.frequency, drive.duty)
    )
    period = sum(span.time for span in spans)
    until = max(_LEAST_PERIODS * period, span_shown(case))
    if isinstance(found, Periodic) and until > _MOST_FOLLOWED * period:
        return superposed(net(case), found, history(case), until, _MOST_FOLLOWED)
    return followed(net(case), spans, min(until, _MOST_FOLLOWED * period))


def span_shown(case: Case) -> float:
    """From switching on to five time constants under the mean power, or to where the copper melts, s."""
    from coilgen.physics.heat.transient import time_to_reach, time_to_share

    if steady(case) is None:
        return time_to_reach(net(case), history(case), ceiling())
    return time_to_share(net(case), history(case), _SHOWN)


def repeated(case: Case, made: Made = EXPECTED) -> "Periodic | NoSteadyState":
    """The repeating state of a drive that is slow enough for the copper to swing."""
    return case.once(f"heat repeated {made}", lambda: _repeated(case, made))


def swings(case: Case) -> bool:
    """Whether a drive's period is long enough for the copper to follow it."""
    return case.once("heat swings", lambda: _swings(case))


def _swings(case: Case) -> bool:
    """By what one stretch of heating makes of a cold coil: an on time, a quarter of a sine's period."""
    from coilgen.physics.heat.transient import warming

    drive = case.design.drive
    if drive.frequency is None or drive.duty == 1:
        return False
    once = warming(net(case), level(case), (drive.duty or 0.25) / drive.frequency, stop_at=ceiling())
    return float(once.coil_peak[-1] - once.coil_peak[0]) > _SWING


def _repeated(case: Case, made: Made) -> "Periodic | NoSteadyState":
    from coilgen.physics.heat.pulse import periodic_sine_state, periodic_state

    drive, on, driven = case.design.drive, net(case, made), level(case, made=made)
    assert drive.frequency is not None
    if drive.duty is None:
        return periodic_sine_state(on, driven, drive.frequency, ceiling())
    return periodic_state(on, driven, drive.frequency, drive.duty, ceiling())


def after_pulse(case: Case, made: Made = EXPECTED) -> tuple[float, bool]:
    """Hottest copper after one pulse from cold, degC, and whether it melts before the pulse ends."""
    return solved(case, as_held(case, made), others_held(case, made), _after_pulse)


def _after_pulse(case: Case, coils: Sequence[Made]) -> list[tuple[float, bool]]:
    """Of those made otherwise with the expected one: errors of the same steps cancel in what differs."""
    if len(coils) == 1:
        peaks = _pulsed(case, coils, 1.0)
        return [(ceiling(), True) if peaks is None else (peaks[0], False)]
    peaks = _pulsed(case, (EXPECTED, *coils), _ROUGHER)
    if peaks is None:
        return [_after_pulse(case, (made,))[0] for made in coils]
    usual, _ = after_pulse(case)
    return [(usual + peak - peaks[0], False) for peak in peaks[1:]]


def _pulsed(case: Case, coils: Sequence[Made], rougher: float) -> list[float] | None:
    """Hottest copper after one pulse of each, degC; None where one melts. rougher: than usual steps."""
    from coilgen.physics.heat.network import together
    from coilgen.physics.heat.transient import TOLERANCE, hottest_in

    drives = [level(case, made=made) for made in coils]
    nets, tolerance = together([held(case, made) for made in coils]), rougher * TOLERANCE
    peaks = hottest_in(nets, drives, case.design.drive.pulse, ceiling(), tolerance=tolerance)
    found: list[float] | None = None if peaks is None else peaks.tolist()
    return found


def _settled(case: Case, coils: Sequence[Made]) -> "list[Steady | NoSteadyState]":
    near = None if EXPECTED in coils else settled(case)
    return _states([(net(case, made), supply(case, made=made)) for made in coils], near)


def _held_on(case: Case, coils: Sequence[Made]) -> "list[Steady | NoSteadyState]":
    near = None if EXPECTED in coils else held_on(case)
    return _states([(held(case, made), level(case, made=made)) for made in coils], near)


def _states(
    driven: "Sequence[tuple[Network, Supply]]", near: "Steady | NoSteadyState | None"
) -> "list[Steady | NoSteadyState]":
    from coilgen.physics.heat.steady import Steady, steady_state, steady_states

    if not isinstance(near, Steady):
        return [steady_state(on, drive, ceiling()) for on, drive in driven]
    return steady_states([on for on, _ in driven], [drive for _, drive in driven], near, ceiling())
