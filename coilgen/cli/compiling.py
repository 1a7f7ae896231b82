"""Says that the solvers of cores and targets are compiled, the one time that they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.cli.terminal import show_notice

if TYPE_CHECKING:
    from coilgen.design.design import Design

NOTICE = "compiling the solvers of cores and targets once; this takes some seconds"


def announce_compilation(design: Design, *others: Design) -> None:
    """A line where one of the designs needs compiled code that neither this nor an earlier run has made.

    What coils and magnets alone need is compiled within a second, and nothing is said of it.
    """
    if any(each.core or each.target for each in (design, *others)) and _due():
        show_notice(NOTICE)


def _due() -> bool:
    from coilgen.physics.base.compiled import compilation_due
    from coilgen.physics.core.brick_kernels import add_planes
    from coilgen.physics.core.charge_field import add_boxes

    return compilation_due(add_planes, add_boxes)
