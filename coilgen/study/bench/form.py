"""A file of readings: TOML with [[reading]], or CSV with commas or semicolons, or its faults."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from coilgen.catalogue import unknown
from coilgen.design.reading import file_text, tables
from coilgen.errors import DesignError, Fault, shown
from coilgen.frozen import dataclass
from coilgen.study.bench.kinds import CONDITIONS
from coilgen.study.bench.row import reading_of

if TYPE_CHECKING:
    from coilgen.study.bench.reading import Reading

COLUMNS = ("sample", "figure", "value", "unit", "uncertainty", *CONDITIONS, "side")
"""Of a CSV, and keys of a [[reading]]."""
MOST = 2000
QUOTE = '"'
_NEEDED = ("sample", "figure", "value")


@dataclass(frozen=True, kw_only=True)
class Form:
    """What a file tells: its readings, and how many rows of it have no value yet."""

    readings: tuple[Reading, ...]
    empty: int


def read_form(path: Path) -> Form:
    """The readings in a file, by its ending. DesignError carries every fault with line and column."""
    text = file_text(path)
    if path.suffix.lower() == ".csv":
        return form_of_csv(text)
    if path.suffix.lower() == ".toml":
        return form_of_toml(text)
    raise DesignError.at(str(path), "ends neither in .csv nor in .toml; name the file of readings so")


def form_of_csv(text: str) -> Form:
    """Of CSV: a line of names, then a line for each reading; lines that begin with # are left out.

    The names may be parted by semicolons, as spreadsheets write them that have decimal commas.
    """
    return _form([*_csv_rows(text)])


def form_of_toml(text: str) -> Form:
    """Of TOML: a [[reading]] for each."""
    given = tables(text)
    extra = [name for name in given if name != "reading"]
    if extra:
        says = f"no table or key of a file of readings; {unknown(extra[0], ('reading',))}"
        raise DesignError.at(extra[0], says)
    listed = given.get("reading", [])
    if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
        raise DesignError.at("reading", "is no list of tables; write [[reading]] before each")
    return _form([*_toml_rows(text.split("\n"), listed)])


_HEADER = re.compile(r"\s*\[\[\s*reading\s*\]\]")
_KEY = re.compile(r"\s*[\"']?(\w+)[\"']?\s*=\s*")


def _toml_rows(lines: list[str], listed: list[dict[str, object]]) -> Iterator[_Row]:
    """With the places of keys, where each stands on a line of its own."""
    heads = [number for number, line in enumerate(lines, 1) if _HEADER.match(line)]
    for number, given in enumerate(listed, start=1):
        block = range(heads[number - 1], [*heads, len(lines)][number]) if number <= len(heads) else range(0)
        found = ((at + 1, match) for at in block if (match := _KEY.match(lines[at])))
        yield _Row(
            given=given,
            place=_place(number, heads),
            cells={key[1]: f"line {at}, column {key.end() + 1} ({key[1]})" for at, key in found},
        )


@dataclass(frozen=True, kw_only=True)
class _Row:
    """given: by column; place: of the row; cells: places of its columns, where they are known apart."""

    given: Mapping[str, object]
    place: str
    cells: Mapping[str, str]


def _place(number: int, lines: list[int]) -> str:
    return f"line {lines[number - 1]}" if number <= len(lines) else f"reading {number}"


def _form(rows: list[_Row]) -> Form:
    if len(rows) > MOST:
        raise DesignError.at("readings", f"{len(rows)} are given; {MOST} are the most, leave some out")
    readings: list[Reading] = []
    faults: list[Fault] = []
    empty = 0
    for row in rows:
        if row.given.get("value") in (None, ""):
            empty += 1
            continue
        try:
            readings.append(reading_of(row.given, row.place))
        except DesignError as error:
            faults += [_placed(row, fault) for fault in error.faults]
    if faults:
        raise DesignError(faults[:20])
    if not readings:
        raise DesignError.at("readings", "none has a value; fill in the column value")
    return Form(readings=tuple(readings), empty=empty)


def _placed(row: _Row, fault: Fault) -> Fault:
    """A fault of a column with the place of its cell."""
    return Fault(key=row.cells.get(fault.key, f"{row.place}, {fault.key}"), says=fault.says)


def _csv_rows(text: str) -> Iterator[_Row]:
    lines = [(number, line) for number, line in enumerate(text.split("\n"), 1) if _kept(line)]
    if not lines:
        raise DesignError.at("line 1", f"no names of columns; write {','.join(COLUMNS)}")
    mark = max(";,\t", key=lines[0][1].count)
    names = [name.lower() for name in _cells(*lines[0], mark)]
    _refuse_names(names, lines[0][0])
    for number, line in lines[1:]:
        cells = _cells(number, line, mark)
        if len(cells) > len(names):
            hint = "; a number with a decimal comma goes in quotes" if mark == "," else ""
            says = f"{len(cells)} cells under {len(names)} names of columns{hint}"
            raise DesignError.at(f"line {number}, column {len(names) + 1}", says)
        yield _Row(
            given=_told(names, cells),
            place=f"line {number}",
            cells={name: f"line {number}, column {at} ({name})" for at, name in enumerate(names, 1)},
        )


def _kept(line: str) -> bool:
    """Whether a line tells something: no remark, nor what a spreadsheet says of its own marks."""
    return bool(line.strip(" \t\r;,")) and not line.lstrip(' "').startswith(("#", "sep="))


def _cells(number: int, line: str, mark: str) -> list[str]:
    rows = csv.reader(io.StringIO(line.rstrip("\r")), delimiter=mark, strict=True)
    try:
        return [cell.strip() for cell in next(rows)]
    except csv.Error:
        says = "a quote is not closed on the line, or stands within a cell; close it, or leave quotes out"
        raise DesignError.at(
            f"line {number}, column {line[: line.find(QUOTE)].count(mark) + 1}", says
        ) from None


def _refuse_names(names: list[str], line: int) -> None:
    for column, name in enumerate(names, start=1):
        at = f"line {line}, column {column}"
        if name and name not in COLUMNS:
            raise DesignError.at(at, f"{shown(name)} is no column; {unknown(name, COLUMNS)}")
        if name and name in names[: column - 1]:
            raise DesignError.at(at, f"{shown(name)} is there twice; keep one of the two")
    missing = [name for name in _NEEDED if name not in names]
    if missing:
        raise DesignError.at(f"line {line}", f"no column {' and no column '.join(missing)}; add it")


_COMMA = re.compile(r"^(\s*[+-]?\d*),(\d+)(?![\d.,])")


def _told(names: list[str], cells: list[str]) -> dict[str, object]:
    """Cells that are filled in, numbers with a decimal point; a comma never parts thousands."""
    given = {name: cell for name, cell in zip(names, cells, strict=False) if name and cell}
    return {name: cell if name in _WORDS else _COMMA.sub(r"\1.\2", cell) for name, cell in given.items()}


_WORDS = ("sample", "figure", "unit", "side")
