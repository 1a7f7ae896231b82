"""Closed paths as polygons, their arcs in chords of a stated tolerance."""

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path, Segment

if TYPE_CHECKING:
    import shapely


def region(path: Path, tolerance: float) -> "shapely.Polygon":
    """The polygon inside a closed path; no chord strays more than `tolerance`, m, from its arc.

    Corners of the polygon lie on the path. Raises ValueError for an open path or a tolerance of zero or less.

    >>> quarter = region(Path((Arc(0j, 1.0, 0.0, math.tau),)), 0.3)
    >>> len(quarter.exterior.coords) - 1, round(quarter.area, 12)
    (4, 2.0)
    """
    import shapely

    if not path.closed:
        raise ValueError(f"an open path has no inside: it ends {abs(path.end - path.start)} m from its start")
    return shapely.Polygon(chords(path, tolerance)[:-1])


def chords(path: Path, tolerance: float) -> NDArray[np.float64]:
    """Points (n, 2) along a path, m: its ends, its joints, and on arcs as many as the tolerance asks for."""
    if not tolerance > 0:
        raise ValueError(f"chords need a tolerance above zero, not {tolerance} m")
    onward = [_onward_points(segment, tolerance) for segment in path.segments]
    points = np.concatenate([[path.start], *onward])
    return np.column_stack((points.real, points.imag))


def _onward_points(segment: Segment, tolerance: float) -> NDArray[np.complex128]:
    """Points along a segment after its start, (n,) m."""
    if not isinstance(segment, Arc):
        return np.array([segment.end])
    count = _chord_count(segment, tolerance)
    angle = segment.start_angle + segment.sweep * np.arange(1, count) / count
    return np.append(segment.centre + segment.radius * np.exp(1j * angle), segment.end)


def _chord_count(arc: Arc, tolerance: float) -> int:
    """Fewest equal chords, right angles at most, whose sagitta r (1 - cos(angle/2)) keeps the tolerance."""
    if tolerance >= arc.radius * (1 - math.sqrt(0.5)):
        widest = math.pi / 2
    else:
        widest = 2 * math.acos(1 - tolerance / arc.radius)
    return max(1, math.ceil(abs(arc.sweep) / widest - 1e-9))
