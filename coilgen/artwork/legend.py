"""The top legend: numbers of the terminals, and the design's name where there is room."""

from collections.abc import Iterator
from dataclasses import dataclass

from coilgen.artwork.art import Art, Stroke
from coilgen.geometry.closed import holds
from coilgen.geometry.lettering import lettering, text_width
from coilgen.geometry.point import Point
from coilgen.layout.coil import Terminal, Trace

LINE_WIDTH = 0.15e-3
"""Of printed lines; common practice, no source."""
MARGIN = 0.2e-3
"""From print to openings, holes and edges; common practice, no source."""
NUMBER_HEIGHT = 1.0e-3
NAME_HEIGHTS = (1.5e-3, 1.2e-3, 1.0e-3)


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


def legend(name: str, art: Art, terminals: tuple[Terminal, Terminal]) -> tuple[Stroke, ...]:
    """Strokes of everything printed on the top."""
    printed: list[_Box] = []
    strokes: list[Stroke] = []
    for terminal in terminals:
        _print(
            str(terminal.number), _beside(terminal, terminals), (NUMBER_HEIGHT, 0.8e-3), art, printed, strokes
        )
    _print(name, _name_spots(art), NAME_HEIGHTS, art, printed, strokes)
    return tuple(strokes)


def _print(
    text: str,
    spots: list[Point],
    heights: tuple[float, ...],
    art: Art,
    printed: list[_Box],
    strokes: list[Stroke],
) -> None:
    """Prints a text at the first spot and in the largest height that is clear; nowhere when none is."""
    for height in heights:
        half_width = (text_width(text, height) + LINE_WIDTH) / 2
        for at in spots:
            box = _Box(at, half_width, (height + LINE_WIDTH) / 2)
            if _clear(box, art, printed):
                printed.append(box)
                strokes.extend(Stroke(path=path, width=LINE_WIDTH) for path in lettering(text, height, at))
                return


def _beside(terminal: Terminal, terminals: tuple[Terminal, Terminal]) -> list[Point]:
    """Next to a terminal: towards the other one, away from it, away from the coil, towards it."""
    other = terminals[2 - terminal.number]
    towards = (other.at - terminal.at) / abs(other.at - terminal.at)
    outward = towards * (-1j if (terminal.at * (towards * -1j).conjugate()).real > 0 else 1j)
    step = terminal.pad / 2 + NUMBER_HEIGHT / 2 + 2 * MARGIN
    return [terminal.at + step * way for way in (towards, -towards, outward, -outward)]


def _name_spots(art: Art) -> list[Point]:
    return [0j, *_rows(art)]


def _rows(art: Art) -> Iterator[Point]:
    """Up the board's middle line, from the top edge and from the bottom edge."""
    if art.outline is not None:
        top = max(segment.start.imag for segment in art.outline.segments)
        for k in range(1, 8):
            yield complex(0.0, top - k * 0.5e-3)
            yield complex(0.0, -top + k * 0.5e-3)


def _clear(box: _Box, art: Art, printed: list[_Box]) -> bool:
    openings = all(
        box.distance(opening.at) >= opening.diameter / 2 + MARGIN
        for opening in art.openings
        if opening.side == "top"
    )
    bare = not any(_crosses(box, trace) for trace in art.traces_on(1))
    holes = all(box.distance(hole.at) >= hole.diameter / 2 + MARGIN for hole in art.holes)
    return (
        openings
        and holes
        and bare
        and _on_board(box, art)
        and not any(_overlap(box, other) for other in printed)
    )


def _crosses(box: _Box, trace: Trace) -> bool:
    """Whether a trace runs under a print, which would be legible but restless."""
    reach = trace.width / 2 + MARGIN / 2
    middle, far = box.at, abs(complex(box.half_width, box.half_height)) + reach
    return any(
        box.distance(segment.at(k / 32)) < reach
        for segment in trace.path.segments
        if segment.distance(middle) < far
        for k in range(33)
    )


def _on_board(box: _Box, art: Art) -> bool:
    grown = _Box(box.at, box.half_width + MARGIN, box.half_height + MARGIN)
    if art.outline is not None and not all(holds(art.outline, corner) for corner in grown.corners()):
        return False
    if art.pocket is None:
        return True
    return all(
        grown.distance(segment.at(k / 16)) > 0 for segment in art.pocket.segments for k in range(17)
    ) and not holds(art.pocket, box.at)


def _overlap(a: _Box, b: _Box) -> bool:
    apart = a.at - b.at
    return (
        abs(apart.real) < a.half_width + b.half_width + MARGIN
        and abs(apart.imag) < a.half_height + b.half_height + MARGIN
    )
