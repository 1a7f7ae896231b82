"""What rules find and what a designer must know, as the terminal tells them."""

from collections.abc import Sequence
from pathlib import Path

import click

from coilgen.cli.terminal import Row, show_table, show_text
from coilgen.result.caution import WARNING, warns
from coilgen.result.rule import Finding

NOTE, ALARM = "yellow", "bold red"


def show_findings(findings: Sequence[Finding]) -> None:
    """The findings with value, limit and place, then what to do about each."""
    if not findings:
        show_text("clean", label="rules:", style="bold green")
        return
    show_table(
        ("", "rule", "value", "limit", "layer", "at x, y mm"),
        [_findings_row(run) for run in _alike(findings)],
    )
    for numbers, says in _advice(findings):
        show_text(says, label=numbers)
    count = f"{len(findings)} finding{'s' if len(findings) > 1 else ''}"
    show_text(count, label="rules:", style="bold red")


MOST_ALIKE = 3
"""Findings in a row that are alike but for their places, and each still have a row of their own."""

Run = list[tuple[int, Finding]]


def _alike(findings: Sequence[Finding]) -> list[Run]:
    """Findings with their numbers: many neighbours alike but for their places together, else each alone."""
    runs: list[Run] = []
    for number, finding in enumerate(findings, 1):
        if runs and _kind(runs[-1][-1][1]) == _kind(finding):
            runs[-1].append((number, finding))
        else:
            runs.append([(number, finding)])
    return [part for run in runs for part in ([run] if len(run) > MOST_ALIKE else [[each] for each in run])]


def _kind(finding: Finding) -> tuple[object, ...]:
    return (finding.rule, *finding.amounts, finding.layer, finding.says)


def _findings_row(run: Run) -> Row:
    """One finding, or many alike with the first one's place and how many places there are."""
    (number, finding), (last, _) = run[0], run[-1]
    return (
        f"{number:>2}" if last == number else f"{number:>2} to {last}",
        finding.rule,
        *finding.amounts,
        "" if finding.layer is None else str(finding.layer),
        finding.place if last == number else f"{finding.place} and {last - number} more places".lstrip(),
    )


def _advice(findings: Sequence[Finding]) -> list[tuple[str, str]]:
    """Each sentence once, after the numbers of its findings: alone, or from first to last of a run."""
    told: list[tuple[list[int], str]] = []
    for number, finding in enumerate(findings, 1):
        if told and told[-1][1] == finding.says:
            told[-1][0].append(number)
        else:
            told.append(([number], finding.says))
    return [(f"{run[0]:>2}" if len(run) == 1 else f"{run[0]:>2} to {run[-1]}", says) for run, says in told]


def show_refusal(target: Path) -> None:
    """That findings keep files from being written into a folder."""
    kept = f"; {target} is left as it was" if target.exists() else ""
    says = "mend the findings, or write all the same with --accept-findings"
    click.echo(f"nothing written{kept}: {says}", err=True)


def show_remarks(remarks: Sequence[str]) -> None:
    """What a designer must know, a line for each."""
    for remark in remarks:
        if warns(remark):
            show_text(remark.removeprefix(WARNING), label=WARNING.strip().lower(), style=ALARM)
        else:
            show_text(remark, label="note:", style=NOTE)
