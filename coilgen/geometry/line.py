"""A straight piece of a path."""

from functools import cached_property

from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.point import Point, cross, dot


@dataclass(frozen=True)
class Line:
    """From `start` to `end`, m.

    >>> Line(0j, 3 + 4j).length
    5.0
    """

    start: Point
    end: Point

    @cached_property
    def length(self) -> float:
        """Length, m."""
        return abs(self.end - self.start)

    @property
    def start_heading(self) -> Point:
        """Direction of travel at the start."""
        return (self.end - self.start) / self.length

    @property
    def end_heading(self) -> Point:
        """Direction of travel at the end."""
        return self.start_heading

    @property
    def turning(self) -> float:
        """Change of heading along the piece, rad: none."""
        return 0.0

    @property
    def swept_area(self) -> float:
        """Signed area between the piece and the origin, m2.

        A closed path's area is the sum over its pieces.
        """
        return cross(self.start, self.end) / 2

    def at(self, fraction: float) -> Point:
        """The point at a fraction of the length."""
        return self.start + (self.end - self.start) * fraction

    def reversed(self) -> "Line":
        """The same piece travelled the other way."""
        return Line(self.end, self.start)

    def moved(self, isometry: Isometry) -> "Line":
        """The image of the piece."""
        return Line(isometry.point(self.start), isometry.point(self.end))

    def offset(self, distance: float) -> "Line":
        """The parallel piece at a distance to the left of travel (negative: right), m."""
        shift = self.start_heading * 1j * distance
        return Line(self.start + shift, self.end + shift)

    def distance(self, point: Point) -> float:
        """Distance of a point from the piece, m."""
        way = self.end - self.start
        fraction = dot(point - self.start, way) / dot(way, way)
        return abs(self.start + way * max(0.0, min(1.0, fraction)) - point)
