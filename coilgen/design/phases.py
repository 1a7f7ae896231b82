"""Which coil of an array belongs to which phase, and which way round: by the star of slots.

The voltages that a mover's poles induce in equal coils are phasors of equal length. Each goes to the phase
whose axis, or its reverse, is nearest, so that the phases' sums are as long as they can be and stand evenly.
"""

import cmath
import math
from collections.abc import Iterable, Sequence
from itertools import cycle, islice, takewhile

from coilgen.frozen import dataclass

LETTERS = "ABCDEFGHIJKL"
MOST_PHASES = len(LETTERS)
_NOTHING = 1e-9
_EVEN = 0.01
"""Of the longest phase's sum, by which those of the others may differ from it."""


@dataclass(frozen=True)
class Connected:
    """One coil's phase, counted from 0, and its sense: 1, or -1 where it is joined the other way round."""

    phase: int
    sense: int

    @property
    def letter(self) -> str:
        """As a phase order has it: small where the coil is reversed."""
        letter = LETTERS[self.phase]
        return letter if self.sense > 0 else letter.lower()


def axis(phase: int, phases: int) -> float:
    """Electrical angle at which a phase's current is greatest, rad; of two phases a right angle apart.

    >>> [round(math.degrees(axis(j, 3))) for j in range(3)], round(math.degrees(axis(1, 2)))
    ([0, 120, 240], 90)
    """
    return phase * math.pi * (2 if phases % 2 else 1) / phases


def read(order: str) -> tuple[Connected, ...]:
    """The coils of a phase order, whose letters are sound."""
    return tuple(Connected(LETTERS.index(letter.upper()), 1 if letter.isupper() else -1) for letter in order)


def in_turn(count: int, phases: int) -> str:
    """Coils dealt to the phases one after another.

    >>> in_turn(5, 3)
    'ABCAB'
    """
    return "".join(islice(cycle(LETTERS[:phases]), count))


def by_star_of_slots(angles: Sequence[float], phases: int) -> str | None:
    """The order with the largest and even sums, for coils at electrical angles, rad; None where none is even.

    Coil 1 is the start of phase A. Of orders that are as good the one is taken that keeps coils of a phase
    together from coil 1 on.

    >>> by_star_of_slots([math.tau * 4 * k / 9 for k in range(9)], 3)
    'AaABbBCcC'
    >>> by_star_of_slots([math.tau * 5 * k / 12 for k in range(12)], 3)
    'AabBCcaABbcC'
    """
    orders = [_dealt(angles, phases, start) for start in _borders(angles, phases)]
    even = [order for order in orders if order[0] == "A" and _even(angles, order, phases)]
    if not even:
        return None
    return max(even, key=lambda order: (round(least_factor(angles, order, phases), 6), _first_run(order)))


def distribution_factors(angles: Sequence[float], order: str, phases: int) -> tuple[float, ...]:
    """Of each phase, the length of its phasors' sum over the sum of their lengths; 0 where they cancel.

    >>> angles = [math.tau * 4 * k / 9 for k in range(9)]
    >>> [round(factor, 4) for factor in distribution_factors(angles, "AaABbBCcC", 3)]
    [0.9598, 0.9598, 0.9598]
    """
    return tuple(abs(total) for total in _sums(angles, order, phases))


def least_factor(angles: Sequence[float], order: str, phases: int) -> float:
    """The distribution factor of the phase in which coils work least together."""
    return min(distribution_factors(angles, order, phases))


def _sums(angles: Sequence[float], order: str, phases: int) -> list[complex]:
    """Mean phasor of each phase's coils; 0 for a phase without any."""
    sums, counts = [0j] * phases, [0] * phases
    for angle, coil in zip(angles, read(order), strict=True):
        sums[coil.phase] += coil.sense * cmath.rect(1.0, angle)
        counts[coil.phase] += 1
    return [total / max(count, 1) for total, count in zip(sums, counts, strict=True)]


def _even(angles: Sequence[float], order: str, phases: int) -> bool:
    """Whether phases of as many coils have sums of one length that stand as far apart as the phases' axes."""
    counts = {order.upper().count(letter) for letter in LETTERS[:phases]}
    sums = _sums(angles, order, phases)
    if len(counts) > 1 or min(map(abs, sums)) < _NOTHING:
        return False
    turned = [total * cmath.rect(1.0, -axis(phase, phases)) for phase, total in enumerate(sums)]
    return max(abs(each - turned[0]) for each in turned) < _EVEN * abs(turned[0])


def _borders(angles: Sequence[float], phases: int) -> Iterable[float]:
    """Where the first phase's sector may begin, rad: just before each phasor or its reverse, once each."""
    sector = math.pi / phases
    found = {round(angle % sector, 9) for angle in angles}
    return sorted(start - sector * back for start in found for back in range(2 * phases))


def _dealt(angles: Sequence[float], phases: int, start: float) -> str:
    """By sectors of half a turn over the phases, the first of which is phase A's and begins at an angle."""
    sector = math.pi / phases
    letters = _around(phases)
    return "".join(
        letters[math.floor((angle - start) / sector + _NOTHING) % len(letters)] for angle in angles
    )


def _around(phases: int) -> list[str]:
    """Phases and reversed phases by the angle of their axes, from A on.

    >>> _around(3), _around(2)
    (['A', 'c', 'B', 'a', 'C', 'b'], ['A', 'B', 'a', 'b'])
    """
    axes = {
        Connected(j, sense).letter: axis(j, phases) + (sense < 0) * math.pi
        for j in range(phases)
        for sense in (1, -1)
    }
    return sorted(axes, key=lambda letter: round(axes[letter] % math.tau, 9))


def _first_run(order: str) -> int:
    """How many coils from the first on are of one phase."""
    return len(list(takewhile(lambda letter: letter.upper() == order[0].upper(), order)))
