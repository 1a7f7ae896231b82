"""In sentences: which causes readings cannot tell apart and what would, and what to read next."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from coilgen.study.bench.learnt import told_of
from coilgen.study.bench.proposals import proposals
from coilgen.units import per_cent

if TYPE_CHECKING:
    from coilgen.study.bench.fit import Fit, Floats
    from coilgen.study.bench.proposals import Proposal
    from coilgen.study.bench.reading import Reading

_TOGETHER = 0.8
"""Correlation over which two causes cannot be told apart."""
_HELPS = 0.7
"""Of what is open between two causes: a reading that leaves less tells them apart better."""
_WORTH = 0.5
"""Of its own variance, what a reading must tell to be proposed."""
_ANY = "a reading that only one of them changes would"
_HELP = {
    frozenset({"trace width", "copper thickness"}): "coupons T1 and T2 of a panel, boards of another trace "
    "width in the same batch, or a section through a trace would",
    frozenset({"copper thickness", "conductivity"}): "a section through a trace would; resistances ask for "
    "their product alone",
}
"""What would tell two causes apart where no usual reading does."""


def lessons(fit: Fit) -> Iterator[str]:
    """What cannot be told apart, and the reading that would tell most next."""
    open_readings = [*proposals(fit)]
    yield from _apart(fit, open_readings)
    following = next_reading(fit, open_readings)
    if following is not None:
        yield following


def _apart(fit: Fit, given: Sequence[Proposal]) -> Iterator[str]:
    told, causes = told_of(fit), fit.problem.causes
    for one, other in itertools.combinations(range(len(causes)), 2):
        correlation = fit.covariance[one, other] / fit.deviations[one] / fit.deviations[other]
        if abs(correlation) > _TOGETHER and not (told[one].pinned and told[other].pinned):
            names = causes[one].label, causes[other].label
            yield (
                f"These readings cannot tell {names[0]} from {names[1]}: what one takes the other may give "
                f"(correlation {correlation:+.2f}); {_helping(fit, (one, other), given)}"
            )


def _helping(fit: Fit, pair: tuple[int, int], given: Sequence[Proposal]) -> str:
    """The reading that would tell a pair of causes apart best, else what would at all."""
    direction = _confused(fit, pair)
    best = min(given, key=lambda each: each.left(fit.covariance, direction), default=None)
    left = best.left(fit.covariance, direction) if best is not None else 1.0
    if best is None or left > _HELPS:
        return _HELP.get(frozenset(fit.problem.causes[each].label for each in pair), _ANY)
    return (
        f"measure {_named(fit, best.reading)}: it would leave {per_cent(left)} of what is open between them"
    )


def _confused(fit: Fit, pair: tuple[int, int]) -> Floats:
    """Direction (n + k,) in which two causes are open together, in units of what is open of each."""
    one, other = pair
    opposite = -1.0 if fit.covariance[one, other] < 0 else 1.0
    direction = np.zeros(len(fit.mean))
    direction[one] = 1 / fit.deviations[one]
    direction[other] = opposite / fit.deviations[other]
    return direction


def next_reading(fit: Fit, given: Sequence[Proposal]) -> str | None:
    """The one that would narrow the causes most, by the information in it; None where none tells much."""
    best = max(given, key=lambda each: each.told(fit.covariance), default=None)
    if best is None or best.told(fit.covariance) < _WORTH:
        return None
    shares = [best.left(fit.covariance, _alone(fit, number)) for number in range(len(fit.problem.causes))]
    number = int(np.argmin(shares))
    name = fit.problem.causes[number].label
    then = f"the band of {name} would be {per_cent(shares[number])} as wide as it is now"
    return f"The reading that would tell most next: {_named(fit, best.reading)}; {then}"


def _alone(fit: Fit, number: int) -> Floats:
    direction = np.zeros(len(fit.mean))
    direction[number] = 1.0
    return direction


def _named(fit: Fit, reading: Reading) -> str:
    coupon = "coupon " if reading.sample in fit.problem.coupons else ""
    return f"{coupon}{reading.sample}, {reading.name}"
