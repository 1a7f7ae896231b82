"""The top legend: numbers of the terminals, and the board's name and revision where there is room."""

from collections.abc import Iterable, Iterator
from itertools import product

import numpy as np

from coilgen.artwork.art import Art, Stroke
from coilgen.frozen import dataclass
from coilgen.geometry.closed import holds
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import distances, pieces
from coilgen.geometry.extent import extent
from coilgen.geometry.lettering import lettering, text_width
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import Finger, Terminal, Trace

LINE_WIDTH = 0.15e-3
"""Of printed lines; common practice, no source."""
APART = 0.4e-3
"""From a terminal's pad to its number, at least; common practice, no source."""
_CLEARLY_OWN = 1.5
"""Times as far as from its own terminal's pad, a number stands from every other's."""
RESTLESS = 0.1e-3
"""Nearer to a trace than this, print is restless; common practice, no source."""
NUMBER_HEIGHT = 1.0e-3
NUMBER_HEIGHTS = (NUMBER_HEIGHT, 0.8e-3)
NAME_HEIGHTS = (1.5e-3, 1.2e-3, 1.0e-3)
SPOT = 0.5e-3
"""Between places where a label may stand."""
LABEL_HEIGHTS = (*NAME_HEIGHTS, 0.8e-3)


@dataclass(frozen=True)
class _Box:
    """An upright rectangle about `at` that print must keep to itself."""

    at: Point
    half_width: float
    half_height: float

    def corners(self) -> tuple[Point, ...]:
        x, y = self.half_width, self.half_height
        return tuple(self.at + complex(i * x, j * y) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1)))

    def distance(self, point: Point) -> float:
        dx = max(0.0, abs(point.real - self.at.real) - self.half_width)
        dy = max(0.0, abs(point.imag - self.at.imag) - self.half_height)
        return abs(complex(dx, dy))

    def edges(self) -> tuple[Line, ...]:
        corners = self.corners()
        return tuple(Line(corner, corners[k - 3]) for k, corner in enumerate(corners))

    def grown(self, by: float) -> "_Box":
        return _Box(self.at, self.half_width + by, self.half_height + by)


@dataclass(frozen=True, kw_only=True)
class _Space:
    """Where there is room to print: on a board, a margin away from all that takes no ink."""

    art: Art
    margin: float

    def clear(self, box: _Box, printed: list[_Box]) -> bool:
        return (
            self._keeps_off_discs(box)
            and self._on_board(box.grown(self.margin))
            and not any(_overlap(box, other, self.margin) for other in printed)
            and not any(_crosses(box, trace) for trace in self.art.traces_on(1))
        )

    def _keeps_off_discs(self, box: _Box) -> bool:
        bare = [each for each in self.art.openings if each.side == "top"]
        discs = [(each.at, each.diameter) for each in bare if each.window is None]
        discs += [(hole.at, hole.diameter) for hole in self.art.holes]
        return all(box.distance(at) >= diameter / 2 + self.margin for at, diameter in discs) and not any(
            _meets(box, each.path, self.margin) or holds(each.path, box.at) for each in bare if each.window
        )

    def _on_board(self, box: _Box) -> bool:
        outline = self.art.outline
        inside = outline is None or _inside(outline, box)
        return inside and not any(
            holds(pocket, box.at) or _meets(box, pocket, LARGEST_GAP) for pocket in self.art.pockets
        )


def _inside(outline: Path, box: _Box) -> bool:
    """Whether a box lies within an outline, which may have hollow corners."""
    if all(isinstance(piece, Line) or piece.sweep > 0 for piece in outline.segments):
        return all(holds(outline, corner) for corner in box.corners())
    return bool(contains(outline, np.array(box.corners())).all()) and not _meets(box, outline, LARGEST_GAP)


def legend(
    marks: Iterable[str], art: Art, terminals: tuple[Terminal, ...], clearance: float, label: str = ""
) -> tuple[Stroke, ...]:
    """Strokes of the terminals' numbers and of further marks, a clearance, m, from openings, holes, edges.

    label: what tells the board from others of a panel; it is printed wherever on the board there is room.
    """
    space = _Space(art=art, margin=clearance)
    printed: list[_Box] = []
    strokes: list[Stroke] = []
    for terminal in terminals:
        _print(
            str(terminal.number),
            _beside(terminal, terminals),
            NUMBER_HEIGHTS,
            space,
            printed,
            strokes,
        )
    if label:
        _print(label, [*_name_spots(art), *_anywhere(art)], LABEL_HEIGHTS, space, printed, strokes)
    for mark in marks:
        _print(mark, _name_spots(art), NAME_HEIGHTS, space, printed, strokes)
    return tuple(strokes)


def is_printed(terminal: Terminal, terminals: tuple[Terminal, ...], printed: Iterable[Stroke]) -> bool:
    """Whether a terminal's number stands beside it in a legend."""
    paths = [stroke.path for stroke in printed]
    spelt = (
        lettering(str(terminal.number), height, at)
        for at in _beside(terminal, terminals)
        for height in NUMBER_HEIGHTS
    )
    return any(all(path in paths for path in letters) for letters in spelt)


def _print(
    text: str,
    spots: list[Point],
    heights: tuple[float, ...],
    space: _Space,
    printed: list[_Box],
    strokes: list[Stroke],
) -> None:
    """Prints a text at the first spot and in the largest height that is clear; nowhere when none is."""
    for height in heights:
        half_width = (text_width(text, height) + LINE_WIDTH) / 2
        for at in spots:
            box = _Box(at, half_width, (height + LINE_WIDTH) / 2)
            if space.clear(box, printed):
                printed.append(box)
                strokes.extend(Stroke(path=path, width=LINE_WIDTH) for path in lettering(text, height, at))
                return


def _beside(terminal: Terminal, terminals: tuple[Terminal, ...]) -> list[Point]:
    """Next to a terminal: towards its winding's other one, away from it, away from the board's middle, to it.

    Numbers of one winding's terminals are an odd one and the next; of phases joined in a star there may be
    one without. A place that is about as near to another's pad would be taken for its number: none of these.
    """
    if terminal.fingers:
        return [_above(terminal, finger) for finger in terminal.fingers[::-1]]
    mate = terminal.number + (1 if terminal.number % 2 else -1)
    other = next((each for each in terminals if each.number == mate), terminals[0])
    towards = (other.at - terminal.at) / abs(other.at - terminal.at)
    outward = towards * (-1j if (terminal.at * (towards * -1j).conjugate()).real > 0 else 1j)
    step = terminal.pad / 2 + NUMBER_HEIGHT / 2 + APART
    spots = [terminal.at + step * way for way in (towards, -towards, outward, -outward)]
    near = _CLEARLY_OWN * (step - terminal.pad / 2)
    others = [each for each in terminals if each is not terminal]
    return [spot for spot in spots if all(abs(spot - each.at) >= each.pad / 2 + near for each in others)]


def _above(terminal: Terminal, finger: Finger) -> Point:
    """Past a contact finger's root, on the coverlay."""
    out = finger.span / abs(finger.span)
    return finger.at - finger.span / 2 - out * (terminal.pad / 2 + APART + NUMBER_HEIGHT / 2)


def _name_spots(art: Art) -> list[Point]:
    return [0j, *_rows(art)]


def _rows(art: Art) -> Iterator[Point]:
    """Up the board's middle line, from the top edge and from the bottom edge."""
    if art.outline is not None:
        top = max(segment.start.imag for segment in art.outline.segments)
        for k in range(1, 8):
            yield complex(0.0, top - k * 0.5e-3)
            yield complex(0.0, -top + k * 0.5e-3)


def _anywhere(art: Art) -> list[Point]:
    """Spots half a millimetre apart all over the board, from its upper left on."""
    if art.outline is None:
        return []
    low, high = extent(art.outline)
    across, up = (int((part + 1e-9) / SPOT) for part in ((high - low).real, (high - low).imag))
    corner = complex(low.real, high.imag)
    return [corner + SPOT * complex(i, -k) for k in range(up + 1) for i in range(across + 1)]


def _crosses(box: _Box, trace: Trace) -> bool:
    """Whether a trace runs under a print, which would be legible but restless."""
    return _meets(box, trace.path, trace.width / 2 + RESTLESS)


def _meets(box: _Box, path: Path, reach: float) -> bool:
    """Whether a path comes into a box, or nearer to it than a reach."""
    middle, far = box.at, abs(complex(box.half_width, box.half_height)) + reach
    near = [segment for segment in path.segments if segment.distance(middle) <= far]
    if not near or any(box.distance(segment.start) <= reach for segment in near):
        return bool(near)
    pairs = list(product(box.edges(), near))
    apart = distances(pieces([edge for edge, _ in pairs]), pieces([segment for _, segment in pairs]))
    return bool(apart.value.min() <= reach)


def _overlap(a: _Box, b: _Box, margin: float) -> bool:
    apart = a.at - b.at
    return (
        abs(apart.real) < a.half_width + b.half_width + margin
        and abs(apart.imag) < a.half_height + b.half_height + margin
    )
