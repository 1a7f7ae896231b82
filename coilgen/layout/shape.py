"""What a winding shape is: what its sizes measure, and the outline that they make."""

from collections.abc import Callable
from typing import cast

from coilgen.catalogue import specimen
from coilgen.design.measure import Measure
from coilgen.frozen import dataclass
from coilgen.layout.corner import Corner
from coilgen.layout.outline import Outline


@dataclass(frozen=True, kw_only=True)
class Sector:
    """Of a ring, m and rad: over the copper. middle: how far from the ring's centre the shape's own lies."""

    inner_radius: float
    outer_radius: float
    angle: float
    middle: float


@dataclass(frozen=True, kw_only=True)
class Sizes:
    """What an outline is made from, m.

    outer: over the copper, across and along the terminals' side; the same twice for shapes of one size.
    width: of the trace. pitch: turn to turn. sector: of shapes that are told by one.
    """

    outer: tuple[float, float]
    width: float
    pitch: float
    corner: Corner
    sector: Sector | None = None


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One shape. measure: what its sizes measure. outline: of a winding of some sizes."""

    name: str
    says: str
    measure: Measure
    outline: Callable[[Sizes], Outline]


def shape_named(name: str) -> Shape:
    """The shape of a name that is known."""
    return cast(Shape, specimen("coilgen.layout.shapes", "SHAPE", name))
