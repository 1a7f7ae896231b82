"""What is wrong with a text that is no TOML, in the words of its writer."""

import re

from coilgen.errors import DesignError

_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_HEADER = re.compile(r"\s*(\[\[?)\s*([\w.-]+)\s*\]\]?\s*(?:#.*)?$")
_SLIPS = (
    (
        re.compile(r"=\s*([-+]?[0-9][0-9._]{0,30})\s*([A-Za-zµμΩ°%]{1,20})\s*(?:#.*)?$"),
        r'\1 \2 is not in quotes; a number with a unit is text: write "\1 \2"',
    ),
    (
        re.compile(r"=\s*([-+]?[0-9]{1,30}),([0-9]{1,30})\s*(?:#.*)?$"),
        r"\1,\2 has a decimal comma; write a point: \1.\2",
    ),
)
"""Slips of the pen at a line's end, each with what to do about it; what is longer is no slip of a number."""


def broken(says: str, text: str) -> DesignError:
    """The fault at the place that the reader of TOML names in what it says of a text.

    >>> print(broken("Expected newline (at line 1, column 9)", "turns = 5 mm"))
    line 1, column 9: 5 mm is not in quotes; a number with a unit is text: write "5 mm"
    """
    found = _PLACE.search(says)
    line, column = (found.group(1), found.group(2)) if found else (None, None)
    if line is None or column is None:
        line, column = str(text.count("\n") + 1), str(len(text) - text.rfind("\n"))
    lines = text.split("\n")[: int(line)]
    name = _both_ways(lines)
    if name is not None:
        told = (
            f"[{name}] and [[{name}]] stand together; write [[{name}]] for each of several, or one [{name}]"
        )
        return DesignError.at(f"line {line}", told)
    reason = _PLACE.sub("", says)
    slip = _slip(lines[-1]) or _told_twice(lines[-1], reason)
    told = slip or f"broken TOML: {reason}; look for quotes, brackets and = there"
    return DesignError.at(f"line {line}, column {column}", told)


def _slip(line: str) -> str | None:
    found = ((pattern.search(line), mend) for pattern, mend in _SLIPS)
    return next((slip.expand(mend) for slip, mend in found if slip), None)


def _told_twice(line: str, reason: str) -> str | None:
    """A key or a heading that stands in the file already."""
    if not reason.startswith(("Cannot overwrite", "Cannot declare")):
        return None
    heading = _HEADER.match(line)
    what = f"[{heading.group(2)}]" if heading else line.partition("=")[0].strip()
    return f"{what} is told twice; keep one of the two"


def _both_ways(lines: list[str]) -> str | None:
    """The table that the last line begins as one of several where an earlier line has it as the only one, or
    the other way round."""
    headers = [_HEADER.match(each) for each in lines]
    last = headers[-1] if headers else None
    if last is None:
        return None
    earlier = {found.group(1) for found in headers[:-1] if found and found.group(2) == last.group(2)}
    return last.group(2) if earlier - {last.group(1)} else None
