"""What a caution is: a whole sentence for the designer; one that tells of harm begins with a warning."""

import re
from collections.abc import Iterable

WARNING = "Warning: "
"""How a caution begins that tells of harm: to people, or to coil, board, magnet or drive."""

_FAULTS = (
    ("No steady state", "it heats up until it burns out", True),
    ("The copper( of .+?)? melts", "its copper melts", True),
    ("Danger of fire:", "danger of fire", True),
    ("There may be no steady state", "it may burn out", True),
    ("Too hot for this board:", "too hot for the board", True),
    ("The coil pushes the target off", "it pushes the target off", False),
    ("The coil does not pull the target", "it does not pull the target", False),
    ("The pull of .+ does not hold", "it does not hold the target", False),
    ("The pull holds the target only while the coil is cold", "warm, it does not hold the target", False),
    ("Voltages of .+ cancel", "its currents hardly move the mover", False),
    ("The mover does not start from every place", "the mover does not start from every place", False),
    ("Cogging of .+ may hold the mover", "cogging may hold the mover", False),
    ("The copper passes", "hotter than you allow", True),
    ("The magnet weakens for good", "its heat weakens the magnet", True),
)
"""How warnings begin that tell of a coil that breaks or does not do its work under its drive, the gravest
first, each with the verdict in short, and whether heat that lasts is what does it."""
OF_HEAT = frozenset(short for _, short, heats in _FAULTS if heats)
"""Verdicts in short that are of a drive that stays on."""


def listed(names: Iterable[str]) -> str:
    """Names in a sentence.

    >>> listed(["core 1", "core 2", "the target"])
    'core 1, core 2 and the target'
    """
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def warns(caution: str) -> bool:
    """Whether a caution tells of harm."""
    return caution.startswith(WARNING)


def fault_told(cautions: Iterable[str]) -> str:
    """The gravest that warnings tell of a coil that breaks or does not do its work, in short; else empty.

    >>> fault_told(["Warning: Danger of fire: 260 °C.", "Warning: The magnet weakens for good."])
    'danger of fire'
    >>> fault_told(["Warning: A strong magnet pinches.", "Warning: Danger of fire, perhaps: 220 °C."])
    ''
    """
    gravest = min(map(_gravity, cautions), default=len(_FAULTS))
    return _FAULTS[gravest][1] if gravest < len(_FAULTS) else ""


def ranked(cautions: Iterable[str]) -> tuple[str, ...]:
    """Each caution once, the gravest first: faults, others that tell of harm, the rest as they come.

    >>> ranked(["Mind this.", "Warning: it pinches.", "Mind this.", "Warning: Danger of fire: 260 °C."])
    ('Warning: Danger of fire: 260 °C.', 'Warning: it pinches.', 'Mind this.')
    """
    return tuple(sorted(dict.fromkeys(cautions), key=lambda caution: (not warns(caution), _gravity(caution))))


def _gravity(caution: str) -> int:
    """Place among the faults, that of no fault after them all; what it is of may stand before it."""
    if warns(caution):
        for place, (begins, *_) in enumerate(_FAULTS):
            if re.match(f"{WARNING}([^:]+: )?{begins}", caution):
                return place
    return len(_FAULTS)
