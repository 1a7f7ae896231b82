"""CSV of the holes and pads that a layout needs: terminals 1 and 2, vias in current order, further holes."""

from collections.abc import Iterator

from coilgen.artwork.art import NO_NET, Art, Hole
from coilgen.exports.layout_files._dxf import copper_name
from coilgen.layout.coil import Finger
from coilgen.result.csv_table import csv_table
from coilgen.result.export import Export
from coilgen.result.result import Result

NET_COLUMN = "net"
"""Of boards of several windings, whose names it tells."""
COLUMNS = ("number", "x_mm", "y_mm", "shape", "size_mm", "drill_mm", "side")


def files(result: Result) -> dict[str, bytes]:
    """One table; side is top, bottom or, of a hole, through; a drill or a size of copper that is none is 0.

    Before it the area of copper on each layer, in lines that begin with #: what an import must show.
    """
    columns = (*COLUMNS, NET_COLUMN) if result.windings else COLUMNS
    rows = (row if result.windings else row[:-1] for row in _rows(result))
    text = "".join(_areas(result)) + csv_table([columns, *rows])
    return {f"{result.design.name}-pads.csv": text.encode()}


def _areas(result: Result) -> Iterator[str]:
    areas = result.figures.get("copper_areas")
    for row in [] if areas is None else areas.value:
        name = copper_name(row["layer"], result.art.copper_layers)
        yield f"# {name}: {row['area'] * 1e6:.2f} mm2 of copper, holes not taken out\n"


def _rows(result: Result) -> Iterator[tuple[str, ...]]:
    for terminal in result.coil.terminals:
        side = "through" if terminal.drill else "top" if terminal.layer == 1 else "bottom"
        for finger in terminal.fingers:
            yield *_finger(f"{terminal.number}-finger{finger.number}", finger, side), terminal.net
        if not terminal.fingers:
            yield *_row(str(terminal.number), terminal.at, terminal.pad, terminal.drill, side), terminal.net
    for finger in result.coil.tail.idle_fingers if result.coil.tail else ():
        yield *_finger(f"finger{finger.number}", finger, "top"), ""
    for number, via in enumerate(result.coil.vias, start=1):
        yield *_row(f"via{number}", via.at, via.pad, via.drill, "through"), via.net
    further = (hole for hole in result.art.holes if hole.role == "hole")
    for number, hole in enumerate(further, start=1):
        yield *_row(f"hole{number}", hole.at, _ring(result.art, hole), hole.diameter, "through"), hole.net


def _ring(art: Art, hole: Hole) -> float:
    """Diameter of the copper about a hole that belongs to no net, m; 0 of an unplated one."""
    about = (pad.diameter for pad in art.pads if pad.net == NO_NET and pad.at == hole.at)
    return max(about, default=hole.diameter) if hole.plated else 0.0


def _row(number: str, at: complex, size: float, drill: float, side: str) -> tuple[str, ...]:
    return number, _mm(at.real), _mm(at.imag), "round", _mm(size), _mm(drill), side


def _finger(number: str, finger: Finger, side: str) -> tuple[str, ...]:
    """Its size over all in x and in y."""
    x, y = (_mm(abs(part) + finger.width) for part in (finger.span.real, finger.span.imag))
    return number, _mm(finger.at.real), _mm(finger.at.imag), "oblong", f"{x} x {y}", _mm(0.0), side


def _mm(length: float) -> str:
    """To the nanometre, without a minus before zero."""
    return f"{round(length * 1e3, 6) + 0.0:.6f}"


EXPORT = Export(
    name="pads_csv",
    says="CSV: terminals, vias and further holes with place, size, drill and side",
    reader="layout",
    paths=("<name>-pads.csv",),
    files=files,
)
