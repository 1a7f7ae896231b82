"""Where a cut from west to east through the coil's centre meets the art: intervals of x, m."""

import math
from collections.abc import Iterable, Iterator

from coilgen.artwork.art import Art, Pad
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point

Interval = tuple[float, float]

FLATTEST = 0.05
"""Sine of the least angle between trace and cut that is shown; under it the trace runs along the cut."""


def copper(art: Art, layer: int) -> list[Interval]:
    """Copper of one layer, from west to east, touching pieces joined.

    Traces have the width that the cut gives them where it meets their centre line: round caps are left out.
    """
    pieces = [
        _crossing(segment, at, trace.width)
        for trace in art.traces_on(layer)
        for segment in trace.path.segments
        for at in crossings(segment)
    ]
    pads = [chord for pad in art.pads_on(layer) for chord in _pad_chords(pad)]
    return merged([*(piece for piece in pieces if piece is not None), *pads])


def _pad_chords(pad: Pad) -> Iterable[Interval]:
    return between(pad.path) if pad.span else _chord(pad.at, pad.diameter)


def holes(art: Art) -> list[Interval]:
    """Drilled holes."""
    return merged(chord for hole in art.holes for chord in _chord(hole.at, hole.diameter))


def between(path: Path) -> list[Interval]:
    """The inside of a closed path."""
    places = sorted(at.real for segment in path.segments for at in crossings(segment))
    return [(a, b) for a, b in zip(places[::2], places[1::2], strict=False)]


def crossings(segment: Segment) -> list[Point]:
    """Points of a piece on the cut; its end belongs to the piece that follows."""
    return _line_crossings(segment) if isinstance(segment, Line) else _arc_crossings(segment)


def _line_crossings(line: Line) -> list[Point]:
    low, high = line.start.imag, line.end.imag
    if (low < 0) == (high < 0):
        return []
    return [line.at(low / (low - high))]


def _arc_crossings(arc: Arc) -> list[Point]:
    rise = -arc.centre.imag / arc.radius
    if abs(rise) > 1:
        return []
    first = math.asin(rise)
    angles = (first, math.pi - first)
    turned = [(angle - arc.start_angle) * math.copysign(1, arc.sweep) % math.tau for angle in angles]
    return [arc.at(turn / abs(arc.sweep)) for turn in turned if turn < abs(arc.sweep) * (1 - 1e-12)]


def _crossing(segment: Segment, at: Point, width: float) -> Interval | None:
    slope = abs(_heading(segment, at).imag)
    if slope < FLATTEST:
        return None
    return at.real - width / 2 / slope, at.real + width / 2 / slope


def _heading(segment: Segment, at: Point) -> Point:
    if isinstance(segment, Line):
        return segment.start_heading
    return (at - segment.centre) / segment.radius * 1j


def _chord(at: Point, diameter: float) -> Iterator[Interval]:
    if abs(at.imag) < diameter / 2:
        half = math.sqrt((diameter / 2) ** 2 - at.imag**2)
        yield at.real - half, at.real + half


def merged(intervals: Iterable[Interval]) -> list[Interval]:
    """Overlapping and touching intervals joined, in order.

    >>> merged([(3.0, 4.0), (0.0, 1.0), (0.5, 2.0)])
    [(0.0, 2.0), (3.0, 4.0)]
    """
    joined: list[Interval] = []
    for low, high in sorted(intervals):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def without(interval: Interval, gaps: Iterable[Interval]) -> list[Interval]:
    """What gaps, in order and apart, leave of an interval.

    >>> without((0.0, 4.0), [(1.0, 2.0)])
    [(0.0, 1.0), (2.0, 4.0)]
    """
    low, left = interval[0], []
    for start, end in gaps:
        if start > low:
            left.append((low, min(start, interval[1])))
        low = max(low, end)
    return [piece for piece in (*left, (low, interval[1])) if piece[1] > piece[0]]
