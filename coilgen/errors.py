"""Faults of the user's making: where they are, what they say. Anything else that is raised is our bug."""

from collections.abc import Iterable

from coilgen.frozen import dataclass

_LONGEST = 60
_LONGEST_NAME = 40
_LONGEST_KEY = 120


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault: the key or place it stands at, and what was given, what is allowed, what to do.

    >>> print(Fault(key="board", says="no outline"))
    board: no outline
    """

    key: str
    says: str

    def __str__(self) -> str:
        key = self.key if len(self.key) <= _LONGEST_KEY else self.key[:_LONGEST_KEY] + "…"
        return f"{key}: {self.says}" if key else self.says


class UserError(Exception):
    """Base of everything a user can put right; the command line shows its text and no traceback."""


class DesignError(UserError, ValueError):
    """A design that cannot be read or drawn: carries every fault found, one line of text for each.

    It is a ValueError too, so that a model's own checks can raise it with the keys they concern.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[type["DesignError"], tuple[tuple[Fault, ...]]]:
        """Between processes the faults are handed on, not their text."""
        return type(self), (self.faults,)

    @classmethod
    def at(cls, key: str, says: str) -> "DesignError":
        """A single fault."""
        return cls((Fault(key=key, says=says),))


class UnsolvedError(DesignError):
    """A solver gives up on a design: what needs no answer of it is told all the same."""


def shown(value: object) -> str:
    """A given value as the file's writer would recognise it, cut to a readable length.

    >>> shown(True), shown("6 furlong"), shown(0.15), shown([1, 2])
    ('true', '"6 furlong"', '0.15', 'a list')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{_short(value)}"'
    if isinstance(value, int) and value.bit_length() > 64:
        return "a number of over 19 digits"
    if isinstance(value, int | float):
        return f"{value:.9g}"
    return _kind(value)


def named(key: object) -> str:
    """A key as it would be written in the file, cut to a readable length.

    >>> named("trace_width"), named("two words")
    ('trace_width', '"two words"')
    """
    text = str(key)
    plain = text.isascii() and text.replace("-", "_").isidentifier()
    return text if plain and len(text) <= _LONGEST_NAME else shown(text)


def _short(text: str) -> str:
    line = "".join(letter if letter.isprintable() else "?" for letter in text[: _LONGEST + 1])
    return line if len(text) <= _LONGEST else line[:_LONGEST] + "…"


def _kind(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if value is None:
        return "nothing"
    return "a date or time" if hasattr(value, "isoformat") else "a value of an unknown kind"
