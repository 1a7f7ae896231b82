"""What a caution is: a whole sentence for the designer; one that tells of harm begins with a warning."""

from collections.abc import Iterable

WARNING = "Warning: "
"""How a caution begins that tells of harm: to people, or to coil, board, magnet or drive."""


def warns(caution: str) -> bool:
    """Whether a caution tells of harm."""
    return caution.startswith(WARNING)


def ranked(cautions: Iterable[str]) -> tuple[str, ...]:
    """Each caution once, those that tell of harm first, else as they come.

    >>> ranked(["Mind this.", "Warning: it burns.", "Mind this."])
    ('Warning: it burns.', 'Mind this.')
    """
    return tuple(sorted(dict.fromkeys(cautions), key=lambda caution: not warns(caution)))
