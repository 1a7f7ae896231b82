"""Sweeps a design into a file that grows row by row, and goes on with one that was stopped."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coilgen.cli.comparing import EndedError
from coilgen.cli.compiling import announce_compilation
from coilgen.cli.delivery import DeliveryError, deliver_file, refuse_blocked_file
from coilgen.cli.findings import show_remarks
from coilgen.cli.lock import locked
from coilgen.cli.terminal import show_text, step
from coilgen.design.as_made import calibration_told
from coilgen.processors import processors
from coilgen.study.plan import Plan, plan
from coilgen.study.sweep_block import Row, block_rows
from coilgen.study.sweep_cluster import refuse_without_workers
from coilgen.study.sweep_page import has_page, page
from coilgen.study.sweep_rows import rows
from coilgen.study.sweep_text import NOT_BUILT, head, lines, rows_in, summary

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.screen.screen import Screened

MANY = 10_000
"""Rows over which a sweep says beforehand how long and how large."""
_TRIED = 6
"""Rows that tell how long the rest takes."""
_SCREENED, _LEARNED = 0.015, 60
"""Of an exact row, what a screened one costs; exact rows that the screen learns from, about."""


def sweep(
    design: Design,
    path: Path,
    out: Path,
    figures: str | None,
    *,
    workers: int | None,
    cluster: str | None,
    screen: bool = False,
) -> None:
    """Writes every row that is not there yet, then the rows in their order. path: of the design."""
    asked = plan(design, None, _named(figures), screened=screen)
    _refuse_blocked(out, path)
    if cluster is not None:
        refuse_without_workers(cluster)
    announce_compilation(asked.design)
    place = Path(os.path.realpath(out))
    with locked(place.with_name(f".{place.name}-sweep.lock")):
        known = _begun(asked, place, out)
        left = [row for row in range(asked.count) if row not in known]
        if left:
            _say_how_long(asked, left, workers or processors(), cluster)
            _compute(asked, left, place, workers or processors(), cluster)
        _finish(asked, place, out)
    taken = design.drive_taken(axis.key for axis in asked.axes)
    show_remarks((*taken, *calibration_told(design)))


def _named(figures: str | None) -> list[str] | None:
    return None if figures is None else [name.strip() for name in figures.split(",") if name.strip()]


def _refuse_blocked(out: Path, design: Path) -> None:
    if out.suffix.lower() != ".csv":
        raise DeliveryError(f"--out: {out} does not end in .csv; name the file so")
    refuse_blocked_file(out)
    if out.exists() and out.samefile(design):
        raise DeliveryError(f"--out: {out} is the design itself; name another file")


def _begun(asked: Plan, place: Path, out: Path) -> set[int]:
    """Numbers of the rows that are there; what a stopped run left of a line is cut off."""
    if not place.exists():
        place.write_text(head(asked), encoding="utf-8", newline="")
        return set()
    content = place.read_bytes()
    kept = content[: content.rfind(b"\n") + 1]
    found = rows_in(asked, _text(kept, out), str(out))
    if kept != content or not kept:
        place.write_bytes(kept or head(asked).encode())
    return {row.number for row in found}


def _text(content: bytes, out: Path) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError:
        raise DeliveryError(f"--out: {out} is no file of a sweep; name another file") from None


def _say_how_long(asked: Plan, left: list[int], workers: int, cluster: str | None) -> None:
    """Before a long sweep: from a few rows all over it."""
    if len(left) <= MANY:
        return
    tried = left[:: len(left) // _TRIED][:_TRIED]
    began = time.perf_counter()
    found = block_rows(asked, tuple(tried))
    each = (time.perf_counter() - began) / len(tried)
    size = len(lines(asked, found)) / len(tried) * len(left)
    who = "one worker of the cluster" if cluster else f"{workers} process{'es' if workers > 1 else ''}"
    if asked.screened:
        seconds = _SCREENED * each * len(left) + _LEARNED * each
        click.echo(f"{len(left):,} rows to screen: about {span(seconds)} besides what is left to exact runs, "
                   f"{size / 1e6:.1f} MB", err=True)  # fmt: skip
        return
    seconds = each * len(left) / (1 if cluster else workers)
    click.echo(f"{len(left):,} rows: at most {span(seconds)} on {who}, {size / 1e6:.1f} MB", err=True)


def span(seconds: float) -> str:
    """A time as people say it.

    >>> span(42), span(200), span(9000), span(2e5)
    ('42 s', '3 min', '2.5 h', '2.3 days')
    """
    for limit, unit, name in ((90, 1, "s"), (5400, 60, "min"), (129600, 3600, "h")):
        if seconds < limit:
            return f"{seconds / unit:.1f} {name}" if name == "h" else f"{seconds / unit:.0f} {name}"
    return f"{seconds / 86400:.1f} days"


def _compute(asked: Plan, left: list[int], place: Path, workers: int, cluster: str | None) -> None:
    with step("sweeping") as far, place.open("ab") as file:
        began = time.monotonic()
        finished = 0
        for block in _rows(asked, left, workers, cluster):
            file.write(lines(asked, block).encode())
            file.flush()
            finished += len(block)
            rest = (time.monotonic() - began) / finished * (len(left) - finished)
            far(f"{finished:,} of {len(left):,} rows, {span(rest)} left")


def _rows(asked: Plan, left: list[int], workers: int, cluster: str | None) -> Iterator[list[Row]]:
    try:
        yield from rows(
            asked, left, workers=min(workers, len(left)), cluster=cluster, screened=partial(_say, asked)
        )
    except BrokenProcessPool:
        raise EndedError(
            "a process that computed was ended from outside, perhaps for lack of memory; "
            "the rows so far are kept, and the same command goes on"
        ) from None


def _say(asked: Plan, found: Screened) -> None:
    """How much was screened, how well, and what is left to exact runs and why."""
    told, exact = int(found.told.sum()), int((found.told & found.exact).sum())
    click.echo(f"screened {told - exact:,} of {asked.count:,} rows after {exact:,} exact ones", err=True)
    if found.errors:
        each = (
            f"{name} {100 * error:.2g} %{' of its rise' if name == 'temperature' else ''}"
            for name, error in found.errors.items()
        )
        click.echo(f"largest error against exact runs not learned from: {', '.join(each)}", err=True)
    for reason, count in found.left.items():
        click.echo(f"{count:,} rows are left to exact runs: {reason}", err=True)


def _finish(asked: Plan, place: Path, out: Path) -> None:
    """Puts the rows into their order, and tells what they are."""
    found = rows_in(asked, place.read_text(encoding="utf-8"), str(out))
    ordered = sorted(found, key=lambda row: row.number)
    content = (head(asked) + lines(asked, ordered)).encode()
    if content != place.read_bytes():
        deliver_file(content, place)
    _tell(asked, ordered, out)
    if has_page(asked):
        deliver_file(page(asked, ordered), place.with_suffix(".html"))
        show_text(f"wrote {out.with_suffix('.html')}")


def _tell(asked: Plan, ordered: Sequence[Row], out: Path) -> None:
    counted = summary(asked, ordered)
    total = counted.pop("rows")
    others = [f"{count:,} {what}" for what, count in counted.items() if count]
    said = ", ".join([f"{total:,} row{'s' if total != 1 else ''}", *others])
    show_text(f"wrote {out}: {said}")
    if counted[NOT_BUILT] == total:
        show_text(f"none can be built; the first: {ordered[0].status}")
