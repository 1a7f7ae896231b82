"""Boards of a panel by their labels, as the key that came with the panel names them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from coilgen.design.reading import file_text, read
from coilgen.errors import DesignError, Fault, shown
from coilgen.study.panel.samples import variants_of

if TYPE_CHECKING:
    from coilgen.design.design import Design

ENDING = "-samples.csv"
_NEEDED = ("label", "file", "variant")
_UP = 4
"""Folders above the key in which its designs are looked for: a panel is made into `out/<name>/`."""


@dataclass(frozen=True, kw_only=True)
class Samples:
    """What was built: a design, of a panel its first, and of a panel each label's own."""

    design: Design
    boards: Mapping[str, Design] | None


def read_samples(path: Path) -> Samples:
    """The boards of a panel's key. A board that serves several variants counts as the first of them: what
    drives it stands with its readings.

    Designs are looked for beside the key, in the folders above it, and in the current folder. DesignError
    with the line of each fault.
    """
    rows = [*_rows(path)]
    lines = {row["file"]: number for number, row in reversed(rows)}
    designs = {
        file: _design(path, file, lines[file]) for file in dict.fromkeys(row["file"] for _, row in rows)
    }
    known = {file: _built(design) for file, design in designs.items()}
    boards: dict[str, Design] = {}
    faults: list[Fault] = []
    for number, row in rows:
        variants = known[row["file"]]
        if row["variant"] not in variants:
            says = (
                f"{shown(row['variant'])} is no variant of {row['file']}, which has changed since; "
                f"it has {', '.join(variants)}"
            )
            faults.append(Fault(key=f"{path}: line {number}, variant", says=says))
            continue
        boards.setdefault(row["label"], variants[row["variant"]])
    if faults:
        raise DesignError(faults)
    return Samples(design=next(iter(designs.values())), boards=boards)


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows of boards with the number of their line."""
    reader = csv.DictReader(io.StringIO(file_text(path)))
    lacking = [name for name in _NEEDED if name not in (reader.fieldnames or ())]
    if lacking:
        says = f"has no column {lacking[0]}; give the {ENDING} that `coilgen panel` wrote"
        raise DesignError.at(str(path), says)
    found = [(reader.line_num, row) for row in reader if row["file"]]
    if not found:
        raise DesignError.at(str(path), "names no board; give the key of a panel with boards")
    yield from found


def _design(path: Path, file: str, line: int) -> Design:
    folders = [*path.absolute().parents[:_UP], Path.cwd()]
    places = [folder / file for folder in folders if (folder / file).is_file()]
    if not places:
        says = (
            f"{file} stands neither beside the key, nor in the folders above it, nor in the current one; "
            "go to the folder of the design"
        )
        raise DesignError.at(f"{path}: line {line}, file", says)
    return read(places[0])


def _built(design: Design) -> dict[str, Design]:
    """Variants by name, as they were built: without what an earlier bench taught."""
    return {name: each.unchecked(variant=(), calibration=None) for name, each in variants_of(design).items()}
