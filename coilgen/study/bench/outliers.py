"""Readings that no tolerance explains, and what would: shorted turn, probe's height, reversed winding."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.study.bench.fit import Fit, Floats, deviations_before, fitted, linearised

if TYPE_CHECKING:
    from coilgen.study.bench.fit import Problem
    from coilgen.study.bench.reading import Reading

SEEN = 4.0
"""Standard deviations by which a fault must move what is read to be seen at all; else nothing is told."""
NAMED = 3.0
"""Standard deviations that a shorted turn which can be seen must stand out by; others must by `SEEN`."""
FARTHEST = 3e-3
"""m: a probe is not taken to have stood farther off."""
_STEP = 1e-4
_ELECTRIC = ("resistance", "inductance", "quality")
SHORTED, HEIGHT, REVERSED = "shorted turn", "wrong height", "reversed winding"
SIGN, UNKNOWN = "other sign", "no cause known"


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """What may be wrong with a board or its reading. shift: (m,) of the readings, for an amount of 1.

    least, most: amounts that make sense.
    """

    what: str
    sample: str
    shift: Floats
    least: float = -math.inf
    most: float = math.inf


@dataclass(frozen=True, kw_only=True)
class Named:
    """What is wrong, said in a sentence, and which readings (m,) it spoils."""

    what: str
    sample: str
    says: str
    spoils: Floats


def sorted_out(problem: Problem) -> tuple[Fit, tuple[Named, ...], tuple[str, ...]]:
    """The fit to readings that causes explain, what is wrong with the others, and what cannot be told."""
    named = [*_reversed(problem)]
    used = np.all([each.spoils == 0 for each in named], axis=0) & np.ones(len(problem.readings), dtype=bool)
    fit = fitted(problem, used)
    while (worst := _worst(fit)) is not None:
        named.append(worst)
        used = used & (worst.spoils == 0)
        fit = fitted(problem, used, start=fit.line.places)
    return fit, tuple(named), tuple(_untold(fit, named))


def _worst(fit: Fit) -> Named | None:
    """The suspect that stands out most, if any does; a reading of no known cause only where none does."""
    known = [each for suspect in _suspects(fit) if (each := _judged(fit, suspect)) is not None]
    if known:
        return max(known, key=lambda each: each[0])[1]
    return _strange(fit)


def _suspects(fit: Fit) -> Iterator[Suspect]:
    for sample in fit.problem.boards:
        own = [each.sample == sample for each in fit.problem.readings]
        if not (fit.used & own).any():
            continue
        yield from _shorted(fit, sample)
        yield from _probe(fit, sample)


def _judged(fit: Fit, suspect: Suspect) -> tuple[float, Named] | None:
    """By how many standard deviations it stands out, and the sentence; None where it does not."""
    amount, error = amount_of(fit, suspect.shift)
    needed = NAMED if suspect.what == SHORTED else SEEN
    if not error or abs(amount) / error < needed or amount < suspect.least:
        return None
    if suspect.what == SHORTED and 1 / error < SEEN:
        return None
    low, high = amount - NAMED * error, amount + NAMED * error
    if low > suspect.most or high < suspect.least or not _explains(fit, suspect.shift * amount):
        return None
    return abs(amount) / error, Named(
        what=suspect.what,
        sample=suspect.sample,
        says=_SENTENCES[suspect.what](suspect.sample, amount),
        spoils=np.where(suspect.shift != 0, 1.0, 0.0),
    )


def amount_of(fit: Fit, shift: Floats) -> tuple[float, float]:
    """How much of a shift (m,) the readings show, and its standard deviation; 0 where they show none.

    Causes and model errors may be anything that is known of them before the readings; generalised least
    squares, C. R. Rao, Linear Statistical Inference and Its Applications, section 4a.
    """
    used = fit.used
    if not np.any(shift[used]):
        return 0.0, 0.0
    weighed = np.linalg.solve(_covariance(fit)[np.ix_(used, used)], shift[used])
    told = float(weighed @ shift[used])
    return float(weighed @ _off(fit)[used]) / told, 1 / math.sqrt(told)


def _covariance(fit: Fit) -> Floats:
    """Of all readings (m, m) before any was taken."""
    scaled = fit.line.slopes * deviations_before(fit.problem)
    noise = np.diag([each.uncertainty**2 for each in fit.problem.readings])
    return np.asarray(scaled @ scaled.T + noise)


def _off(fit: Fit) -> Floats:
    """Readings (m,) less what was expected of them before."""
    told = np.array([each.value for each in fit.problem.readings])
    return np.asarray(told - fit.line.at(np.zeros(len(fit.problem.causes))))


def _explains(fit: Fit, shift: Floats) -> bool:
    """Whether the readings are as likely with the shift as they are of sound boards, to 1 in 1000."""
    from scipy.special import chdtri  # scipy.stats takes seconds to import

    used = fit.used
    left = (_off(fit) - shift)[used]
    square = float(left @ np.linalg.solve(_covariance(fit)[np.ix_(used, used)], left))
    return bool(square < chdtri(int(used.sum()), 1e-3))


def _own(fit: Fit, sample: str, figures: tuple[str, ...]) -> list[bool]:
    return [each.sample == sample and each.figure in figures for each in fit.problem.readings]


def _shorted(fit: Fit, sample: str) -> Iterator[Suspect]:
    """One turn closed on itself: of the turns the one that shows least, others up to four times as much."""
    own = _own(fit, sample, _ELECTRIC)
    if not (fit.used & own).any():
        return
    shares = shorted_shares(fit.problem, sample)
    shift = np.where(own, shares * fit.line.values, 0.0)
    yield Suspect(what=SHORTED, sample=sample, shift=shift, least=0.7, most=4.0)


def shorted_shares(problem: Problem, sample: str) -> Floats:
    """By which share a shorted turn changes each reading (m,); 0 for readings it leaves alone.

    Direct current leaves the turn out: 1 / N of the resistance. Inductance and losses at a frequency are
    those of the figure `shorted_turn`; twice 1 / N of the inductance where a design has none.
    """
    case = problem.forecaster.case(problem.designs[sample])
    turns, table = float(case.value("turns_total")), case.figure("shorted_turn")
    rows = [] if table is None else table.value
    return np.array([_share(each, turns, rows) for each in problem.readings])


def _share(reading: Reading, turns: float, rows: list[dict[str, float]]) -> float:
    if reading.figure not in _ELECTRIC:
        return 0.0
    frequency = reading.at.frequency
    if frequency is None:
        return -1 / turns
    less = _ratio(rows, frequency, "inductance", -2 / turns)
    more = _ratio(rows, frequency, "loss_ratio", 0.0)
    resistance = (1 - 1 / turns) * (1 + more) - 1
    if reading.figure == "quality":
        return (1 + less) / (1 + resistance) - 1
    return less if reading.figure == "inductance" else resistance


def _ratio(rows: list[dict[str, float]], frequency: float, column: str, otherwise: float) -> float:
    if not rows:
        return otherwise
    changes = [row[f"{column}_shorted"] / row[column] - 1 for row in rows]
    return float(np.interp(math.log(frequency), np.log([row["frequency"] for row in rows]), changes))


def _probe(fit: Fit, sample: str) -> Iterator[Suspect]:
    """All probe's readings of a board, or one of them, taken so much farther off than told."""
    flux = _own(fit, sample, ("flux_density",))
    if not (fit.used & flux).any():
        return
    slopes = np.array(
        [
            _by_height(fit, each) if mine else 0.0
            for each, mine in zip(fit.problem.readings, flux, strict=True)
        ]
    )
    told = np.array([each.at.height or 0.0 for each in fit.problem.readings])
    yield _at_another_height(sample, slopes, told)
    for number in np.flatnonzero(flux):
        alone = np.where(np.arange(len(slopes)) == number, slopes, 0.0)
        if np.count_nonzero(slopes) > 1:
            yield _at_another_height(sample, alone, told)


def _at_another_height(sample: str, shift: Floats, told: Floats) -> Suspect:
    """Nothing stands in the board: no nearer to it than it was told to be."""
    moved = told[shift != 0]
    nearest = float(moved.min()) if len(moved) else 0.0
    least = -min(nearest, FARTHEST)
    return Suspect(what=HEIGHT, sample=sample, shift=shift, least=least, most=FARTHEST)


def _by_height(fit: Fit, reading: Reading) -> float:
    """Flux density by height, T/m."""
    height = reading.at.height or 0.0
    higher = replace(reading, at=replace(reading.at, height=height + _STEP))
    ends = [fit.problem.forecast(each, fit.line.places).value for each in (reading, higher)]
    return (ends[1] - ends[0]) / _STEP


def _reversed(problem: Problem) -> Iterator[Named]:
    """Boards whose readings with a sign are far nearer to what is expected with the other one.

    Told before anything is fitted: no tolerance turns a sign, and a fit to both signs explains neither.
    """
    signed = np.array([each.kind.signed and each.sample not in problem.coupons for each in problem.readings])
    if not signed.any():
        return
    expected, spread = _expected(problem)
    told = np.array([each.value for each in problem.readings])
    opposite = signed & (told * expected < 0) & (np.minimum(abs(told), abs(expected)) > SEEN * spread)
    for sample in problem.boards:
        own = signed & [each.sample == sample for each in problem.readings]
        if own.any() and opposite[own].all():
            yield Named(
                what=REVERSED, sample=sample, says=_of_reversal(sample), spoils=own.astype(np.float64)
            )


def _expected(problem: Problem) -> tuple[Floats, Floats]:
    """Of all readings (m,) before any was taken, and the standard deviations of readings from it."""
    line = linearised(problem, np.zeros(len(problem.causes)))
    open_before = np.linalg.norm(line.slopes * deviations_before(problem), axis=1)
    noise = np.array([each.uncertainty for each in problem.readings])
    return line.values, np.hypot(open_before, noise)


def _strange(fit: Fit) -> Named | None:
    """The reading that is farthest from what all others make likely, where it is too far."""
    far = [
        (abs(amount) / error, number)
        for number in np.flatnonzero(fit.used)
        for amount, error in [amount_of(fit, (np.arange(len(fit.used)) == number).astype(np.float64))]
    ]
    if not far or max(far)[0] < SEEN:
        return None
    distance, number = max(far)
    reading = fit.problem.readings[number]
    turned = _fits_turned(fit.problem, int(number))
    return Named(
        what=SIGN if turned else UNKNOWN,
        sample=reading.sample,
        says=(_of_sign if turned else _of_nothing_known)(reading, distance),
        spoils=(np.arange(len(fit.used)) == number).astype(np.float64),
    )


def _fits_turned(problem: Problem, number: int) -> bool:
    """Whether a reading with a sign would be as expected with the other one, as a scale shows none."""
    reading, (expected, spread) = problem.readings[number], _expected(problem)
    return reading.kind.signed and abs(reading.value + expected[number]) < NAMED * spread[number]


def _untold(fit: Fit, named: list[Named]) -> Iterator[str]:
    """Boards of which the readings cannot tell whether a turn is shorted; of those named so they have."""
    blind = []
    told = {each.sample for each in named if each.what == SHORTED}
    for sample in (each for each in fit.problem.boards if each not in told):
        suspect = next(_shorted(fit, sample), None)
        error = amount_of(fit, suspect.shift)[1] if suspect else 0.0
        if not error or 1 / error < SEEN:
            blind.append(sample)
    if blind:
        yield (
            f"{', '.join(blind)}: these readings cannot tell whether a turn is shorted; read the inductance "
            "at a frequency of a meter, best where quality is high"
        )


def _of_sign(reading: Reading, _: float) -> str:
    return (
        f"{reading.sample}: {reading.name} has the other sign than expected, and would fit with it turned: "
        "up, away from the top, counts as positive; it was left out"
    )


def _of_nothing_known(reading: Reading, distance: float) -> str:
    return (
        f"{reading.sample}: {reading.name} is {distance:.0f} standard deviations from what all other "
        "readings and the tolerances make likely, and nothing that is looked for explains it: read it again; "
        "it was left out"
    )


def _of_short(sample: str, amount: float) -> str:
    return (
        f"{sample}: a shorted turn explains its readings, {amount:.1f} times what the faintest one does; "
        "resistance, inductance and quality were left out: look for a bridge between turns"
    )


def _of_probe(sample: str, amount: float) -> str:
    where = "farther from" if amount > 0 else "nearer to"
    return (
        f"{sample}: the probe seems to have stood {abs(amount) * 1e3:.2f} mm {where} the board than told; "
        "that flux density was left out: check the height of the probe's middle in its case"
    )


def _of_reversal(sample: str) -> str:
    return (
        f"{sample}: flux density or force has the other sign: a reversed winding, terminals swapped or the "
        "magnet turned; they were left out"
    )


_SENTENCES = {SHORTED: _of_short, HEIGHT: _of_probe}
