"""Where words and numbers find room on the board's picture: clear of what is drawn, and off the copper."""

import re
from collections.abc import Iterable, Sequence

import numpy as np

from coilgen.artwork.art import Art, Pad
from coilgen.exports.picture._svg import Element, text_width
from coilgen.frozen import dataclass
from coilgen.geometry.distance import Points
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path, Segment, polyline
from coilgen.geometry.point import Point


@dataclass(frozen=True)
class Box:
    """What a mark covers: its middle and half its width and height, m."""

    middle: Point
    half: Point

    def meets(self, other: "Box") -> bool:
        """Whether two have some of the picture in common."""
        apart, reach = self.middle - other.middle, self.half + other.half
        return abs(apart.real) < reach.real and abs(apart.imag) < reach.imag

    def holds(self, at: Point) -> bool:
        """Whether a point lies within."""
        apart = at - self.middle
        return abs(apart.real) < self.half.real and abs(apart.imag) < self.half.imag


def freest(candidates: Iterable[Box], taken: Sequence[Box], copper: Sequence[Point] = ()) -> Box | None:
    """The one that meets the fewest of those taken, then the least copper, then the first; None of none."""
    points = np.array(copper, complex)
    return min(
        candidates,
        key=lambda box: (sum(map(box.meets, taken)), _points_in(box, points)),
        default=None,
    )


def _points_in(box: Box, points: Points) -> int:
    """How many points a box holds."""
    apart = points - box.middle
    return int(np.count_nonzero((abs(apart.real) < box.half.real) & (abs(apart.imag) < box.half.imag)))


def text_box(text: str, middle: Point, size: float) -> Box:
    """Of a centred line of letters of a size, m."""
    return Box(middle, complex(text_width(text, size) / 2, 0.5 * size))


def pad_boxes(pads: Iterable[Pad]) -> list[Box]:
    """Of pads."""
    return [Box(pad.at, complex(pad.diameter, pad.diameter) / 2) for pad in pads]


def copper_points(art: Art, step: float) -> list[Point]:
    """Points a step apart along the traces of both faces, m."""
    layers = {1, art.copper_layers}
    pieces = [piece for trace in art.traces if trace.layer in layers for piece in trace.path.segments]
    return [at for piece in pieces for at in _along(piece, step)]


def _along(piece: Segment, step: float) -> Iterable[Point]:
    count = max(1, round(piece.length / step))
    return (piece.at((k + 0.5) / count) for k in range(count))


def path_box(path: Path, margin: float) -> Box:
    """Of a path with a margin, m."""
    low, high = extent(path)
    return Box((low + high) / 2, (high - low) / 2 + complex(margin, margin))


def drawn_boxes(group: Element) -> list[Box]:
    """Of the straight lines and the letters in a group of a picture in millimetres."""
    found = []
    for each in group.iter():
        if each.tag == "path":
            numbers = [1e-3 * float(word) for word in re.findall(r"-?[\d.]+", each.get("d", ""))]
            ends = [complex(x, -y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
            if len(ends) > 1:
                found.append(path_box(Path(polyline(ends)), 1e-3 * float(each.get("stroke-width", "0"))))
        elif each.tag == "text":
            size = 1e-3 * float(each.get("font-size", "0"))
            base = 1e-3 * complex(float(each.get("x", "0")), -float(each.get("y", "0")))
            found.append(text_box(each.text or "", base + 0.36j * size, size))
    return found
