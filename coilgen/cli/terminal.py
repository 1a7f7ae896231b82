"""Output for people: ruled tables and wrapped text on a terminal, plain aligned lines elsewhere."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TextIO

import click

if TYPE_CHECKING:
    from rich.console import Console

Row = Sequence[str]

PATIENCE = 1.0
"""Seconds after which a running step says so."""


def group_row(title: str, columns: int) -> Row:
    """A row that only names the rows under it."""
    return (f"[{title}]", *[""] * (columns - 1))


def show_table(headers: Row, rows: Sequence[Row]) -> None:
    """A table: its last column wraps on a terminal, and no line is broken elsewhere.

    Heads may have several lines, the same number each.
    """
    if is_terminal(sys.stdout):
        console = _console()
        console.print(_ruled(headers, rows, console.width))
        return
    heads = [*zip(*(header.split("\n") for header in headers), strict=True)]
    widths = [max(len(row[k]) for row in (*heads, *rows)) for k in range(len(headers))]
    for row in (*heads, *rows):
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo(line.rstrip())


def show_text(text: str, *, label: str = "", style: str = "") -> None:
    """A sentence; on a terminal it is wrapped beside its label, which bears the style."""
    if not is_terminal(sys.stdout):
        click.echo(f"{label} {text}" if label else text)
        return
    from rich.table import Table
    from rich.text import Text

    if not label:
        _console().print(Text(text, style=style))
        return
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()
    grid.add_row(Text(label, style=style), Text(text))
    _console().print(grid)


def show_notice(text: str) -> None:
    """A line about the work itself, on a terminal only and never among the output."""
    if is_terminal(sys.stderr):
        click.echo(text, err=True)


@contextlib.contextmanager
def step(says: str) -> Iterator[Callable[[str], None]]:
    """Says what is going on once it takes longer than a moment, on a terminal only.

    Gives a function that takes how far it has come.
    """
    if not is_terminal(sys.stderr):
        yield lambda far: None
        return
    from threading import Timer

    status = _console(stderr=True).status(f"{says} …")
    timer = Timer(PATIENCE, status.start)
    timer.start()
    try:
        yield lambda far: status.update(f"{says}, {far} …", spinner="dots")  # drawn at once
    finally:
        timer.cancel()
        timer.join()
        status.stop()


def is_terminal(stream: TextIO | None) -> bool:
    """A stream that was closed before the start is None."""
    return stream is not None and stream.isatty()


def _ruled(headers: Row, rows: Sequence[Row], width: int) -> Any:
    """Names in the first column stay whole as long as others can give way."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(
        box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold"
    )
    for header, wide in zip(headers, _column_widths(headers, rows, width), strict=True):
        table.add_column(header, overflow="fold", width=wide)
    for row in rows:
        table.add_row(*(Text(cell, style="bold" if row[0].startswith("[") else "") for cell in row))
    return table


_NARROW = 6
"""Columns of a table that is too wide are not made narrower than this before its names are."""


def _column_widths(headers: Row, rows: Sequence[Row], width: int) -> list[int]:
    """Of the columns, with two spaces between them, within a width.

    Where that is too little, the last column gives way down to its longest word if it holds sentences, then
    the widest of the others, at last the names. Told widths are kept, so nothing is cut off.

    >>> _column_widths(("name", "value", "what"), [("a_long_name", "1 to 2 mm", "some words about it")], 34)
    [11, 9, 10]
    """
    lines = [*zip(*(header.split("\n") for header in headers), strict=True), *rows]
    wide = [max(1, *(len(line[k]) for line in lines)) for k in range(len(headers))]
    excess = sum(wide) + 2 * (len(wide) - 1) - width
    if excess > 0 and _wraps(rows):
        word = max(len(word) for line in lines for word in line[-1].split() or [""])
        given = min(excess, max(0, wide[-1] - max(word, _NARROW)))
        wide[-1], excess = wide[-1] - given, excess - given
    others = [*range(1, len(wide))] or [0]
    for _ in range(excess):
        widest = max(others, key=lambda k: wide[k])
        wide[widest if wide[widest] > _NARROW else 0] -= 1
    return [max(1, each) for each in wide]


def _wraps(rows: Sequence[Row]) -> bool:
    """Whether the last column holds sentences: they take the room that is left."""
    return any(" " in row[-1] for row in rows)


def _console(stderr: bool = False) -> Console:
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=False)
