"""A circular piece of a path."""

import math

from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.point import Point, cross, direction


@dataclass(frozen=True)
class Arc:
    """About `centre` with `radius`, from `start_angle` through `sweep` (rad; its sign is the direction).

    The ends are derived, so they cannot disagree with the radius.

    >>> Arc(0j, 2.0, 0.0, math.pi).length
    6.283185307179586
    """

    centre: Point
    radius: float
    start_angle: float
    sweep: float

    @property
    def start(self) -> Point:
        """Where the piece begins, m."""
        return self.centre + self.radius * direction(self.start_angle)

    @property
    def end(self) -> Point:
        """Where the piece ends, m."""
        return self.centre + self.radius * direction(self.end_angle)

    @property
    def end_angle(self) -> float:
        """Angle of the end, rad."""
        return self.start_angle + self.sweep

    @property
    def length(self) -> float:
        """Length, m."""
        return self.radius * abs(self.sweep)

    @property
    def start_heading(self) -> Point:
        """Direction of travel at the start."""
        return direction(self.start_angle + math.copysign(math.pi / 2, self.sweep))

    @property
    def end_heading(self) -> Point:
        """Direction of travel at the end."""
        return direction(self.end_angle + math.copysign(math.pi / 2, self.sweep))

    @property
    def turning(self) -> float:
        """Change of heading along the piece, rad, counter-clockwise positive."""
        return self.sweep

    @property
    def swept_area(self) -> float:
        """Signed area between the piece and the origin, m2."""
        return (cross(self.centre, self.end - self.start) + self.radius**2 * self.sweep) / 2

    def at(self, fraction: float) -> Point:
        """The point at a fraction of the length."""
        return self.centre + self.radius * direction(self.start_angle + self.sweep * fraction)

    def reversed(self) -> "Arc":
        """The same piece travelled the other way."""
        return Arc(self.centre, self.radius, self.end_angle, -self.sweep)

    def moved(self, isometry: Isometry) -> "Arc":
        """The image of the piece."""
        return Arc(
            isometry.point(self.centre),
            self.radius,
            isometry.angle(self.start_angle),
            isometry.sweep(self.sweep),
        )

    def offset(self, distance: float) -> "Arc":
        """The concentric piece at a distance to the left of travel (negative: right), m.

        Raises ValueError when nothing is left of the radius.
        """
        radius = self.radius - math.copysign(distance, distance * self.sweep)
        if radius < 0:
            raise ValueError(f"an arc of radius {self.radius} m has no parallel at {distance} m")
        return Arc(self.centre, radius, self.start_angle, self.sweep)

    def distance(self, point: Point) -> float:
        """Distance of a point from the piece, m."""
        if self.faces(point):
            return abs(abs(point - self.centre) - self.radius)
        return min(abs(point - self.start), abs(point - self.end))

    def faces(self, point: Point) -> bool:
        """Whether the ray from the centre through a point meets the piece."""
        ray = point - self.centre
        turned = math.atan2(ray.imag, ray.real) - self.start_angle
        return (turned if self.sweep > 0 else -turned) % math.tau <= abs(self.sweep)
