"""Routed slots round a board, bridges of board left between them, and holes along which these break."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from coilgen.artwork.art import NO_NET, Hole
from coilgen.design.paneling import fact
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.clearance import Strokes
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import Reals, distances, pieces
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point, cross, dot
from coilgen.units import in_mm

FEWEST = 3
_SEARCH = 0.5e-3
"""Between places where a tab is tried, m."""
_SHORTEST = 1e-7
"""A remainder of a piece that is left out of a slot, m."""


@dataclass(frozen=True, kw_only=True)
class Cut:
    """What parts a board from the frame: slots, closed; the holes of each tab."""

    slots: tuple[Path, ...]
    perforations: tuple[tuple[Hole, ...], ...]


@dataclass(frozen=True, kw_only=True)
class _Spot:
    """A place along an outline: the piece, how far along it, m."""

    piece: int
    along: float


def cut(outline: Path, copper: Strokes, label: str, kept_free: Sequence[Path] = ()) -> Cut:
    """Slots round an outline, counter-clockwise, with tabs where copper and holes are farthest off.

    copper: strokes of the board's copper and holes, of any sheet. kept_free: closed paths round edges that
    bear no tab. DesignError where there is no room for a tab, or for the cutter.
    """
    _refuse_tight(outline, label)
    spots = _spots(outline, copper, kept_free)
    if len(spots) < FEWEST:
        free = ", clear of contact fingers, terminals and bends of its tail" if kept_free else ""
        raise DesignError.at(
            label,
            f"has room for {len(spots)} tabs of {fact('tab', 'width') * 1e3:g} mm along its edge{free}, and "
            f'needs {FEWEST}; use separation = "none", or a larger board',
        )
    return Cut(
        slots=tuple(
            _slot(outline, start, end) for start, end in zip(spots, [*spots[1:], spots[0]], strict=True)
        ),
        perforations=tuple(_perforation(outline, spot) for spot in spots),
    )


def half_width() -> float:
    """From a tab's middle to where the middle of the cutter stops, m."""
    return (fact("tab", "width") + fact("tab", "slot")) / 2


def _refuse_tight(outline: Path, label: str) -> None:
    """DesignError for a hollow corner that the cutter of slots does not reach into."""
    least, sharp = fact("tab", "slot") / 2, math.inf
    for before, segment in pairwise([outline.segments[-1], *outline.segments]):
        if isinstance(segment, Arc) and segment.sweep < 0:
            sharp = min(sharp, segment.radius)
        elif _angle(segment.start_heading / before.end_heading) < -1e-6:
            sharp = 0.0
    if sharp < least - 1e-9:
        raise DesignError.at(
            label,
            f"has roots of its tail with {in_mm(sharp)} of radius, under the {in_mm(least)} of the slots' "
            f'cutter: raise tail.root_radius to {in_mm(least)}, or use separation = "none"',
        )


def _spots(outline: Path, copper: Strokes, kept_free: Sequence[Path]) -> list[_Spot]:
    """One near each of equal parts of the way round, on a piece that holds the whole tab, clear of copper."""
    ways = [way for way in _candidates(outline) if not _held(outline, way, kept_free)]
    if not ways:
        return []
    count = max(4, math.ceil(outline.length / fact("tab", "apart")))
    clear = _clearances(outline, ways, copper)
    enough = fact("tab", "copper_to_perforation") + fact("perforation", "drill") / 2
    begins = [0.0, *np.cumsum([segment.length for segment in outline.segments])]
    travelled = np.array([begins[way.piece] + way.along for way in ways])
    chosen: list[int] = []
    for part in range(count):
        wanted = _wanted(outline, part, count)
        aside = np.abs((travelled - wanted + outline.length / 2) % outline.length - outline.length / 2)
        free = [k for k in np.argsort(aside, kind="stable").tolist() if _apart(travelled, k, chosen, outline)]
        roomy = [k for k in free if clear[k] >= enough and aside[k] <= outline.length / count / 2]
        near = [k for k in free if aside[k] <= outline.length / count / 2]
        best = roomy[:1] or sorted(near, key=lambda k: -clear[k])[:1]
        chosen += best
    return [ways[k] for k in sorted(chosen, key=lambda k: travelled[k])]


def _wanted(outline: Path, part: int, count: int) -> float:
    """The middle of a part of the way round, m from its start."""
    return (part + 0.5) * outline.length / count


def _apart(travelled: Reals, k: int, chosen: Sequence[int], outline: Path) -> bool:
    least = 2 * half_width() + fact("tab", "slot")
    return all(least <= abs(travelled[k] - travelled[other]) <= outline.length - least for other in chosen)


def _held(outline: Path, spot: _Spot, kept_free: Sequence[Path]) -> bool:
    """Whether a tab there would hold an edge that is kept free."""
    at = np.array([hole.at for hole in _perforation(outline, spot)])
    return any(contains(area, at).any() for area in kept_free)


def _candidates(outline: Path) -> list[_Spot]:
    """On pieces long enough; off hollow corners by a slot's width, where the slot's far edge turns."""
    found = []
    count = len(outline.segments)
    for number, segment in enumerate(outline.segments):
        before, after = outline.segments[number - 1], outline.segments[(number + 1) % count]
        first, last = (half_width() + _in_hollow(each) for each in (before, after))
        room = segment.length - first - last
        if room < 0 or (
            isinstance(segment, Arc) and (segment.radius < 2 * half_width() or segment.sweep < 0)
        ):
            continue
        steps = int(room / _SEARCH)
        edge = first + (room - steps * _SEARCH) / 2
        found += [_Spot(piece=number, along=edge + k * _SEARCH) for k in range(steps + 1)]
    return found


def _in_hollow(segment: Segment) -> float:
    """How far beside a piece the far edge of a slot turns, m."""
    return fact("tab", "slot") if isinstance(segment, Arc) and segment.sweep < 0 else 0.0


def _clearances(outline: Path, ways: Sequence[_Spot], copper: Strokes) -> Reals:
    """From the nearest hole centre of a tab there to copper, m, (n,)."""
    least = np.full(len(ways), np.inf)
    for k, way in enumerate(ways):
        row = pieces([hole.at for hole in _perforation(outline, way)])
        middle = outline.segments[way.piece].at(way.along / outline.segments[way.piece].length)
        near = np.flatnonzero(_reach(copper, middle) <= 5e-3)
        if len(near):
            one = np.repeat(np.arange(len(row.start)), len(near))
            other = np.tile(near, len(row.start))
            apart = distances(row.take(one), copper.pieces.take(other)).value - copper.width[other] / 2
            least[k] = apart.min()
    return least


def _reach(copper: Strokes, at: Point) -> Reals:
    """A length no longer than the way from a place to each stroke, m."""
    shapes = copper.pieces
    middle = (shapes.start + shapes.end) / 2
    reach: Reals = np.abs(middle - at) - shapes.length / 2 - copper.width / 2
    return reach


def _perforation(outline: Path, spot: _Spot) -> tuple[Hole, ...]:
    """Holes on the board's edge, from slot to slot."""
    segment = outline.segments[spot.piece]
    count, pitch = _holes()
    first = spot.along - pitch * (count - 1) / 2
    return tuple(
        Hole(
            at=segment.at((first + k * pitch) / segment.length),
            diameter=fact("perforation", "drill"),
            plated=False,
            terminal=None,
            net=NO_NET,
        )
        for k in range(count)
    )


def _holes() -> tuple[int, float]:
    """Number of holes over a tab where it meets the board, and their pitch, m: webs alike, none too wide."""
    drill, web, whole = fact("perforation", "drill"), fact("perforation", "web"), 2 * half_width()
    count = math.ceil((whole - web) / (drill + web) - 1e-9)
    return count, drill + (whole - count * drill) / (count + 1)


def _slot(outline: Path, start: _Spot, end: _Spot) -> Path:
    """From one tab to the next: along the board's edge, round the end, back beside it, and closed."""
    width = fact("tab", "slot")
    edge = list(_between(outline, start, end))
    outer = list(_outward(edge, width))
    first, last = edge[0], edge[-1]
    beyond = last.end - 1j * last.end_heading * width / 2
    before = first.start - 1j * first.start_heading * width / 2
    far = Arc(beyond, width / 2, _angle(1j * last.end_heading), -math.pi)
    near = Arc(before, width / 2, _angle(-1j * first.start_heading), -math.pi)
    back = [segment.reversed() for segment in reversed(outer)]
    return Path((*edge, far, *back, near)).reversed()


def _angle(way: Point) -> float:
    return math.atan2(way.imag, way.real)


def _between(outline: Path, start: _Spot, end: _Spot) -> Iterator[Segment]:
    """The edge from half a tab after one spot to half a tab before the next."""
    count = len(outline.segments)
    first = outline.segments[start.piece]
    begin, stop = start.along + half_width(), end.along - half_width()
    if start.piece == end.piece and stop > begin:
        yield _part(first, begin, stop)
        return
    yield from _kept(first, begin, first.length)
    piece = (start.piece + 1) % count
    while piece != end.piece:
        yield outline.segments[piece]
        piece = (piece + 1) % count
    yield from _kept(outline.segments[end.piece], 0.0, stop)


def _kept(segment: Segment, begin: float, stop: float) -> Iterator[Segment]:
    if stop - begin > _SHORTEST:
        yield _part(segment, begin, stop)


def _part(segment: Segment, begin: float, stop: float) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.at(begin / segment.length), segment.at(stop / segment.length))
    share = segment.sweep / segment.length
    return Arc(segment.centre, segment.radius, segment.start_angle + begin * share, (stop - begin) * share)


def _outward(edge: Sequence[Segment], width: float) -> Iterator[Segment]:
    """The parallel edge outside: round sharp corners with the cutter's own arc, across tight hollow ones."""
    found: list[Segment] = []
    hollow = False
    for before, segment in zip([None, *edge[:-1]], edge, strict=True):
        if isinstance(segment, Arc) and segment.sweep < 0 and segment.radius <= width + _SHORTEST:
            hollow = True
            continue
        outer = segment.offset(-width)
        if hollow and found:
            at = _crossing(found[-1], outer)
            found[-1], outer = _until(found[-1], at), _until(outer.reversed(), at).reversed()
        elif before is not None:
            turn = _angle(segment.start_heading / before.end_heading)
            if turn > 1e-9:
                found.append(Arc(segment.start, width, _angle(-1j * before.end_heading), turn))
        found.append(outer)
        hollow = False
    yield from found


def _until(segment: Segment, at: Point) -> Segment:
    """From its start to a point on it."""
    if isinstance(segment, Line):
        return Line(segment.start, at)
    turned = _angle((at - segment.centre) / (segment.start - segment.centre))
    sweep = turned % math.tau if segment.sweep > 0 else -(-turned % math.tau)
    return Arc(segment.centre, segment.radius, segment.start_angle, sweep)


def _crossing(one: Segment, other: Segment) -> Point:
    """Where two pieces, one of them straight, cross near the first one's end; on them or straight on."""
    line, piece = (one, other) if isinstance(one, Line) else (other, one)
    assert isinstance(line, Line), "a tail's sides are straight"
    way = (line.end - line.start) / line.length
    if isinstance(piece, Line):
        along = cross(piece.start - line.start, piece.end - piece.start) / cross(way, piece.end - piece.start)
        return line.start + along * way
    foot = line.start + way * dot(piece.centre - line.start, way)
    reach = math.sqrt(piece.radius**2 - abs(foot - piece.centre) ** 2)
    return min((foot - reach * way, foot + reach * way), key=lambda at: abs(at - one.end))
