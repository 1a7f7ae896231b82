"""What the DXF exports share: the document, names of layers, closed outlines, repeatable bytes.

DXF R2000 (AC1015) in millimetres, LWPOLYLINE, LINE, ARC and CIRCLE only, all at z = 0.
"""

import io
import math
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

import numpy as np
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.entities.lwpolyline import LWPolylinePoints
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace
from ezdxf.lldxf.types import DXFTag
from numpy.typing import ArrayLike

from coilgen.artwork.art import NO_NET, Art
from coilgen.geometry.arc import Arc
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.result.result import Result

Vertex = tuple[float, float, float]
"""x and y in mm, and the bulge of what follows."""


def new_document(layers: Iterable[str]) -> Drawing:
    """An empty drawing in millimetres with these layers; names of letters, digits, spaces, dots, hyphens."""
    with _fixed_dates():
        document = new("R2000", units=4)  # $INSUNITS 4: millimetres
    document.header["$MEASUREMENT"] = 1  # metric
    for layer in layers:
        document.layers.add(layer)
    return document


def written(document: Drawing, art: Art) -> bytes:
    """The drawing as a file that opens on the board, the same bytes on every run."""
    _look_at(document, art)
    with _fixed_dates():
        document.classes.add_required_classes(document.dxfversion)
        document.classes.classes = dict(sorted(document.classes.classes.items()))
        text = io.StringIO()
        document.write(text)
        return document.encode(text.getvalue())


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


def disc(at: Point, diameter: float) -> Path:
    """A full circle as a path; sizes in m."""
    return Path((Arc(at, diameter / 2, 0.0, math.tau),))


def add_closed(space: Modelspace, path: Path, layer: str) -> None:
    """Adds a closed path as one closed polyline whose arcs are bulges."""
    _add_polyline(space, [*vertices(path)], layer)


def add_chords(space: Modelspace, places: ArrayLike, layer: str) -> None:
    """Adds a closed polyline of straight pieces between places, (n, 2) m."""
    corners = np.zeros((len(np.asarray(places)), 3))
    corners[:, :2] = np.rint(np.asarray(places) * 1e12) / 1e9 + 0.0  # as `millimetres`, all at once
    _add_polyline(space, corners, layer)


def _add_polyline(space: Modelspace, corners: ArrayLike, layer: str) -> None:
    """Adds a closed polyline of vertices, all at once: ezdxf copies those before for each added alone."""
    line = space.add_lwpolyline([], close=True, dxfattribs={"layer": layer})
    line.lwpoints = _Corners()
    line.lwpoints.values = np.insert(np.asarray(corners), [2, 2], 0.0, axis=1)


_STRAIGHT, _CURVED = " 10\n%r\n 20\n%r\n", " 10\n%r\n 20\n%r\n 42\n%r\n"


class _Corners(LWPolylinePoints):
    """Corners without widths that are written as one text: a tag for each takes ten times as long."""

    def dxftags(self) -> Iterator[DXFTag]:
        """The text."""
        corners = self.values[:, [0, 1, 4]]
        told = np.ones(corners.shape, bool)
        told[:, 2] = corners[:, 2] != 0
        text = "".join(_CURVED if curved else _STRAIGHT for curved in told[:, 2].tolist())
        yield _Text(self.VERTEX_CODE, text % tuple(corners[told].tolist()))


class _Text(DXFTag):
    """Tags that are written already."""

    def dxfstr(self) -> str:
        """As they are written."""
        return str(self._value)


def add_lines(space: Modelspace, path: Path, layer: str) -> None:
    """Adds the lines of a path."""
    for segment in path.segments:
        space.add_line(xy(segment.start), xy(segment.end), dxfattribs={"layer": layer})


def flex_layers(art: Art, stiffeners: Mapping[str, str], bends: str) -> list[str]:
    """Names of layers for stiffeners and bends, of those that a board has."""
    sides = [name for side, name in stiffeners.items() if any(each.side == side for each in art.stiffeners)]
    return [*sides, *([bends] if art.bends else [])]


def add_circle(space: Modelspace, centre: Point, diameter: float, layer: str) -> None:
    """Adds a circle; sizes in m."""
    space.add_circle(xy(centre), millimetres(diameter / 2), dxfattribs={"layer": layer})


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


def _look_at(document: Drawing, art: Art) -> None:
    """Sets the drawing's extent, and the view on opening, to the whole board."""
    ends = [corner for path, margin in _drawn(art) for corner in _grown(path, margin)]
    low = complex(min(end.real for end in ends), min(end.imag for end in ends))
    high = complex(max(end.real for end in ends), max(end.imag for end in ends))
    document.modelspace().reset_extents((*xy(low), 0.0), (*xy(high), 0.0))
    size = max(high.real - low.real, high.imag - low.imag)
    document.set_modelspace_vport(height=millimetres(1.1 * size), center=xy((low + high) / 2))


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
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
