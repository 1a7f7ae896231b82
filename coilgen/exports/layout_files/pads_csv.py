"""CSV of the holes and pads that a layout needs: terminals 1 and 2, then via1, via2 … in current order."""

from collections.abc import Iterator

from coilgen.result.csv_table import csv_table
from coilgen.result.export import Export
from coilgen.result.result import Result

COLUMNS = ("number", "x_mm", "y_mm", "shape", "size_mm", "drill_mm", "side")


def files(result: Result) -> dict[str, bytes]:
    """One table; side is top, bottom or, of a hole, through."""
    return {f"{result.design.name}-pads.csv": csv_table([COLUMNS, *_rows(result)]).encode()}


def _rows(result: Result) -> Iterator[tuple[str, ...]]:
    for terminal in result.coil.terminals:
        side = "through" if terminal.drill else "top" if terminal.layer == 1 else "bottom"
        yield _row(str(terminal.number), terminal.at, terminal.pad, terminal.drill, side)
    for number, via in enumerate(result.coil.vias, start=1):
        yield _row(f"via{number}", via.at, via.pad, via.drill, "through")


def _row(number: str, at: complex, size: float, drill: float, side: str) -> tuple[str, ...]:
    return number, _mm(at.real), _mm(at.imag), "round", _mm(size), _mm(drill), side


def _mm(length: float) -> str:
    """To the nanometre, without a minus before zero."""
    return f"{round(length * 1e3, 6) + 0.0:.6f}"


EXPORT = Export(
    name="pads_csv",
    says="CSV: terminals and vias with place, size, drill and side",
    reader="layout",
    paths=("<name>-pads.csv",),
    files=files,
)
