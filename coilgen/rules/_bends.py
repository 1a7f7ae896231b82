"""What lies in or near the bent part of a tail."""

from collections.abc import Iterable

import numpy as np

from coilgen.artwork.art import BendLine
from coilgen.geometry.clearance import Strokes
from coilgen.geometry.distance import pieces
from coilgen.geometry.path import Path, Segment, polyline
from coilgen.geometry.point import Point
from coilgen.rules._boundary import near_boundary
from coilgen.rules._places import Places

Body = tuple[Segment | Point, float, int]
"""A line, arc or point, the width it is stroked with (m), its copper layer, 0 for none."""


def strip(bend: BendLine) -> Path:
    """The edge of what is bent."""
    corners = bend.corners
    return Path(polyline([*corners, corners[0]]))


def near_strip(bodies: Iterable[Body], bend: BendLine, limit: float) -> Places:
    """Places where bodies come nearer to what is bent than a limit, m, or into it (negative)."""
    found = list(bodies)
    strokes = Strokes(
        pieces=pieces([body for body, _, _ in found]),
        width=np.array([width for _, width, _ in found], float),
        sheet=np.array([layer for _, _, layer in found], np.intp),
    )
    return near_boundary(strokes, strip(bend), limit, inside=False)
