"""What maps of the field show: the rectangle that holds windings, cores and magnet."""

from collections.abc import Iterator

from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.point import Point
from coilgen.layout.seen import copper_edges
from coilgen.result.figure import Case

RIM = 1.25
"""Maps reach farther than what they show by this factor."""

_Box = tuple[Point, Point]


def shown(case: Case) -> _Box:
    """Middle of the rectangle, m, to a hundredth of a millimetre, and half its sizes in x and y, m."""
    lows, highs = zip(*(_corners(*box) for box in (*_windings(case), *_bodies(case))), strict=True)
    low = complex(min(at.real for at in lows), min(at.imag for at in lows))
    high = complex(max(at.real for at in highs), max(at.imag for at in highs))
    middle = (low + high) / 2
    return complex(round(middle.real, 5) + 0.0, round(middle.imag, 5) + 0.0), (high - low) / 2


def _corners(middle: Point, half: Point) -> _Box:
    return middle - half, middle + half


def _windings(case: Case) -> Iterator[_Box]:
    if not case.windings:
        yield 0j, complex(case.reach, case.reach)
    for placed in case.design.windings:
        outer, _ = copper_edges(placed.design)
        low, high = extent(outer.moved(Isometry.placed(placed.rotation, placed.centre)))
        yield (low + high) / 2, (high - low) / 2


def _bodies(case: Case) -> Iterator[_Box]:
    """Cores, as turned ones may lie too, and the magnet."""
    for each in case.design.stand.bodies:
        across, along = (max(each.core.size),) * 2 if each.turn else each.core.size
        yield each.centre, complex(across, along) / 2
    magnet = case.design.magnet
    if magnet is not None:
        yield complex(*magnet.offset), complex(*magnet.size) / 2
