"""Lines and arcs joined end to end."""

from collections.abc import Iterable
from functools import cached_property
from itertools import pairwise
from typing import TypeAlias

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.point import Point, cross, dot

Segment: TypeAlias = Line | Arc

LARGEST_GAP = 1e-9


@dataclass(frozen=True)
class Path:
    """Segments in order of travel; a gap of more than 1 nm between two of them is refused with ValueError.

    >>> Path((Line(0j, 1 + 0j), Line(1 + 0j, 1 + 2j))).length
    3.0
    """

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a path needs at least one segment")
        for before, after in pairwise(self.segments):
            gap = abs(after.start - before.end)
            if gap > LARGEST_GAP:
                raise ValueError(f"a gap of {gap} m between {before} and {after}")

    @property
    def start(self) -> Point:
        """Where travel begins, m."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Where travel ends, m."""
        return self.segments[-1].end

    @property
    def closed(self) -> bool:
        """Whether the end meets the start within 1 nm."""
        return abs(self.end - self.start) <= LARGEST_GAP

    @cached_property
    def length(self) -> float:
        """Length, m."""
        return sum(segment.length for segment in self.segments)

    @property
    def swept_area(self) -> float:
        """Signed area between the path and the origin, m2.

        Of a closed path its area, counter-clockwise positive.
        """
        return sum(segment.swept_area for segment in self.segments)

    def reversed(self) -> "Path":
        """The same path travelled the other way."""
        return _as_sound(segment.reversed() for segment in reversed(self.segments))

    def moved(self, isometry: Isometry) -> "Path":
        """The image of the path."""
        if not isometry.moves:
            return self
        return _as_sound(segment.moved(isometry) for segment in self.segments)


def _as_sound(segments: Iterable[Segment]) -> Path:
    """The image of a path, which has no gaps: they are not looked for again."""
    path = object.__new__(Path)
    object.__setattr__(path, "segments", tuple(segments))
    return path


def polyline(points: Iterable[Point]) -> tuple[Line, ...]:
    """Lines through points in order, m; a point within 1 nm of the one before or of the way ahead is dropped.

    >>> len(polyline([0j, 0j, 1 + 0j, 2 + 0j, 2 + 1j]))
    2
    """
    kept: list[Point] = []
    for point in points:
        if kept and abs(point - kept[-1]) <= LARGEST_GAP:
            continue
        if len(kept) > 1 and _on_the_way(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return tuple(Line(start, end) for start, end in pairwise(kept))


def _on_the_way(start: Point, via: Point, end: Point) -> bool:
    way = (end - start) / abs(end - start) if end != start else 0j
    step = via - start
    return abs(cross(way, step)) <= LARGEST_GAP / 2 and 0 < dot(way, step) < abs(end - start)


def joined(*parts: Iterable[Segment]) -> Path:
    """One path through several runs of segments in order."""
    return Path(tuple(segment for part in parts for segment in part))
