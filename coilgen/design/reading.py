"""Reading a design file: TOML text to a Design, or every fault in it with its key.

The core does not touch the disk, but for `read` and `file_text`, which Python callers and the command line
share.
"""

import os
import stat
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from coilgen.design.design import Design
from coilgen.design.nesting import MOST_KEYS, MOST_STEPS, longest_key, widest
from coilgen.errors import DesignError, Fault, shown

LARGEST_FILE = 250_000  # bytes


def read(path: str | os.PathLike[str]) -> Design:
    """The design in a file. DesignError for a file that cannot be read as well as for faults within it."""
    return read_beside(file_text(Path(path)), Path(path).parent)


def read_beside(text: str, folder: Path) -> Design:
    """The design of a text, and the calibration that it names, which is looked for in the folder."""
    return read_tables(_calibrated(tables(text), folder))


def _calibrated(given: dict[str, object], folder: Path) -> dict[str, object]:
    name = given.get("calibration")
    if not isinstance(name, str) or not name.strip():
        return given
    try:
        learnt = tables(file_text(folder / name))
    except DesignError as error:
        faults = [Fault(key=f"calibration: {fault.key}", says=fault.says) for fault in error.faults]
        raise DesignError(faults) from None
    if "winding" in learnt:
        says = f"{shown(name)} is a design file; name a NAME-calibration.toml that `coilgen bench` wrote"
        raise DesignError.at("calibration", says)
    return {**given, "calibration": {**learnt, "file": name}}


def read_text(text: str) -> Design:
    """The design that a design file's text describes. DesignError carries every fault found.

    >>> read_text('name = "a"\\n[winding]\\nshape = "round"\\nturns = 0').winding
    Traceback (most recent call last):
    ...
    coilgen.errors.DesignError: winding.turns: 0 is outside what is allowed, 1 to 1000
    winding.trace_width: not given; ...
    """
    return read_tables(tables(text))


def read_tables(given: Mapping[str, object]) -> Design:
    """The design that a parsed file's tables describe. DesignError carries the first faults found."""
    _refuse_other_kinds(given)
    return Design.from_tables(given)


_OTHER_KINDS = {
    "sample": "a panel file, which `coilgen panel` takes",
    "reading": "a file of readings, which `coilgen bench` takes",
}
"""Files of other commands by the table that tells them."""


_ONLY_OF_PANELS = frozenset({"separation", "frame", "coupons"})
"""Keys that no design has."""


def _refuse_other_kinds(given: Mapping[str, object]) -> None:
    """DesignError where tables are of a file that another command takes."""
    if "winding" in given:
        return
    for key, kind in _OTHER_KINDS.items():
        if key in given:
            raise DesignError.at(key, f"this is {kind}; here a design file is wanted, with a [winding]")
    if _ONLY_OF_PANELS & set(given):
        says = 'not given; a panel file names its designs, each under [[sample]] as design = "FILE"'
        raise DesignError.at("sample", says)
    if set(given) <= {"name", "note", "sweep"} and "sweep" in given:
        says = "a sweep without a design; put [sweep] into the design file, and `coilgen sweep` takes it"
        raise DesignError.at("sweep", says)


_CSV_KINDS = {
    "row,": "a table that `coilgen sweep` has written; name the design with its [sweep]",
    "sample,": "a table of readings, which `coilgen bench` takes",
    "label,design,": "the key of a panel, which `coilgen bench` takes as --samples",
}
"""Tables of other commands by how they begin."""


def _refuse_csv(text: str) -> None:
    for head, kind in _CSV_KINDS.items():
        if text.startswith(head):
            raise DesignError.at("line 1", f"this is {kind}; here a design file is wanted")


def tables(text: str) -> dict[str, object]:
    """The tables of a TOML text; DesignError with line and column where it is broken."""
    _refuse_csv(text)
    _refuse_long_keys(text)
    given = _parsed(text)
    _refuse_sprawl(given)
    return given


def _refuse_long_keys(text: str) -> None:
    steps, line = longest_key(text)
    if steps > MOST_STEPS:
        says = f"a key of {steps} steps; no key needs more than {MOST_STEPS}, look for stray dots"
        raise DesignError.at(f"line {line}", says)


def _refuse_sprawl(given: Mapping[str, object]) -> None:
    levels, keys = widest(given)
    if levels > MOST_STEPS:
        says = f"tables and lists are nested {levels} deep; no key needs more than {MOST_STEPS}"
        raise DesignError.at("text", says)
    if keys > MOST_KEYS:
        raise DesignError.at("text", f"a table of {keys} keys; none needs more than {MOST_KEYS}")


def _parsed(text: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        from coilgen.design.toml_faults import broken

        raise broken(str(error), text) from None
    except RecursionError:
        raise DesignError.at("text", "brackets are nested too deep; no key needs more than a list") from None
    except ValueError:
        raise DesignError.at("text", "holds a whole number of thousands of digits; shorten it") from None


def file_text(path: Path) -> str:
    """Text of a file that is small enough to be a design; DesignError for one that cannot be read."""
    content = _content(path)
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _file_fault(path, f"line {line} is not UTF-8 text; save the file as UTF-8") from None


def _content(path: Path) -> bytes:
    try:
        _refuse_other_than_small_files(path, path.stat())
        return path.read_bytes()
    except DesignError:
        raise
    except (OSError, ValueError) as error:
        raise _file_fault(path, f"cannot be read: {_reason(error)}; check the name") from None


def _refuse_other_than_small_files(path: Path, found: os.stat_result) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise _file_fault(path, "is a folder; name the file in it")
    if not stat.S_ISREG(found.st_mode):
        raise _file_fault(path, "is not a regular file; name a design file")
    if found.st_size > LARGEST_FILE:
        raise _file_fault(
            path,
            f"is {found.st_size / 1e6:.1f} MB, over the {LARGEST_FILE / 1e6:g} MB that a design may have",
        )


def _reason(error: Exception) -> str:
    return (
        (error.strerror or "unknown reason").lower()
        if isinstance(error, OSError)
        else "no such name is possible"
    )


def _file_fault(path: Path, says: str) -> DesignError:
    return DesignError.at("".join(letter if letter.isprintable() else "?" for letter in str(path)), says)


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a design file as people write it, units in `x-unit`."""
    from coilgen.design.keys import written_schema
    from coilgen.design.placing import add_several

    schema = written_schema(Design)
    add_several(schema)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
