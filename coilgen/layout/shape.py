"""What a winding shape is: spirals, loops round the winding, and places beside its sides.

All shapes are drawn in one frame: the coil's centre at the origin, counter-clockwise travel. A turn has
`sides` pieces (straight sides, or the quadrants of a circle); side 0 faces south and side m is turned from
it by m/sides of a turn, so side numbers count on from turn to turn. The apothem is the distance from the
centre to a side.
"""

from collections.abc import Callable
from dataclasses import dataclass

from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point

_MIRROR = Isometry(mirrored=True)


@dataclass(frozen=True)
class Anchor:
    """A point beside side `side` of the winding: a spiral starts or ends at its foot on that side."""

    side: int
    at: Point

    def mirrored(self) -> "Anchor":
        """The image under x -> -x."""
        return Anchor(-self.side, _MIRROR.point(self.at))


@dataclass(frozen=True)
class Corner:
    """How a polygon's corners are made: kind "sharp", "chamfered" (size: cut along each side, m) or
    "rounded" (size: radius of the centre line, m)."""

    kind: str
    size: float


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One shape. Lengths in m.

    first_apothem(outer_size, width, pitch): of the outermost centre line.
    apothem(first, pitch, steps): of the side reached after so many sides of an inward spiral.
    centre_offset(pitch): how far a side's own centre lies from the coil's (0 for polygons).
    spiral(first_apothem, pitch, start, end, corner): inward and counter-clockwise, from foot to foot.
    place(side, along, apothem): the point `along` m counter-clockwise of a side's middle.
    reach(apothem, corner, inward): largest distance `along` at which a place has its foot on the straight
    of a side and, standing `inward` m inside of it, is no nearer to the turn's other sides and corners.
    largest_corner(first_apothem, pitch, start, end, kind): largest size, m, of a kind of corner with which a
    spiral between these anchors keeps something straight of every side; infinite where corners take nothing,
    not over 0 where not even sharp ones have room.
    turns(side, along, apothem): angle of a place from south, in turns, counting on with the side.
    loop(apothem, start, end): round the winding at a constant apothem between the feet of two anchors,
    either way.
    """

    name: str
    says: str
    sides: int
    first_apothem: Callable[[float, float, float], float]
    apothem: Callable[[float, float, int], float]
    centre_offset: Callable[[float], float]
    spiral: Callable[[float, float, Anchor, Anchor, Corner], Path]
    place: Callable[[int, float, float], Point]
    reach: Callable[[float, Corner, float], float]
    largest_corner: Callable[[float, float, Anchor, Anchor, str], float]
    turns: Callable[[int, float, float], float]
    loop: Callable[[float, Anchor, Anchor], tuple[Segment, ...]]
