"""Ways round the copper of several windings to the tracks of a tail, which runs south: none crosses another.

Leads come to a road round all copper, follow it on levels of their own, and leave it southward, side by side
in the order in which they came. Places on the road are told from its north, counter-clockwise.
"""

import cmath
import math
from collections.abc import Callable, Sequence

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Segment, polyline
from coilgen.geometry.point import Point


def levels(starts: Sequence[float], ends: Sequence[float], apart: float) -> tuple[int, ...]:
    """How far out each of several wires must go that keep their order from starts to ends, 0 the nearest.

    A wire that passes the start of a neighbour runs beyond it. apart: of two wires, m.

    >>> levels([0.0, 2.0, 4.0], [3.0, 4.0, 5.0], 1.0)
    (2, 1, 0)
    >>> levels([2.0, 4.0], [0.0, 1.0], 1.0), levels([2.0, 5.0], [0.0, 4.0], 1.0)
    ((0, 1), (0, 0))
    """
    found = [0] * len(starts)
    for k in reversed(range(len(starts) - 1)):
        if ends[k] > starts[k] and starts[k + 1] < ends[k] + apart and ends[k + 1] > starts[k + 1]:
            found[k] = found[k + 1] + 1
    for k in range(1, len(starts)):
        if ends[k] < starts[k] and starts[k - 1] > ends[k] - apart and ends[k - 1] < starts[k - 1]:
            found[k] = found[k - 1] + 1
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class Square:
    """A road along the sides of a rectangle, with a distance of its own from it, m."""

    low: Point
    high: Point

    def place(self, at: Point) -> float:
        """Along the sides, m, of a point on one of them."""
        middle = (self.low + self.high) / 2
        width, height = (self.high - self.low).real, (self.high - self.low).imag
        x, y = (at - middle).real, (at - middle).imag
        aside = {
            "north": y - height / 2, "south": -y - height / 2, "west": -x - width / 2, "east": x - width / 2
        }  # fmt: skip
        side = max(aside, key=lambda name: aside[name])
        if side == "west":
            return width / 2 + height / 2 - y
        if side == "south":
            return width + height + x
        if side == "east":
            return 1.5 * width + 1.5 * height + y
        return -x if x <= 0 else 2 * (width + height) - x

    @property
    def whole(self) -> float:
        """Of all sides, m."""
        return 2 * ((self.high - self.low).real + (self.high - self.low).imag)

    def wider(self, by: float) -> "Square":
        """The road so much farther out, m."""
        return Square(low=self.low - by * (1 + 1j), high=self.high + by * (1 + 1j))

    def meet(self, start: Point, way: Point) -> Point:
        """Where a straight way out from inside reaches the road."""
        ahead = []
        for along, across, low, high in (
            (way.real, start.real, self.low.real, self.high.real),
            (way.imag, start.imag, self.low.imag, self.high.imag),
        ):
            if abs(along) > LARGEST_GAP:
                ahead.append(((high if along > 0 else low) - across) / along)
        return start + way * min(ahead)

    def over(self, x: float) -> Point:
        """In the south, at an x."""
        return complex(x, self.low.imag)

    def run(self, start: Point, end: Point, *, counterclockwise: bool) -> tuple[Segment, ...]:
        """From a place to another, round corners."""
        low, high = self.low, self.high
        corners = [complex(low.real, high.imag), low, complex(high.real, low.imag), high]
        ahead = self._ahead(start, counterclockwise)
        passed = sorted((corner for corner in corners if 0 < ahead(corner) < ahead(end)), key=ahead)
        return polyline([start, *passed, end])

    def _ahead(self, start: Point, counterclockwise: bool) -> Callable[[Point], float]:
        """How far along the road other places are from one, m."""
        first, sense = self.place(start), 1 if counterclockwise else -1
        return lambda at: sense * (self.place(at) - first) % self.whole


@dataclass(frozen=True, kw_only=True)
class Round:
    """A road along a circle, m."""

    centre: Point
    radius: float

    def place(self, at: Point) -> float:
        """Along the circle, m, of a point on it."""
        return ((cmath.phase(at - self.centre) - math.pi / 2) % math.tau) * self.radius

    @property
    def whole(self) -> float:
        """Of the circle, m."""
        return math.tau * self.radius

    def wider(self, by: float) -> "Round":
        """The road so much farther out, m."""
        return Round(centre=self.centre, radius=self.radius + by)

    def meet(self, start: Point, way: Point) -> Point:
        """Where a straight way out from inside reaches the road."""
        aside = start - self.centre
        along = aside.real * way.real + aside.imag * way.imag
        ahead = -along + math.sqrt(max(along**2 - abs(aside) ** 2 + self.radius**2, 0.0))
        return start + way * ahead

    def over(self, x: float) -> Point:
        """In the south, at an x."""
        aside = min(max(x - self.centre.real, -self.radius), self.radius)
        return complex(x, self.centre.imag - math.sqrt(self.radius**2 - aside**2))

    def run(self, start: Point, end: Point, *, counterclockwise: bool) -> tuple[Segment, ...]:
        """From a place to another, along the circle."""
        turn = cmath.phase(end - self.centre) - cmath.phase(start - self.centre)
        sweep = turn % math.tau if counterclockwise else -(-turn % math.tau)
        if abs(sweep) * self.radius <= LARGEST_GAP:
            return ()
        return (Arc(self.centre, self.radius, cmath.phase(start - self.centre), sweep),)


Road = Square | Round


@dataclass(frozen=True, kw_only=True)
class Port:
    """Where a lead begins: its place, and the unit vector of its straight way out to the road."""

    at: Point
    way: Point


def order(road: Road, pairs: Sequence[Sequence[Port]]) -> list[tuple[float, int, int]]:
    """Every port by its place on the road: the place, which of the groups, which port of it.

    Ports of one group that stand at both sides of the north are not parted: their leads go down one side.
    """
    found = []
    for group, ports in enumerate(pairs):
        places = [road.place(road.meet(port.at, port.way)) for port in ports]
        if len(ports) == 2 and max(places) - min(places) > road.whole / 2:
            places = [place - road.whole if place > road.whole / 2 else place for place in places]
        found += [(place, group, k) for k, place in enumerate(places)]
    return sorted(found)


def runs(
    road: Road, ports: Sequence[Port], places: Sequence[float], tracks: Sequence[float], apart: float
) -> list[tuple[Segment, ...]]:
    """From each port out to the road and along it to above its track in the south; all in their order.

    road: of the nearest level. apart: of two leads from middle to middle, m.
    """
    ends = [road.place(road.over(x)) for x in tracks]
    found = []
    for port, place, x, end, level in zip(
        ports, places, tracks, ends, levels(places, ends, apart), strict=True
    ):
        own = road.wider(level * apart)
        met, left = own.meet(port.at, port.way), own.over(x)
        along = own.run(met, left, counterclockwise=end > place) if abs(met - left) > LARGEST_GAP else ()
        begin = along[0].start if along else left
        found.append((*((Line(port.at, begin),) if abs(begin - port.at) > LARGEST_GAP else ()), *along))
    return found
