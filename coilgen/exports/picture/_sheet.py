"""The sheet a drawing stands on: where its parts go, and its lines of text."""

import textwrap
from collections.abc import Iterable, Iterator
from typing import TypeVar

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.design.winding import Winding
from coilgen.exports.picture._annotations import finding_text
from coilgen.exports.picture._svg import text_width
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.extent import extent
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path
from coilgen.geometry.point import Point, dot
from coilgen.layout.coil import Trace
from coilgen.layout.seen import measured
from coilgen.result.result import Result
from coilgen.units import in_mm, size_in_mm

_Kind = TypeVar("_Kind", Line, Arc)

LISTED_FINDINGS = 20
"""More than these are neither marked nor listed, only counted."""

HEADING = 11.0
"""Width of a panel's heading over the size of letters; less than panels of all but narrow boards."""

PANEL_SCALE = 0.5
"""Of the pictures of single layers."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Where things stand, m, y up: corners of the board, ends of the winding's size, letters, text, edges.

    spans: none where several windings have no one size. aside: from the board to the dimension of its height.
    """

    low: Point
    high: Point
    spans: tuple[tuple[Point, Point, float], ...]
    size: float
    aside: float
    note: tuple[str, ...]
    caption: tuple[str, ...]
    listed: tuple[str, ...]
    left: float
    right: float
    top: float
    bottom: float

    @property
    def panel(self) -> Point:
        """Width and height of a panel with its heading."""
        board = (self.high - self.low) * PANEL_SCALE
        return complex(_panel_width((self.high - self.low).real, self.size), board.imag + 3.2 * self.size)

    @property
    def panels_left(self) -> float:
        """Where the panels begin, right of the board and its dimension."""
        return self.high.real + _right_room(self.low, self.high, self.size, self.aside)

    @property
    def caption_top(self) -> float:
        """Base line of the caption's first line, under the board, its dimension and the scale bar."""
        return self.board_width - 5 * self.size

    @property
    def board_width(self) -> float:
        """Height of the dimension of the board's width: under a level one of the winding."""
        return self.low.imag - (4.2 if self.level else 2) * self.size

    @property
    def level(self) -> bool:
        """Whether a size of the winding is measured level."""
        return any(_level(span) for span in self.spans)

    @property
    def beside(self) -> float:
        """Room left of the board: for an upright dimension of the winding, or a rim."""
        return (6.5 if any(not _level(span) for span in self.spans) else 1.5) * self.size


def _height_aside(art: Art, low: Point, high: Point, size: float) -> float:
    """From the board to the dimension of its height, m: its label is clear of the board and of windows over
    its edge.
    """
    past = max((extent(each.path)[1].real - high.real for each in art.openings), default=0.0)
    return max(0.0, past) + max(2 * size, text_width(in_mm(high.imag - low.imag), size) / 2 + 0.4 * size)


def _right_room(low: Point, high: Point, size: float, aside: float) -> float:
    """Right of the board, of that dimension and its label, m."""
    label = text_width(in_mm(high.imag - low.imag), size) / 2
    return max(6 * size, aside + label + size)


def _panel_width(board: float, size: float) -> float:
    """Of a panel of a board's width with its margin, and wide enough for its heading, m."""
    return max(board * PANEL_SCALE, HEADING * size) + 2 * size


def sheet_of(result: Result) -> Sheet:
    """The sheet for a result; letters follow the board's size."""
    low, high = _board_extent(result.art)
    side = max(high.real - low.real, high.imag - low.imag)
    size = side / 34
    spans = () if result.windings else winding_spans(result)
    columns = (panel_count(result.art) + 1) // 2
    left = low.real - 6.5 * size
    aside = _height_aside(result.art, low, high, size)
    right = (
        high.real + _right_room(low, high, size, aside) + columns * _panel_width(high.real - low.real, size)
    )
    line_length = int((right - left - 3 * size) / (0.46 * size))
    note = tuple(textwrap.wrap(result.design.note, int(0.8 * line_length)))
    caption = tuple(line for text in _caption(result) for line in textwrap.wrap(text, line_length))
    listed = tuple(_listed(result, line_length))
    return Sheet(
        low=low,
        high=high,
        spans=spans,
        size=size,
        aside=aside,
        note=note,
        caption=caption,
        listed=listed,
        left=left,
        right=right,
        top=high.imag + (4 + 1.5 * len(note)) * size,
        bottom=low.imag
        - (7.6 + 2.2 * any(_level(span) for span in spans) + 1.5 * (len(caption) + len(listed))) * size,
    )


def _level(span: tuple[Point, Point, float]) -> bool:
    return span[0].imag == span[1].imag


def winding_spans(result: Result) -> tuple[tuple[Point, Point, float], ...]:
    """Ends of a line over the winding's copper for each of its outer sizes, and the size, m."""
    if result.design.winding.measure.centred:
        return ((*_span(result), result.design.winding.span),)
    return measured(result.design)


def _span(result: Result) -> tuple[Point, Point]:
    """Where a size is twice the distance from the centre.

    Polygons have it across opposite flats. A spiral of arcs has it in one direction only, a little off the
    centre: the top layer's arcs tell where.
    """
    size, traces = result.design.winding.span, result.art.traces_on(1)
    upright, level = (-0.5j * size, 0.5j * size), (complex(-size / 2), complex(size / 2))
    if any(_on_flat(line, 1j * (size - trace.width) / 2) for trace, line in _pieces(traces, Line)):
        return upright
    if any(_on_flat(line, (size - trace.width) / 2) for trace, line in _pieces(traces, Line)):
        return level
    low, high = _around((Path((arc,)), trace.width / 2) for trace, arc in _pieces(traces, Arc))
    if abs(high.real - low.real - size) < LARGEST_GAP:
        return complex(low.real), complex(high.real)
    return complex(0, low.imag), complex(0, high.imag)


def _pieces(traces: Iterable[Trace], kind: type[_Kind]) -> list[tuple[Trace, _Kind]]:
    return [(trace, piece) for trace in traces for piece in trace.path.segments if isinstance(piece, kind)]


def _on_flat(line: Line, foot: Point) -> bool:
    """Whether a line runs square to the way from the centre to a foot, through it or the one opposite."""
    out = foot / abs(foot)
    return all(abs(abs(dot(end, out)) - abs(foot)) < LARGEST_GAP for end in (line.start, line.end))


def _board_extent(art: Art) -> tuple[Point, Point]:
    """Corners of the board, or of the copper with a margin where no outline is drawn."""
    if art.outline is not None:
        return extent(art.outline)
    circles = [(pad.path, 1e-3) for pad in art.pads]
    return _around([*((trace.path, trace.width / 2 + 1e-3) for trace in art.traces), *circles])


def _around(paths: Iterable[tuple[Path, float]]) -> tuple[Point, Point]:
    """Lower left and upper right corner around paths, each with its margin."""
    lows, highs = zip(*(_grown(path, margin) for path, margin in paths), strict=True)
    low = complex(min(low.real for low in lows), min(low.imag for low in lows))
    return low, complex(max(high.real for high in highs), max(high.imag for high in highs))


def _grown(path: Path, margin: float) -> tuple[Point, Point]:
    low, high = extent(path)
    return low - complex(margin, margin), high + complex(margin, margin)


def panel_count(art: Art) -> int:
    """Pictures of single layers: none where the view shows the only one."""
    return art.copper_layers if art.copper_layers > 1 else 0


def _caption(result: Result) -> Iterator[str]:
    design = result.design
    thick = f"board {in_mm(design.board.stackup.thickness)} thick."
    if not design.windings:
        yield f"{_told(design.winding)}, {thick}"
    if design.array is not None:
        yield _of_array(design)
    for number, each in enumerate(() if design.array else design.windings, start=1):
        layers = ", ".join(str(layer) for layer in each.copper_layers)
        yield (
            f"{each.name}, terminals {2 * number - 1} and {2 * number}, on copper {layers}: "
            f"{_told(each.design.winding)}."
        )
    if design.windings:
        yield thick.capitalize()
    panels = "; single layers at half scale, also from the top" if panel_count(result.art) else ""
    yield (f"Seen from the top, top copper in front, true to scale{panels}. {way_told(design)}")


def way_told(design: Design) -> str:
    """Which way the current flows."""
    if design.array is not None and design.array.joined:
        turned = any(letter.islower() for letter in design.array.phase_order or "")
        small = "; coils with a small letter are joined to their phase the other way round" * turned
        return f"Arrowheads show a coil's positive current{small}."
    enters, leaves = ("odd terminals", "even ones") if design.windings else ("1", "2")
    return f"A positive current enters at {enters}, follows the arrowheads and leaves at {leaves}."


def _of_array(design: Design) -> str:
    array = design.array
    assert array is not None
    joined = {"open": "each with its own terminals"}.get(array.coils, f"coils of a phase in {array.coils}")
    phases = f"phases {'open' if array.connection == 'open' else 'in ' + array.connection}"
    joints = f", {phases}" if array.joined else ""
    return (
        f"{array.arrangement.capitalize()} of {len(design.windings)} coils, phase order {array.phase_order}, "
        f"{joined}{joints}{_toned(array.phase_count)}. Each: {_told(design.windings[0].design.winding)}"
        f"{', with a core in its pocket' * any(core.place == 'pocket' for core in design.core)}."
    )


def _toned(phases: int) -> str:
    return "" if phases < 2 else ", from A, the darkest, each lighter than the one before"


def _told(winding: Winding) -> str:
    layers = "one layer" if winding.layers == 1 else f"each of {winding.layers} layers"
    turns = "1 turn" if winding.turns == 1 else f"{winding.turns:g} turns"
    return (
        f"{winding.shape.capitalize()} winding, {turns} on {layers}, {winding.direction}: "
        f"trace {in_mm(winding.trace_width)}, spacing {in_mm(winding.trace_spacing)}, "
        f"clear opening {size_in_mm(winding.inner_size)}"
    )


def _listed(result: Result, line_length: int) -> Iterator[str]:
    """Lines of the findings, numbered as on the board."""
    findings = result.findings[:LISTED_FINDINGS]
    for count, finding in enumerate(findings, start=1):
        yield from textwrap.wrap(f"{count}  {finding_text(finding)}", line_length, subsequent_indent="    ")
    left = len(result.findings) - len(findings)
    if left:
        yield f"and {left} more, all in the JSON file"
