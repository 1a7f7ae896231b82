"""What the DXF exports share: the document, names of layers, closed outlines, repeatable bytes.

DXF R2000 (AC1015) in millimetres, LWPOLYLINE, LINE, ARC and CIRCLE only, all at z = 0.
"""

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.artwork.art import NO_NET, Art
from coilgen.artwork.last_asked import for_last
from coilgen.exports.layout_files._corners import corners
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.result.result import Result

if TYPE_CHECKING:
    from ezdxf.document import Drawing

Vertex = tuple[float, float, float]
"""x and y in mm, and the bulge of what follows."""

_ENTITIES = "  0\nSECTION\n  2\nENTITIES\n"
"""The head of the section that holds what is drawn (DXF Reference, group codes in numerical order)."""


@dataclass(frozen=True)
class Sheet:
    """A drawing and what is drawn on it, in text: as objects of ezdxf entities take several times as long."""

    document: "Drawing"
    entities: list[str] = field(default_factory=list)

    def add(self, kind: str, layer: str, told: str) -> None:
        """One more entity; told: its own group codes, after those that all entities have."""
        handle, owner = self.document.entitydb.next_handle(), self.document.modelspace().layout_key
        own = f"  0\n{kind}\n  5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n"
        self.entities.append(own + told)


def new_sheet(layers: Iterable[str]) -> Sheet:
    """An empty drawing in millimetres with these layers; names of letters, digits, spaces, dots, hyphens."""
    from ezdxf.filemanagement import new

    with _fixed_dates():
        document = new("R2000", units=4)  # $INSUNITS 4: millimetres
    document.header["$MEASUREMENT"] = 1  # metric
    for layer in layers:
        document.layers.add(layer)
    return Sheet(document)


def written(sheet: Sheet, art: Art) -> bytes:
    """The drawing as a file that opens on the board, the same bytes on every run."""
    document = sheet.document
    _look_at(document, art)
    with _fixed_dates():
        document.classes.add_required_classes(document.dxfversion)
        document.classes.classes = dict(sorted(document.classes.classes.items()))
        text = io.StringIO()
        document.write(text)
    before, head, after = text.getvalue().partition(_ENTITIES)
    return document.encode("".join([before, head, *sheet.entities, after]))


def copper_name(layer: int, layers: int, net: str = "") -> str:
    """Which copper layer, counted from the top; of several windings whose.

    >>> copper_name(2, 4), copper_name(1, 1), copper_name(1, 2, "sense")
    ('copper 2 of 4 inner', 'copper 1 of 1 top', 'copper 1 of 2 top - net sense')
    """
    return f"copper {layer} of {layers} {level(layer, layers)}" + (f" - net {net}" if net else "")


def nets_told(result: Result) -> tuple[str, ...]:
    """Nets that names of layers tell apart: those of several windings, and none for what is on no net."""
    own = result.nets if result.windings else ()
    loose = any(pad.net == NO_NET for pad in result.art.pads)
    return (*own, *([""] if loose or not own else []))


def net_told(result: Result, net: str) -> str:
    """What the name of a layer tells of a net: nothing on a board of one winding."""
    return net if result.windings else ""


def level(layer: int, layers: int) -> str:
    """Where a copper layer lies: top, inner or bottom."""
    return "top" if layer == 1 else "bottom" if layer == layers else "inner"


def add_closed(sheet: Sheet, path: Path, layer: str) -> None:
    """Adds a closed path as one closed polyline whose arcs are bulges."""
    turned = "".join([_vertex(*corner) for corner in vertices(path)])
    _add_polyline(sheet, turned.count("\n 20\n"), turned, layer)


def _vertex(x: float, y: float, bulge: float) -> str:
    return f" 10\n{x!r}\n 20\n{y!r}\n" + (f" 42\n{bulge!r}\n" if bulge else "")


def add_chords(sheet: Sheet, places: NDArray[np.float64], layer: str) -> None:
    """Adds a closed polyline of straight pieces between places, (n, 2) m."""
    _add_polyline(sheet, len(places), corners(places), layer)


def _add_polyline(sheet: Sheet, count: int, told: str, layer: str) -> None:
    sheet.add("LWPOLYLINE", layer, f"100\nAcDbPolyline\n 90\n{count}\n 70\n1\n{told}")


def add_lines(sheet: Sheet, path: Path, layer: str) -> None:
    """Adds the lines of a path."""
    for segment in path.segments:
        add_line(sheet, segment.start, segment.end, layer)


def add_line(sheet: Sheet, start: Point, end: Point, layer: str) -> None:
    """Adds a line."""
    (x, y), (across, up) = xy(start), xy(end)
    first, last = f" 10\n{x!r}\n 20\n{y!r}\n 30\n0.0\n", f" 11\n{across!r}\n 21\n{up!r}\n 31\n0.0\n"
    sheet.add("LINE", layer, f"100\nAcDbLine\n{first}{last}")


def add_arc(sheet: Sheet, arc: Arc, layer: str) -> None:
    """Adds an arc, which in DXF runs counter-clockwise from its start angle to its end angle, in degrees."""
    first, last = (_degrees(angle) for angle in sorted((arc.start_angle, arc.end_angle)))
    told = f"{_circle(arc.centre, arc.radius)}100\nAcDbArc\n 50\n{first!r}\n 51\n{last!r}\n"
    sheet.add("ARC", layer, told)


def add_circle(sheet: Sheet, centre: Point, diameter: float, layer: str) -> None:
    """Adds a circle; sizes in m."""
    sheet.add("CIRCLE", layer, _circle(centre, diameter / 2))


def _circle(centre: Point, radius: float) -> str:
    x, y = xy(centre)
    return f"100\nAcDbCircle\n 10\n{x!r}\n 20\n{y!r}\n 30\n0.0\n 40\n{millimetres(radius)!r}\n"


def _degrees(angle: float) -> float:
    return round(math.degrees(angle) % 360.0, 12)


def vertices(path: Path) -> Iterator[Vertex]:
    """Corners of a closed path; a bulge is the tangent of a quarter of the sweep (DXF Reference, LWPOLYLINE).

    An arc of more than half a turn is halved: its bulge would be over 1, which some readers take badly.
    """
    for segment in path.segments:
        if not isinstance(segment, Arc):
            yield (*xy(segment.start), 0.0)
            continue
        parts = math.ceil(abs(segment.sweep) / math.pi - 1e-9)
        bulge = math.tan(segment.sweep / parts / 4)
        for part in range(parts):
            yield (*xy(segment.at(part / parts)), bulge)


def xy(point: Point) -> tuple[float, float]:
    """Coordinates in mm."""
    return millimetres(point.real), millimetres(point.imag)


def millimetres(length: float) -> float:
    """Metres as millimetres, to the picometre, which floats hold without a tail of nines."""
    return round(length * 1e3, 9) + 0.0


def _look_at(document: "Drawing", art: Art) -> None:
    """Sets the drawing's extent, and the view on opening, to the whole board."""
    low, high = _corners(art)
    document.modelspace().reset_extents((*xy(low), 0.0), (*xy(high), 0.0))
    size = max(high.real - low.real, high.imag - low.imag)
    document.set_modelspace_vport(height=millimetres(1.1 * size), center=xy((low + high) / 2))


@for_last
def _corners(art: Art) -> tuple[Point, Point]:
    """Lower left and upper right of all that is drawn, m."""
    ends = [corner for path, margin in _drawn(art) for corner in _grown(path, margin)]
    low = complex(min(end.real for end in ends), min(end.imag for end in ends))
    return low, complex(max(end.real for end in ends), max(end.imag for end in ends))


def _drawn(art: Art) -> Iterator[tuple[Path, float]]:
    if art.outline is not None:
        yield art.outline, 0.0
    for trace in art.traces:
        yield trace.path, trace.width / 2
    for pad in art.pads:
        yield pad.path, 0.0


def _grown(path: Path, margin: float) -> tuple[Point, Point]:
    low, high = extent(path)
    return low - complex(margin, margin), high + complex(margin, margin)


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """While it lasts, ezdxf writes fixed dates and identifiers; the reader's own choice comes back after."""
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
