"""What the DXF exports share: the document, names of layers, closed outlines, repeatable bytes.

DXF R2000 (AC1015) in millimetres, LWPOLYLINE, LINE, ARC and CIRCLE only, all at z = 0. `sheet.dxf` is a
drawing of nothing, as the library ezdxf makes it, with marks in angle brackets where the numbers, layers and
entities of a drawing go. Group codes: DXF Reference.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from importlib.resources import files as resources
from itertools import count

import numpy as np
from numpy.typing import ArrayLike

from coilgen.artwork.art import NO_NET, Art
from coilgen.artwork.last_asked import for_last
from coilgen.geometry.arc import Arc
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.result.result import Result

Vertex = tuple[float, float, float]
"""x and y in mm, and the bulge of what follows."""

_SPACE = "17"
"""Handle of the model space in `sheet.dxf`, to which all that is drawn belongs."""
_FIRST_HANDLE = 0x100
"""Those below are the empty drawing's."""


class Sheet:
    """A drawing in millimetres with these layers, and what is drawn on it.

    Names of layers are of letters, digits, spaces, dots and hyphens, each once.
    """

    def __init__(self, layers: Iterable[str]) -> None:
        self._handles = count(_FIRST_HANDLE)
        self.layers = [_LAYER.format(handle=self._handle(), name=name) for name in layers]
        self.entities: list[str] = []

    def add(self, kind: str, layer: str, told: str) -> None:
        """One more entity; told: its own group codes, after those that all entities have."""
        own = f"  0\n{kind}\n  5\n{self._handle()}\n330\n{_SPACE}\n100\nAcDbEntity\n  8\n{layer}\n"
        self.entities.append(own + told)

    def written(self, art: Art) -> bytes:
        """The drawing as a file that opens on the board, the same bytes on every run."""
        low, high = _corners(art)
        (left, bottom), (right, top), (across, up) = xy(low), xy(high), xy((low + high) / 2)
        size = max(high.real - low.real, high.imag - low.imag)
        told = {
            "left": left,
            "bottom": bottom,
            "right": right,
            "top": top,
            "middle x": across,
            "middle y": up,
            "height": millimetres(1.1 * size),
            "number of layers": len(self.layers) + _OWN_LAYERS,
            "next handle": self._handle(),
        }
        text = resources(__package__).joinpath("sheet.dxf").read_text(encoding="ascii")
        for mark, value in told.items():
            text = text.replace(f"<{mark}>", str(value))
        before, rest = text.split("<layers>\n")
        between, after = rest.split("<entities>\n")
        return "".join([before, *self.layers, between, *self.entities, after]).encode("ascii")

    def _handle(self) -> str:
        return f"{next(self._handles):X}"


_OWN_LAYERS = 2
"""Of the empty drawing: 0 and Defpoints, which every drawing has."""
_LAYER = (
    "  0\nLAYER\n  5\n{handle}\n330\n1\n100\nAcDbSymbolTableRecord\n100\nAcDbLayerTableRecord\n"
    "  2\n{name}\n 70\n0\n 62\n7\n  6\nContinuous\n370\n-3\n390\n13\n"
)
"""White, continuous, of the usual weight, plotted as drawn (DXF Reference, LAYER)."""


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


def add_closed(sheet: Sheet, path: Path, layer: str) -> None:
    """Adds a closed path as one closed polyline whose arcs are bulges."""
    corners = "".join([_vertex(*corner) for corner in vertices(path)])
    _add_polyline(sheet, corners.count("\n 20\n"), corners, layer)


def _vertex(x: float, y: float, bulge: float) -> str:
    return f" 10\n{x!r}\n 20\n{y!r}\n" + (f" 42\n{bulge!r}\n" if bulge else "")


def add_chords(sheet: Sheet, places: ArrayLike, layer: str) -> None:
    """Adds a closed polyline of straight pieces between places, (n, 2) m."""
    corners = np.rint(np.asarray(places) * 1e12) / 1e9 + 0.0  # as `millimetres`, all at once
    text = " 10\n%r\n 20\n%r\n" * len(corners)  # several times as fast as a text for each
    _add_polyline(sheet, len(corners), text % tuple(corners.ravel().tolist()), layer)


def _add_polyline(sheet: Sheet, number: int, corners: str, layer: str) -> None:
    sheet.add("LWPOLYLINE", layer, f"100\nAcDbPolyline\n 90\n{number}\n 70\n1\n{corners}")


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


def flex_layers(art: Art, stiffeners: Mapping[str, str], bends: str) -> list[str]:
    """Names of layers for stiffeners and bends, of those that a board has."""
    sides = [name for side, name in stiffeners.items() if any(each.side == side for each in art.stiffeners)]
    return [*sides, *([bends] if art.bends else [])]


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
