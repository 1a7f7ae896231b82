"""The electrical test that a coil can pass and a shorted turn cannot: limits, readings, what to compare."""

import math
from collections.abc import Iterator
from dataclasses import replace

from coilgen.frozen import dataclass
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.result.spread import Spread
from coilgen.units import per_cent, readable

CONTINUITY_MARGIN = 1.2
"""Of the highest resistance expected, for the tester's leads and a warm room; common practice, no source."""
LEAST_USUAL = 10.0
"""ohm, of the continuity limits usual with testers, 10 to 50; common practice, no source."""
RISE_DOUBT = 0.3
"""Of the rise of resistance over direct current: twice the 15 % by which the self-resonance may be off."""
METER_SHARE = 0.002
"""Of the impedance's size, a bench meter for inductance and resistance; common practice, no source."""
DIRECT_SHARE = 0.005
"""Of a resistance at direct current, with four wires and the board's temperature known to a kelvin."""
CLEAR = 3.0
"""Times its window that a shorted turn moves a reading at a frequency that needs no better one."""
FABS_OWN = ("trace width", "copper thickness", "plating", "dielectric thickness")
"""Sources of a band that the fab answers for."""
PER_KELVIN = 0.0039
"""By which copper's resistance rises, 1/K (IEC 60028)."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A reading at a frequency (Hz): of sound boards, how far they lie from one another, of a shorted turn.

    kind: "inductance" in H or "loss ratio", resistance in series over that at direct current.
    spread: fraction of `sound` to either side.
    """

    kind: str
    frequency: float
    sound: float
    spread: float
    shorted: float

    @property
    def contrast(self) -> float:
        """By how many spreads a shorted turn moves the reading."""
        return abs(self.shorted / self.sound - 1) / self.spread

    @property
    def limit(self) -> float:
        """Half-way between the last sound board and a shorted turn."""
        sign = math.copysign(1.0, self.shorted - self.sound)
        return (self.sound * (1 + sign * self.spread) + self.shorted) / 2


def electrical_test(result: Result) -> Iterator[str]:
    """The steps, numbered, as far as the figures carry them; for each winding where there are several."""
    if not result.windings:
        yield "The coil is one net, from terminal 1 to terminal 2. Test every board."
        yield ""
        yield from _steps(result, "Isolation: there is no second net to test against.")
        return
    if result.design.array is not None and result.design.array.joined:
        yield from _of_joined(result)
        return
    yield f"The board has {len(result.windings)} windings, each a net of its own. Test every board."
    for each in result.windings:
        first, second = (terminal.number for terminal in each.coil.terminals)
        yield ""
        yield f"### Net {each.name}, from terminal {first} to terminal {second}"
        yield ""
        own = replace(result, figures=each.figures, coil=each.coil, windings=())
        yield from _steps(own, "Isolation: against every other net.")


def _of_joined(result: Result) -> Iterator[str]:
    """Of an array whose coils are joined: resistances between terminals, and how alike the phases are."""
    nets, coils = len(result.nets), len(result.windings)
    yield (
        f"{coils} coils are joined on the board and make {nets} net{'s' * (nets > 1)} with "
        f"{len(result.coil.terminals)} terminals. Test every board."
    )
    yield ""
    low, high = _fractions(result)
    yield "| from | to | resistance at 20 degC | accept |"
    yield "|---|---|---|---|"
    for one, other, value in _between(result):
        accepted = f"{readable(low * value, 'ohm')} to {readable(high * value, 'ohm')}"
        yield f"| {one} | {other} | {readable(value, 'ohm')} | {accepted} |"
    yield ""
    yield (
        "1. Continuity between these terminals; set the tester's limit to twice these values or more, and "
        "isolation of each net against every other."
    )
    yield (
        "2. Resistance with four wires, as the table accepts it; it rises by "
        f"{per_cent(PER_KELVIN, 2)} for each kelvin: note the board's temperature and the reading. What "
        "the fab makes thicker or wider moves all phases alike, so phases of one board that differ otherwise "
        "than the table tells point to a fault."
    )
    yield (
        "3. A shorted turn takes little of a phase's resistance: compare the phases' inductance or loss "
        "with one another, for which the single coil's figure shorted_turn tells the frequency."
    )


def _fractions(result: Result) -> tuple[float, float]:
    """Least and most that is accepted, over the value, as of a coil by itself: joints are made with it."""
    own = result.windings[0].figures["resistance_20c"]
    low, high = acceptance(own) or (own.value, own.value)
    return low / own.value, high / own.value


def _between(result: Result) -> Iterator[tuple[str, str, float]]:
    lines, phases = (result.figures.get(name) for name in ("line_resistance", "phase_resistance"))
    if lines is not None:
        for label, value in zip(lines.labels, lines.value, strict=True):
            one, _, other = label.partition("-")
            yield one, other, float(value)
    elif phases is not None:
        for number, value in enumerate(phases.value):
            yield str(2 * number + 1), str(2 * number + 2), float(value)


def _steps(result: Result, isolation: str) -> Iterator[str]:
    resistance = result.figures.get("resistance_20c")
    if resistance is None:
        yield "1. Continuity from terminal to terminal; the resistance to expect was not computed."
        return
    yield from _continuity(resistance, isolation)
    yield from _resistance(resistance)
    yield from _shorted_turn(result)


def _continuity(resistance: Figure, isolation: str) -> Iterator[str]:
    highest = (resistance.band or (0.0, resistance.value))[1]
    limit = _rounded_up(CONTINUITY_MARGIN * highest)
    enough = limit <= LEAST_USUAL
    usual = "The usual 10 ohm suit." if enough else "The usual 10 to 50 ohm are too low."
    yield (
        f"1. Continuity: the net has {readable(resistance.value, 'ohm')} by design, so set the tester's "
        f"limit to {readable(limit, 'ohm', 2)} or more. {usual} {isolation}"
    )


def _rounded_up(value: float) -> float:
    """To two significant digits.

    >>> _rounded_up(220.4), _rounded_up(0.91)
    (230.0, 0.91)
    """
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(math.ceil(value / step - 1e-9) * step, 12)


def _resistance(resistance: Figure) -> Iterator[str]:
    accepted = acceptance(resistance)
    window = "" if accepted is None else f", accept {' to '.join(readable(end, 'ohm') for end in accepted)}"
    yield (
        f"2. Resistance with four wires: {readable(resistance.value, 'ohm')} at 20 degC{window}. It rises by "
        f"{per_cent(PER_KELVIN, 2)} for each kelvin: note the board's temperature and the reading."
    )


def acceptance(figure: Figure) -> tuple[float, float] | None:
    """The band of what the fab answers for; the whole one where its sources are not told apart."""
    if figure.spread is None:
        return figure.band
    own = {source: shift for source, shift in figure.spread.shifts.items() if source in FABS_OWN}
    return Spread(figure.value, own).band if own else None


def _shorted_turn(result: Result) -> Iterator[str]:
    chosen = best_reading(result)
    if chosen is None:
        yield "3. Shorted turn: not computed for this coil; inspect the copper of each layer optically."
        return
    yield from _reading(result, chosen)
    yield (
        "4. Compare the boards of a batch: sort by the reading of step 3. One that stands off the others by "
        f"more than {per_cent(abs(chosen.shorted / chosen.sound - 1) / 2, 1)} has a shorted turn even "
        "if it passed. "
        "Inspect the copper of each layer optically before lamination and coating."
    )


def _reading(result: Result, chosen: Reading) -> Iterator[str]:
    share = 1 / result.coil.turns
    at, unit = readable(chosen.frequency, "Hz"), "H" if chosen.kind == "inductance" else "1"
    what = {
        "inductance": f"inductance in series mode at {at}",
        "loss ratio": f"resistance in series mode at {at}, divided by that of step 2 of the same board",
    }[chosen.kind]
    sound, limit, shorted = (readable(v, unit, 4) for v in (chosen.sound, chosen.limit, chosen.shorted))
    way = "at most" if chosen.shorted > chosen.sound else "at least"
    sure = "" if chosen.contrast >= 1 else " These overlap: step 4 and inspection decide."
    yield (
        f"3. Shorted turn (a bridge of copper between two turns): {what}. A sound board reads {sound}, "
        f"give or take {per_cent(chosen.spread, 1)}; accept {way} {limit}; a board with one shorted "
        "turn, wherever it "
        f"is, reads {shorted} or is further off.{sure} Resistance alone does not show it: a turn is about "
        f"{per_cent(share, 1)} of it, as much as {share / PER_KELVIN:.1f} K."
    )


def best_reading(result: Result) -> Reading | None:
    """The reading at the lowest frequency that tells a shorted turn clearly, else the one that tells best."""
    table, resistance, inductance = (
        result.figures.get(name) for name in ("shorted_turn", "resistance_20c", "inductance")
    )
    if table is None or resistance is None or inductance is None or not table.value:
        return None
    readings = [_better(row, inductance, resistance.value) for row in table.value]
    clear = (reading for reading in readings if reading.contrast >= CLEAR)
    return next(clear, max(readings, key=lambda reading: reading.contrast))


def _better(row: dict[str, float], inductance: Figure, direct: float) -> Reading:
    """Inductance or loss ratio, whichever tells a shorted turn better at a row's frequency."""
    quality = 2 * math.pi * row["frequency"] * row["inductance"] / (row["loss_ratio"] * direct)
    both = _inductance_at(row, inductance, quality), _loss_at(row, quality)
    return max(both, key=lambda reading: reading.contrast)


def _inductance_at(row: dict[str, float], inductance: Figure, quality: float) -> Reading:
    low, high = inductance.band or (inductance.value, inductance.value)
    made = (high - low) / 2 / inductance.value
    return Reading(
        kind="inductance",
        frequency=row["frequency"],
        sound=row["inductance"],
        spread=made + METER_SHARE * math.hypot(1, 1 / quality),
        shorted=row["inductance_shorted"],
    )


def _loss_at(row: dict[str, float], quality: float) -> Reading:
    ratio = row["loss_ratio"]
    doubt = RISE_DOUBT * (ratio - 1) / ratio
    return Reading(
        kind="loss ratio",
        frequency=row["frequency"],
        sound=ratio,
        spread=doubt + DIRECT_SHARE + METER_SHARE * math.hypot(1, quality),
        shorted=row["loss_ratio_shorted"],
    )
