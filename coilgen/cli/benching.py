"""Readings of a bench held against a design: a table, and files."""

from __future__ import annotations

from pathlib import Path

import click

from coilgen.cli.compiling import announce_compilation
from coilgen.cli.delivery import DeliveryError, deliver_file, refuse_blocked_file, refuse_blocked_in
from coilgen.cli.terminal import show_table, show_text, step
from coilgen.errors import DesignError, Fault
from coilgen.study.bench.bench import Bench, bench, distinct_boards, named_boards, of_one_winding
from coilgen.study.bench.files import blank, files_of
from coilgen.study.bench.form import Form, read_form
from coilgen.study.bench.samples import Samples
from coilgen.study.bench.text import BETTER, CAUSES, READINGS, better_rows, cause_rows, reading_rows

SAMPLE = "A1"
"""Of an empty form."""


def show_bench(measured: Path, built: Samples, out: Path) -> None:
    """Reads the form, tells what was found, and writes the files into a folder."""
    form, design = _form(measured), built.design
    names = [f"{design.name}{ending}" for ending in ("-bench.html", "-bench.csv", "-calibration.toml")]
    refuse_blocked_in(out, names)
    announce_compilation(design)
    with step("explaining the readings"):
        found = _found(form, measured, built)
        files = files_of(found)
    out.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        deliver_file(content, out / name)
    _show(found, form)
    show_text(f"written to {out}: {', '.join(files)}")


def _form(measured: Path) -> Form:
    try:
        return read_form(measured)
    except DesignError as error:
        raise _in_file(error, measured) from None


def _found(form: Form, measured: Path, built: Samples) -> Bench:
    try:
        return bench(form.readings, built.design, built.boards, built.coupons)
    except DesignError as error:
        raise _in_file(error, measured) from None


def _in_file(error: DesignError, path: Path) -> DesignError:
    """Faults with the file that they stand in."""
    return DesignError(
        fault if fault.key == str(path) else Fault(key=f"{path}: {fault.key}", says=fault.says)
        for fault in error.faults
    )


def _show(found: Bench, form: Form) -> None:
    for title, head, rows in (
        ("Measured, predicted, explained", READINGS, reading_rows(found)),
        ("What was learnt", CAUSES, cause_rows(found)),
        ("Boards to come", BETTER, better_rows(found)),
    ):
        show_text(title, style="bold")
        show_table(head, rows)
        show_text("")
    for remark in found.remarks:
        show_text(remark, label="-")
    if form.empty:
        show_text(f"{form.empty} rows of the form have no value and were left out")


def write_blank(place: Path, built: Samples) -> None:
    """An empty form for the design and its variants, or for boards and coupons of a panel by their labels.

    What stands there already is not written over.
    """
    if place.suffix.lower() not in (".csv", ".toml"):
        raise DeliveryError(f"{place} ends neither in .csv nor in .toml; name the empty form so")
    refuse_blocked_file(place)
    if place.exists():
        raise DeliveryError(f"{place} exists already, perhaps filled in; name another file")
    names = [SAMPLE, *(each.name for each in built.design.variant)]
    boards = of_one_winding(built.boards or named_boards(names, built.design))
    # Each label of a panel is a board, of which there may be copies.
    one = distinct_boards(boards) if built.boards is None else dict.fromkeys(boards, ())
    with step("writing the form"):
        content = blank(
            {name: boards[name] for name in one},
            built.coupons,
            toml=place.suffix.lower() == ".toml",
            alike=[alike for alike in one.values() if len(alike) > 1],
        )
    deliver_file(content, place)
    click.echo(f"wrote {place}")
