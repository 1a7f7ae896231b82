"""The exact outline of a path stroked with a round tool."""

import cmath
import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, cross, dot

_TANGENT_GAP = LARGEST_GAP / 2
_TANGENT = 1e-6  # rad
_FULL_TURN = 2 * math.pi


class TightStrokeError(ValueError):
    """A stroke that turns in on itself and so has no single outline of offset pieces."""


def outlines(path: Path, width: float) -> tuple[Path, ...]:
    """Closed outlines, counter-clockwise, that together hold what a round tool strokes: one where it can be.

    Where a piece shorter than the width lies between a corner to the left and one to the right, or ends the
    path at a corner, its neighbours' inner sides have nothing to meet: it gets an outline of its own, which
    overlaps theirs.

    >>> jog = Path((Line(0j, 9 + 0j), Line(9 + 0j, 9 + 0.5j), Line(9 + 0.5j, 18 + 0.5j)))
    >>> len(outlines(jog, 0.4)), len(outlines(jog, 2.0))
    (1, 3)
    """
    try:
        return (outline(path, width),)
    except TightStrokeError:
        parts = _parts(path.segments, width)
        if len(parts) == 1:
            raise
        return tuple(outline(Path(part), width) for part in parts)


def _parts(segments: tuple[Segment, ...], width: float) -> list[tuple[Segment, ...]]:
    """The path's pieces, cut at both ends of each that leaves its neighbours nothing to meet."""
    parts: list[tuple[Segment, ...]] = [()]
    for index, segment in enumerate(segments):
        if segment.length < width and _bends_both_ways(segments, index):
            parts += [(segment,), ()]
        else:
            parts[-1] = (*parts[-1], segment)
    return [part for part in parts if part]


def _bends_both_ways(segments: tuple[Segment, ...], index: int) -> bool:
    """Whether a piece's two ends turn to different sides; a path's end counts as either."""
    around = segments[max(0, index - 1) : index + 2]
    turns = [cmath.phase(b.start_heading * a.end_heading.conjugate()) for a, b in pairwise(around)]
    sharp = [turn for turn in turns if abs(turn) > _TANGENT]
    return len(sharp) == len(turns) > 0 and (len(turns) == 1 or turns[0] * turns[1] < 0)


def outline(path: Path, width: float) -> Path:
    """Closed outline, counter-clockwise, of an open path stroked with a round tool of diameter `width`, m.

    Pieces lie at half the width from the path; ends are half circles, outer corners arcs about the corner,
    inner corners the exact meeting of the two offset pieces. A piece too short to reach its own inner side
    leaves its neighbours to meet there. Area: the path's length times the width, plus the disc of the ends,
    plus (width/2)^2 (a/2 - tan(a/2)) for each corner of turning angle a between two lines.

    Exact where pieces that are not neighbours are at least one width apart: contact of turns is not looked
    for. Raises ValueError for a closed path and a width that is not positive, and TightStrokeError where the
    stroke turns in on itself: an end piece bent more tightly than half the width, an inner corner without
    room to meet.

    >>> round(outline(Path((Line(0j, 3 + 0j),)), 2.0).swept_area - math.pi, 12)
    6.0
    """
    if not width > 0:
        raise ValueError(f"a tool of {width} m draws nothing")
    if path.closed:
        raise ValueError("a closed path has two outlines")
    radius = width / 2
    right = _side(path.segments, -radius)
    left = [piece.reversed() for piece in reversed(_side(path.segments, radius))]
    far_cap = _half_circle(path.end, radius, -1j * path.segments[-1].end_heading)
    near_cap = _half_circle(path.start, radius, 1j * path.segments[0].start_heading)
    return Path((*right, far_cap, *left, near_cap))


def _half_circle(centre: Point, radius: float, towards: Point) -> Arc:
    return Arc(centre, radius, cmath.phase(towards), math.pi)


def _side(segments: tuple[Segment, ...], distance: float) -> list[Segment]:
    """The pieces of one side in the sense of travel; distance to the left, m."""
    run: list[_Piece] = []
    swallowed = False
    for index, segment in enumerate(segments):
        corner = _corner(segments[index - 1], segment, distance) if index else None
        if swallowed and corner is not None and not corner.inner:
            raise _no_room(segment.start, "a short piece lies between an inner and an outer corner")
        fresh = _parallel(segment, distance)
        if fresh is None:
            if corner is not None and not corner.inner:
                raise _no_room(segment.start, "an outer corner is followed by a bend too tight for the width")
            swallowed = True
        elif swallowed or (corner is not None and corner.inner):
            swallowed = not _met(run, fresh, segment.start)
        else:
            if corner is not None:
                run.append(_Piece(corner.join, fixed=True))
            run.append(_Piece(fresh))
    if swallowed:
        raise _no_room(segments[-1].end, "the last piece is too short or too tight for the width")
    return list(_trimmed(run))


@dataclass(frozen=True)
class _Piece:
    """An offset segment whose start may be cut at `entry`; a fixed one is a round join, never cut."""

    segment: Segment
    entry: Point | None = None
    fixed: bool = False


@dataclass(frozen=True)
class _Corner:
    """A joint of two pieces that are not tangent, with the arc that joins their offsets if it is outer."""

    inner: bool
    join: Arc


def _corner(before: Segment, after: Segment, distance: float) -> _Corner | None:
    """The corner between two segments as met on one side, None where they pass smoothly."""
    heading, onward = before.end_heading, after.start_heading
    if abs(distance * (onward - heading)) <= _TANGENT_GAP:
        return None
    turn = cmath.phase(onward * heading.conjugate())
    away = heading * complex(0, math.copysign(1, distance))
    join = Arc(after.start, abs(distance), cmath.phase(away), turn)
    return _Corner(inner=turn * distance > 0, join=join)


def _parallel(segment: Segment, distance: float) -> Segment | None:
    """The offset piece; None where the bend is too tight to have one."""
    if (
        isinstance(segment, Arc)
        and segment.radius - math.copysign(distance, distance * segment.sweep) <= LARGEST_GAP
    ):
        return None
    return segment.offset(distance)


def _met(run: list[_Piece], fresh: Segment, near: Point) -> bool:
    """Joins a piece to the run at an inner corner; False where the meeting leaves nothing of the piece.

    Pieces of the run that the meeting leaves nothing of are taken from it.
    """
    while run and not run[-1].fixed:
        meeting = _meeting(run[-1].segment, fresh, near)
        if _cut(fresh, meeting, None) is None:
            return False
        if _cut(run[-1].segment, run[-1].entry, meeting) is not None:
            run.append(_Piece(fresh, entry=meeting))
            return True
        near = run.pop().segment.start
    raise _no_room(near, "the inner side has no room for a piece beside it")


def _trimmed(run: list[_Piece]) -> Iterator[Segment]:
    exits = [piece.entry for piece in run[1:]] + [None]
    for piece, leave in zip(run, exits, strict=True):
        cut = _cut(piece.segment, piece.entry, leave)
        if cut is None:
            raise _no_room(piece.segment.start, "two inner corners leave nothing of the piece between them")
        yield cut


def _no_room(at: Point, why: str) -> TightStrokeError:
    return TightStrokeError(f"the stroke turns in on itself at ({at.real}, {at.imag}) m: {why}")


def _cut(segment: Segment, entry: Point | None, leave: Point | None) -> Segment | None:
    """The part from entry to leave, both on the segment's carrier; None where nothing is left."""
    if entry is None and leave is None:
        return segment
    if isinstance(segment, Line):
        return _cut_line(segment, entry, leave)
    return _cut_arc(segment, entry, leave)


def _cut_line(line: Line, entry: Point | None, leave: Point | None) -> Line | None:
    heading = line.start_heading
    begin = 0.0 if entry is None else dot(entry - line.start, heading)
    end = line.length if leave is None else dot(leave - line.start, heading)
    if begin < -LARGEST_GAP or end > line.length + LARGEST_GAP:
        raise _no_room(line.start, "two pieces' inner sides meet only behind them")
    if end - begin <= LARGEST_GAP:
        return None
    return Line(line.start if entry is None else entry, line.end if leave is None else leave)


def _cut_arc(arc: Arc, entry: Point | None, leave: Point | None) -> Arc | None:
    begin = 0.0 if entry is None else _travelled(arc, entry)
    end = abs(arc.sweep) if leave is None else _travelled(arc, leave)
    if not 0 < end - begin - LARGEST_GAP / arc.radius < abs(arc.sweep):
        return None
    sign = math.copysign(1.0, arc.sweep)
    return replace(arc, start_angle=arc.start_angle + sign * begin, sweep=sign * (end - begin))


def _travelled(arc: Arc, point: Point) -> float:
    """Angle from the arc's start to a point on its circle in the sense of travel, rad, in [0, 2 pi)."""
    angle = cmath.phase(point - arc.centre) - arc.start_angle
    return math.copysign(1.0, arc.sweep) * angle % _FULL_TURN


def _meeting(before: Segment, after: Segment, near: Point) -> Point:
    """Where the carriers (line, circle) of two pieces meet, m; of two places the nearer to `near`."""
    match before, after:
        case Line(), Line():
            return _lines_meeting(before, after)
        case Line(), Arc():
            places = _line_circle_meetings(before, after)
        case Arc(), Line():
            places = _line_circle_meetings(after, before)
        case Arc(), Arc():
            places = _circle_meetings(before, after)
    return min(places, key=lambda place: abs(place - near))


def _lines_meeting(before: Line, after: Line) -> Point:
    heading, onward = before.start_heading, after.start_heading
    slant = cross(heading, onward)
    if abs(slant) < 1e-9:
        raise _no_room(after.start, "the path turns back along itself")
    return before.start + heading * (cross(after.start - before.start, onward) / slant)


def _line_circle_meetings(line: Line, arc: Arc) -> tuple[Point, Point]:
    heading = line.start_heading
    foot = line.start + heading * dot(arc.centre - line.start, heading)
    distance = abs(arc.centre - foot)
    half = _half_chord(arc.radius, distance, foot)
    return foot - heading * half, foot + heading * half


def _circle_meetings(before: Arc, after: Arc) -> tuple[Point, Point]:
    between = after.centre - before.centre
    apart = abs(between)
    if apart == 0:
        raise _no_room(after.start, "two pieces run along the same circle")
    along = (apart**2 + before.radius**2 - after.radius**2) / (2 * apart)
    foot = before.centre + between / apart * along
    half = _half_chord(before.radius, along, foot)
    across = 1j * between / apart * half
    return foot - across, foot + across


def _half_chord(radius: float, distance: float, foot: Point) -> float:
    square = (radius - distance) * (radius + distance)
    if square < 0:
        raise _no_room(foot, "the offset pieces do not meet")
    return math.sqrt(square)
