"""A tiny plot of the flux density on the axis, in characters: from high above the board to deep below."""

import sys
from collections.abc import Mapping, Sequence
from typing import Any

from coilgen.cli.terminal import is_terminal, show_text
from coilgen.result.figure import Figure
from coilgen.units import in_mm, readable

WIDTH = 32
_EIGHTHS = " ▏▎▍▌▋▊▉█"


def show_axis_field(figure: Figure) -> None:
    """The plot of a figure, where the output is a terminal whose encoding has the characters."""
    if is_terminal(sys.stdout) and _drawable():
        with_cores = figure.name == "core_flux_density"
        show_text("\n".join(axis_field(figure.value, with_cores=with_cores)))


def axis_field(rows: Sequence[Mapping[str, Any]], *, with_cores: bool = False) -> list[str]:
    """A bar for each height, as long as the flux density is large, board and cores between the sides."""
    largest = max(abs(row["flux_density"]) for row in rows)
    above = sorted((row for row in rows if row["side"] == "top"), key=lambda row: -row["height"])
    below = sorted((row for row in rows if row["side"] != "top"), key=lambda row: row["height"])
    board = f"{'coil and cores' if with_cores else 'board':>14}  " + "─" * WIDTH
    return [
        "B on the axis with the cores" if with_cores else "B on the axis",
        *(_line(row, "above", largest) for row in above),
        board,
        *(_line(row, "below", largest) for row in below),
    ]


def _line(row: Mapping[str, Any], side: str, largest: float) -> str:
    share = abs(row["flux_density"]) / largest if largest else 0.0
    place = f"{in_mm(row['height'])} {side}"
    return f"{place:>14}  {_bar(share)} {readable(row['flux_density'], 'T')}"


def _bar(share: float) -> str:
    """As many eighths of a character as the share of the width has.

    >>> _bar(0.5).strip(), len(_bar(0.3))
    ('████████████████', 32)
    """
    whole, eighths = divmod(round(share * WIDTH * 8), 8)
    return ("█" * whole + (_EIGHTHS[eighths] if eighths else "")).ljust(WIDTH)


def _drawable() -> bool:
    try:
        (_EIGHTHS + "─").encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
