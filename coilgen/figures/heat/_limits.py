"""Limits of temperature that hold for a design, and the current and voltage that lead to each."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coilgen.catalogue import rows
from coilgen.figures.drive._drive_circuit import heating_share, repeating
from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._made import EXPECTED, Made
from coilgen.figures.heat._sources import ends, solved
from coilgen.frozen import dataclass
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.pulse import Pulse
    from coilgen.physics.heat.steady import Steady

OWN = "mounting.limit_temperature"
"""Name of the user's own limit."""
_CLOSE = 1e-4
"""Of a duty: how near it is sought."""
_NEAR = 0.95
"""Of a duty: where the slope of the peak with duty is taken from."""


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A temperature that the copper must not pass, degC, by name."""

    name: str
    temperature: float


def marks(*kinds: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Rows of the data of some kinds, by name, from the lowest temperature."""
    for name, row in rows("temperature_limits").items():
        if row["kind"] in kinds:
            yield name, row


def material_marks(case: Case) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Marks of what this board is made of; copper's melting point is the model's ceiling and left out."""
    for name, row in marks("material"):
        if name != "copper" and case.design.board.stackup.material in row.get(
            "laminate", (case.design.board.stackup.material,)
        ):
            yield name, row


def charring(case: Case) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Mark at which what this board is made of decomposes; none where that is not known."""
    material = case.design.board.stackup.material
    return tuple((name, row) for name, row in marks("char") if material in row["laminate"])


def outlasts(case: Case, temperature: float) -> bool:
    """Whether the board is still there at a temperature of its copper, degC: else no band holds for it."""
    return all(temperature < row["temperature"] for _, row in charring(case))


CHARRED = "no band: the board has decomposed there, and the value tells only that the drive is far too much"
"""Of a temperature that no board outlasts, for its model."""


def limits(case: Case) -> tuple[Limit, ...]:
    """The board's material, solder, and the user's own limit, from the lowest."""
    found = [Limit(name=name, temperature=float(row["temperature"])) for name, row in material_marks(case)]
    return tuple(sorted([*found, *_own(case)], key=lambda limit: limit.temperature))


def lasting(case: Case) -> Limit:
    """What the board bears for years, or the user's own limit where that is lower."""
    stackup = case.design.board.stackup
    board = Limit(name=f"lasting use of {stackup.material}", temperature=stackup.laminate.limit_temperature)
    return min((board, *_own(case)), key=lambda limit: limit.temperature)


def _own(case: Case) -> tuple[Limit, ...]:
    own = case.design.mounting.limit_temperature
    return () if own is None else (Limit(name=OWN, temperature=own),)


def continuous(case: Case, limit: float, made: Made = EXPECTED) -> tuple[float, float]:
    """Current A and voltage V that hold the hottest copper at a limit, degC; none in air as hot as that.

    Of a sine at its frequency, else direct.
    """
    if _air(case, made) >= limit:
        return 0.0, 0.0
    current, resistance = _lasting(case, limit, made, switched=False)
    return current, current * _heat.supply(case, made=made).impedance(resistance)


def _lasting(case: Case, limit: float, made: Made, *, switched: bool) -> tuple[float, float]:
    """Root mean square current, A, that holds a limit, and the resistance of the copper there, ohm.

    switched: with the eddy currents of a square wave. Without any the same heat goes with another
    resistance's square of the current.
    """
    network = _heat.net if switched else _heat.held
    alone = not network(case, made).eddy_resistance.any()
    usual = _under_current(case, made, alone)
    state = solved(case, usual, _others(case, usual, limit, alone), _at_peak, limit, switched and not alone)
    more = made.copper / usual.copper
    return state.current / math.sqrt(more), state.resistance * more


def _under_current(case: Case, made: Made, alone: bool) -> Made:
    """As made, for what a current tells, and alone where only the copper makes heat."""
    return (
        replace(_heat.as_held(case, made), copper=1.0, voltage=1.0) if alone else replace(made, voltage=1.0)
    )


def _others(case: Case, made: Made, limit: float, alone: bool) -> tuple[Made, ...]:
    """Coils that are to be led to a limit together with one: none with the expected one."""
    if made == EXPECTED:
        return ()
    found = (_under_current(case, each, alone) for each in ends(case) if _air(case, each) < limit)
    return tuple(each for each in dict.fromkeys(found) if each != EXPECTED)


def _at_peak(case: Case, coils: Sequence[Made], limit: float, switched: bool) -> "list[Steady]":
    from coilgen.physics.heat.steady import state_at_peak, states_at_peak

    nets = [(_heat.net if switched else _heat.held)(case, made) for made in coils]
    near = limit if EXPECTED not in coils else _other(case, limit)
    if near is None:
        return [state_at_peak(net, limit) for net in nets]
    return states_at_peak(nets, limit, solved(case, EXPECTED, (), _at_peak, near, switched))


def _other(case: Case, limit: float) -> float | None:
    """The limit from whose state and pulse those of another are sought, degC; None for the first."""
    first = lasting(case).temperature
    return first if first != limit and first > _air(case, EXPECTED) else None


def _air(case: Case, made: Made) -> float:
    return case.design.drive.ambient + made.warmer


def pulse_current(case: Case, limit: float, made: Made = EXPECTED) -> float:
    """Current that leads a cold coil to a limit, degC, at the end of one pulse, A."""
    if _air(case, made) >= limit:
        return 0.0
    alone = not _heat.held(case, made).eddy_resistance.any()
    usual = _under_current(case, made, alone)
    if usual == EXPECTED:
        found = case.kept(_pulse, limit).current
    else:
        found = solved(case, usual, _others(case, usual, limit, alone), _pulses, limit)
    return found / math.sqrt(made.copper / usual.copper)


def _pulse(case: Case, limit: float) -> "Pulse":
    """Of the expected coil."""
    from coilgen.physics.heat.pulse import largest_pulse

    held = solved(case, EXPECTED, (), _at_peak, limit, False).current
    other = _other(case, limit)
    near = None if other is None else case.kept(_pulse, other)
    return largest_pulse(_heat.held(case), limit, case.design.drive.pulse, lasting=held, near=near)


def _pulses(case: Case, coils: Sequence[Made], limit: float) -> list[float]:
    from coilgen.physics.heat.pulse import pulses_beside

    nets, pulse = [_heat.held(case, made) for made in coils], case.kept(_pulse, limit)
    return pulses_beside(_heat.held(case), pulse, nets, case.design.drive.pulse)


def longest_pulse(case: Case, limit: float, made: Made = EXPECTED) -> float:
    """Time from cold to a limit, degC, while the drive is on, s; infinite where it may stay on for good."""
    if _air(case, made) >= limit:
        return 0.0
    return solved(case, _heat.as_held(case, made), _heat.others_held(case, made), _longest_pulse, limit)


def _longest_pulse(case: Case, coils: Sequence[Made], limit: float) -> list[float]:
    from coilgen.physics.heat.pulse import longest_pulses

    found = dict.fromkeys(coils, math.inf)
    hot = [made for made in coils if _heat.peak(_heat.held_on(case, made)) > limit > _air(case, made)]
    if hot:
        nets, drives = zip(
            *((_heat.held(case, made), _heat.level(case, made=made)) for made in hot), strict=True
        )
        found.update(zip(hot, longest_pulses(nets, drives, limit, _heat.LONGEST), strict=True))
    return list(found.values())


def duty(case: Case, limit: float, made: Made = EXPECTED) -> float | None:
    """Largest share of the time that the drive may be on; None for a sine.

    At a square drive's frequency; switched fast for direct current and where the copper does not swing.
    """
    if case.design.drive.waveform == "sine":
        return None
    if _air(case, made) >= limit:
        return 0.0
    if _heat.swings(case):
        return _swinging_duty(case, limit, made)
    current, resistance = _lasting(case, limit, made, switched=True)
    share = (current / _heat.level(case, made=made).through(resistance)) ** 2
    return 1.0 if share >= 1.0 else _duty_of(case, resistance, share)


def _duty_of(case: Case, resistance: float, share: float) -> float:
    """At which the mean square of the current is a share of that which is on for good."""
    from coilgen.physics.base.bracketed_root import root_between

    if repeating(case, resistance, share) is None:
        return share

    def over(duty: float) -> float:
        return heating_share(case, resistance, duty) - share

    return root_between(over, share, 1.0, within=_CLOSE * share) if over(share) < 0.0 else share


def _swinging_duty(case: Case, limit: float, made: Made) -> float:
    """As made otherwise from the expected one: the peak found there, led back along its slope with duty."""
    usual = case.once(f"heat duty to {limit}", lambda: _expected_duty(case, limit))
    if made == EXPECTED or not usual:
        return usual
    over = _peak_at(case, usual, made) - limit
    other = usual * _NEAR
    slope = (limit - _peak_at(case, other, EXPECTED)) / (usual - other)
    return min(1.0, max(0.0, usual - over / slope))


def _peak_at(case: Case, share: float, made: Made) -> float:
    from coilgen.physics.heat.pulse import Periodic, periodic_state

    drive, frequency = _heat.level(case, made=made), case.design.drive.frequency or 0.0
    found = case.once(
        f"heat repeated at {share} {made}",
        lambda: periodic_state(_heat.net(case, made), drive, frequency, share, _heat.ceiling()),
    )
    return found.peak if isinstance(found, Periodic) else _heat.ceiling()


def _expected_duty(case: Case, limit: float) -> float:
    from coilgen.physics.heat.pulse import largest_duty

    return largest_duty(_heat.net(case), _heat.level(case), case.design.drive.frequency or 0.0, limit)
