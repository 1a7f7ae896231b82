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

_FOR_NAMES = 2 / 3
"""Of a terminal's width, up to which names in a table's first column are kept on one line."""
PATIENCE = 1.0
"""Seconds after which a running step says so."""


def group_row(title: str, columns: int) -> Row:
    """A row that only names the rows under it."""
    return (f"[{title}]", *[""] * (columns - 1))


def show_table(headers: Row, rows: Sequence[Row]) -> None:
    """A table: on a terminal that is too narrow it wraps, or goes on below; no line is broken elsewhere.

    Heads may have several lines, the same number each.
    """
    if is_terminal(sys.stdout):
        console = _console()
        for block in _blocks(headers, rows, console.width):
            part = [tuple(row[k] for k in block) for row in (headers, *rows)]
            console.print(_ruled(part[0], part[1:], console.width))
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
    """One table within a width."""
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


def _blocks(headers: Row, rows: Sequence[Row], width: int) -> list[list[int]]:
    """Columns of tables under one another that fit a width with words whole, each with the names before it.

    Names are whole too, but for those that leave the other columns little room.

    >>> _blocks(("name", "value", "what"), [("a_long_name", "12.5", "some words")], 20)
    [[0, 1], [0, 2]]
    """
    words = [_longest_word(headers, rows, k) for k in range(len(headers))]
    name = max((len(row[0]) for row in rows), default=0)
    words[0] = max(words[0], name if name <= _FOR_NAMES * width else 0)
    blocks = [[0]]
    for k in range(1, len(headers)):
        held = blocks[-1]
        if len(held) > 1 and sum(words[each] + 2 for each in held) + words[k] > width:
            blocks.append([0])
        blocks[-1].append(k)
    return blocks


def _longest_word(headers: Row, rows: Sequence[Row], column: int) -> int:
    return max((len(word) for line in (headers, *rows) for word in line[column].split()), default=1)


def _column_widths(headers: Row, rows: Sequence[Row], width: int) -> list[int]:
    """Of the columns, with two spaces between them, within a width.

    Where that is too little, sentences in the last column give way down to their longest word, then names,
    then the widest of the others; words are broken only where all are down. Told widths are kept, so nothing
    is cut off.

    >>> _column_widths(("name", "value", "what"), [("a_long_name", "1 to 2 mm", "some words about it")], 34)
    [11, 9, 10]
    """
    lines = [*zip(*(header.split("\n") for header in headers), strict=True), *rows]
    wide = [max(1, *(len(line[k]) for line in lines)) for k in range(len(headers))]
    least = [_longest_word(headers, rows, k) for k in range(len(headers))]
    excess = sum(wide) + 2 * (len(wide) - 1) - width
    for k in [len(wide) - 1, 0] if _wraps(rows) else [0]:
        given = min(max(excess, 0), wide[k] - least[k])
        wide[k], excess = wide[k] - given, excess - given
    for _ in range(excess):
        loose = [k for k in range(len(wide)) if wide[k] > least[k]] or range(len(wide))
        wide[max(loose, key=lambda k: wide[k])] -= 1
    return [max(1, each) for each in wide]


def _wraps(rows: Sequence[Row]) -> bool:
    """Whether the last column holds sentences: they take the room that is left."""
    return any(" " in row[-1] for row in rows)


def _console(stderr: bool = False) -> Console:
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=False)
