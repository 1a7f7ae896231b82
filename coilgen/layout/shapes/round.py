"""Round spirals of tangent quarter arcs.

The centres of the arcs lie on a square of side pitch/4 about the coil's centre, one for each quadrant, so
that arcs of one quadrant are concentric from turn to turn: the pitch is exact everywhere and the path has
no kinks. A spiral is not a circle: its size is measured across the two quadrants beside the one in which it
starts; in other directions it is larger or smaller by at most half a pitch.
"""

import cmath
import math

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point, direction
from coilgen.layout.shape import Anchor, Corner, Shape

_SIDES = 4
_QUARTERS = (1 + 0j, 1j, -1 + 0j, -1j)


def _first_apothem(outer_size: float, width: float, pitch: float) -> float:
    return (outer_size - width + pitch) / 2


def _apothem(first: float, pitch: float, steps: int) -> float:
    return first - pitch * steps / _SIDES


def _centre_offset(pitch: float) -> float:
    return pitch * math.sqrt(2) / 8


def _spiral(first: float, pitch: float, start: Anchor, end: Anchor, corner: Corner) -> Path:
    arcs = []
    for step, side in enumerate(range(start.side, end.side + 1)):
        begin = _facing(start, pitch) if side == start.side else _middle(side) - math.pi / 4
        finish = _facing(end, pitch) if side == end.side else _middle(side) + math.pi / 4
        arcs.append(Arc(_centre(side, pitch), _apothem(first, pitch, step), begin, finish - begin))
    return Path(tuple(arcs))


def _centre(side: int, pitch: float) -> Point:
    return -_QUARTERS[side % 4] * _centre_offset(pitch)


def _middle(side: int) -> float:
    """Angle of a side's middle, rad, counting on from turn to turn."""
    return (side - 1) * math.pi / 2


def _facing(anchor: Anchor, pitch: float) -> float:
    """Angle of an anchor seen from the centre of the arcs on its side, rad."""
    return _middle(anchor.side) + _off_middle(anchor.side, anchor.at - _centre(anchor.side, pitch))


def _off_middle(side: int, radius: Point) -> float:
    return cmath.phase(radius / (-1j * _QUARTERS[side % 4]))


def _place(side: int, along: float, apothem: float) -> Point:
    return _QUARTERS[side % 4] * -1j * apothem * direction(along / apothem)


def _reach(apothem: float, corner: Corner, inward: float) -> float:
    return (apothem - inward) * math.pi / 4


def _largest_corner(first: float, pitch: float, start: Anchor, end: Anchor, kind: str) -> float:
    return math.inf


def _turns(side: int, along: float, apothem: float) -> float:
    return side / _SIDES + along / (apothem * math.tau)


def _loop(apothem: float, start: Anchor, end: Anchor) -> tuple[Segment, ...]:
    begin = _middle(start.side) + _off_middle(start.side, start.at)
    sweep = _middle(end.side) + _off_middle(end.side, end.at) - begin
    arc = Arc(0j, apothem, begin, sweep)
    return (arc,) if arc.length > LARGEST_GAP else ()


SHAPE = Shape(
    name="round",
    says="spiral of tangent quarter arcs",
    sides=_SIDES,
    first_apothem=_first_apothem,
    apothem=_apothem,
    centre_offset=_centre_offset,
    spiral=_spiral,
    place=_place,
    reach=_reach,
    largest_corner=_largest_corner,
    turns=_turns,
    loop=_loop,
)
