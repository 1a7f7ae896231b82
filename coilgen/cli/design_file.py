"""The design file that a command names: read, or refused with the name that is likely meant."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coilgen.cli.deferred import defer
from coilgen.cli.program import refuse

if TYPE_CHECKING:
    from coilgen.design.design import Design

_TOOLS_OF_NUMPY = ("numpy.f2py", "numpy.testing")
"""scipy asks numpy for all its parts as it is imported: these take a third of its time, and are of no use."""
DESIGN = click.argument("design", type=click.Path(path_type=Path))


def read_named(path: Path) -> Design:
    """The design; a name that is a little off is refused with the likely one."""
    from coilgen.design.reading import read

    refuse_missing(path)
    design = read(path)
    for tool in _TOOLS_OF_NUMPY:
        defer(tool)
    return design


def refuse_missing(path: Path) -> None:
    """Tells the likely name of a file that is not there."""
    if not os.path.exists(path):  # noqa: PTH110  # Path.exists raises for a name that is too long
        likely = _likely(path)
        if likely is not None:
            refuse(f"{path}: no such file; did you mean {likely}?")


def _likely(path: Path) -> Path | None:
    """The design file that stands where a missing one was looked for, with a name most like it."""
    from coilgen.catalogue import nearest

    if not path.parent.is_dir():
        return None
    near = nearest(f"{path.name.removesuffix('.toml')}.toml", (p.name for p in path.parent.glob("*.toml")))
    return None if near is None else path.parent / near
