"""Compares a design with its variants: a table on the screen, or a file for programs."""

import shlex
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import click

from coilgen.cli.compiling import announce_compilation
from coilgen.cli.delivery import DeliveryError, deliver_file, refuse_blocked_file
from coilgen.cli.findings import show_remarks
from coilgen.cli.terminal import show_table, show_text, step
from coilgen.design.design import Design
from coilgen.errors import UserError
from coilgen.job import ESTIMATE
from coilgen.processors import processors
from coilgen.result.caution import ranked
from coilgen.study.compare import Comparison
from coilgen.study.comparison_text import (
    BEST,
    cells,
    common_cautions,
    csv_text,
    json_text,
    same_for_all,
    single_cautions,
    verdicts,
    where,
)


class EndedError(UserError):
    """The work was cut off from outside."""


_TEXTS = {"json": json_text, "csv": csv_text}


def compare(design: Design, path: Path, form: str | None, out: Path | None) -> None:
    """Shows the table, or gives one of the forms to standard output or to a file.

    path: where the design was read from.
    """
    form = form or _form_of(out)
    if out is not None:
        _refuse_blocked(out, path)
    announce_compilation(design, *(variant.design for variant in design.variant))
    comparison = _compared(design)
    if form is None:
        _show(comparison, path)
        return
    content = _TEXTS[form](comparison).encode()
    if out is None:
        click.echo(content, nl=False)
        return
    deliver_file(content, out)
    click.echo(f"wrote {out}")


def _refuse_blocked(out: Path, design: Path) -> None:
    refuse_blocked_file(out)
    if out.exists() and out.samefile(design):
        raise DeliveryError(f"--out: {out} is the design itself; name another file")


def _form_of(out: Path | None) -> str | None:
    """What the ending of the file asks for."""
    if out is None:
        return None
    form = out.suffix.lower().removeprefix(".")
    if form not in _TEXTS:
        raise DeliveryError(f"--out: {out} ends in neither .json nor .csv; say --json or --csv too")
    return form


def _compared(design: Design) -> Comparison:
    from coilgen.study.compare import compare

    with step("comparing") as far:
        try:
            return compare(
                design,
                workers=processors(),
                progress=lambda finished, count: far(f"{finished} of {count}"),
            )
        except BrokenProcessPool:
            raise EndedError(
                "a process that computed was ended from outside, perhaps for lack of memory; "
                "nothing is written, try again"
            ) from None


def _show(comparison: Comparison, design: Path) -> None:
    show_table(*cells(comparison))
    same = same_for_all(comparison)
    if same:
        show_text(same, label="for all:")
    show_text(where(comparison))
    if any(comparison.best.values()):
        show_text(f"{BEST} the best of its column among the variants that can do all that is asked")
    for name, says in verdicts(comparison):
        show_text(says, label=f"{name}:", style="bold red")
    show_remarks(ranked((*common_cautions(comparison), ESTIMATE)))
    if single_cautions(comparison):
        command = f"coilgen compare {shlex.quote(str(design))} --json"
        show_text(f"{single_cautions(comparison)} cautions for single variants: {command}")
