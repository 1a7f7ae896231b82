"""Makes a panel of samples: checks it, then writes every file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from coilgen.cli.compiling import announce_compilation
from coilgen.cli.delivery import recover, refuse_blocked
from coilgen.cli.fab_set_before import deliver_set
from coilgen.cli.findings import show_findings, show_refusal, show_remarks
from coilgen.cli.terminal import show_table, show_text, step

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.panel.files import PanelResult


def panel(file: Path, out: Path, *, accept_findings: bool) -> bool:
    """Whether findings kept the files from being written."""
    with step("checking"):
        from coilgen.study.panel.files import checked, with_files

        result = checked(file)
        target = out / result.panel.name
        refuse_blocked(target)
        recover(target)
    show_findings(result.findings)
    if result.findings and not accept_findings:
        show_refusal(target)
        return True
    announce_compilation(*_all_designs(result))
    with step("computing figures and writing files"):
        result = with_files(result)
        replaced = deliver_set(result.files, target, result.panel.name)
    _show(result, target)
    show_remarks(replaced)
    return False


def _all_designs(result: PanelResult) -> list[Design]:
    return [design for each in result.panel.boards for _, design in each.board.serves]


def _show(result: PanelResult, target: Path) -> None:
    """Which board is what, and what was written."""
    from coilgen.study.panel.panel import told

    several = len(result.designs) > 1
    rows = [
        (
            each.board.label,
            told(each.board, several=several),
            f"{each.middle.real * 1e3:.2f}, {each.middle.imag * 1e3:.2f}",
            "turned" if each.turned else "",
        )
        for each in result.panel.boards
    ]
    show_table(("label", "board", "middle x, y mm", ""), rows)
    size = result.panel.plan.size * 1e3
    show_text(f"{size.real:.1f} x {size.imag:.1f} mm, {result.panel.plan.separation}", label="panel:")
    show_text(f"{len(result.files)} files in {target}{os.sep}", style="bold")
    name = result.panel.name
    show_text(f"{name}-fab.zip", label="  for the fab    ")
    show_text(f"{name}.html, {name}.svg", label="  for the eye    ")
    tables = ", ".join(path for path in result.files if path.endswith(".csv"))
    show_text(tables, label="  for programs   ")
