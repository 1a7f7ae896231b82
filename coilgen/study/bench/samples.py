"""Boards and coupons of a panel by their labels, as the tables that came with the panel name them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from coilgen.design.reading import file_text, read
from coilgen.errors import DesignError, Fault, shown
from coilgen.frozen import dataclass
from coilgen.job import draw
from coilgen.study.panel.coupon_text import ENDING as COUPONS
from coilgen.study.panel.coupon_text import measures_text
from coilgen.study.panel.panel import coupons_of
from coilgen.study.panel.samples import variants_of

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.panel.coupons import Expected

ENDING = "-samples.csv"
_NEEDED = ("label", "file", "variant")
_UP = 4
"""Folders above the key in which its designs are looked for: a panel is made into `out/<name>/`."""


@dataclass(frozen=True, kw_only=True)
class Samples:
    """What was built: a design, of a panel its first, and of a panel each label's own, and its coupons."""

    design: Design
    boards: Mapping[str, Design] | None
    coupons: Mapping[str, Expected] = field(default_factory=dict)


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
    known = {file: variants_of(design) for file, design in designs.items()}
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
    return Samples(
        design=next(iter(designs.values())), boards=boards, coupons=_coupons(path, [*boards.values()])
    )


def _coupons(key: Path, designs: Sequence[Design]) -> Mapping[str, Expected]:
    """Those of the table beside the key, drawn again from the designs; none where there is no table.

    DesignError where they are others by now.
    """
    path = key.with_name(key.name.removesuffix(ENDING) + COUPONS)
    if not path.is_file():
        return {}
    distinct = [*{id(each): each for each in designs}.values()]
    narrow = min(trace.width for each in distinct for trace in draw(each)[1].traces)
    drawn = {each.label: each for each in coupons_of(distinct, narrow)}
    for number, row in _table(path, ("label", "measures")):
        coupon = drawn.get(row["label"])
        if coupon is None or measures_text(coupon) != row["measures"]:
            says = (
                f"{shown(row['label'])} is another coupon than the designs ask for by now: they have changed "
                "since; give the designs that the panel was made from, or take this file away"
            )
            raise DesignError.at(f"{path}: line {number}", says)
    return {label: coupon.expects for label, coupon in drawn.items()}


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows of boards with the number of their line."""
    found = [(number, row) for number, row in _table(path, _NEEDED) if row["file"]]
    if not found:
        raise DesignError.at(str(path), "names no board; give the key of a panel with boards")
    yield from found


def _table(path: Path, needed: Sequence[str]) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows of a table that came with a panel, with the number of their line."""
    reader = csv.DictReader(io.StringIO(file_text(path)))
    lacking = [name for name in needed if name not in (reader.fieldnames or ())]
    if lacking:
        says = f"has no column {lacking[0]}; give the file that `coilgen panel` wrote"
        raise DesignError.at(str(path), says)
    yield from ((reader.line_num, row) for row in reader)


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
