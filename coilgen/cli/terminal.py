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
    """Names in the first column stay whole up to half of the width."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(
        box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold"
    )
    name = max((len(row[0]) for row in rows), default=0)
    for number, header in enumerate(headers[:-1]):
        table.add_column(header, overflow="fold", min_width=None if number else min(name, width // 2))
    table.add_column(headers[-1], overflow="fold", ratio=1 if _wraps(rows) else None)
    for row in rows:
        table.add_row(*(Text(cell, style="bold" if row[0].startswith("[") else "") for cell in row))
    return table


def _wraps(rows: Sequence[Row]) -> bool:
    """Whether the last column holds sentences: they take the room that is left."""
    return any(" " in row[-1] for row in rows)


def _console(stderr: bool = False) -> Console:
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=False)
