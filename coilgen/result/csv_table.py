"""Tables as CSV: for programs, and safe to open in a spreadsheet."""

import csv
import io
import re
from collections.abc import Iterable

_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?([eE][+-]?[0-9]+)?")
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
"""Letters that make a spreadsheet take a cell for a formula, full-width ones in some languages.

Common practice against "CSV injection", no standard: an apostrophe before them makes the cell a text.
"""


def csv_table(rows: Iterable[Iterable[str]]) -> str:
    """RFC 4180 but for plain line ends; a text that a spreadsheet would run gets an apostrophe before it.

    >>> csv_table([["=1+1", "-3.5", "5 V"]])
    "'=1+1,-3.5,5 V\\n"
    """
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([_safe(cell) for cell in row] for row in rows)
    return text.getvalue()


def _safe(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA) and not _NUMBER.fullmatch(cell) else cell
