"""Closed paths as polygons, their arcs in chords of a stated tolerance."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path, Segment

if TYPE_CHECKING:
    import shapely

_FINE = 2e-7
"""m, largest distance between an arc and its chords where bodies are laid on boards."""
_NOTHING = 1e-14
"""m², that rounding leaves of two shapes of one edge."""


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


def overlaps(outer: Path, inner: Path | None, board: Path | None, cutouts: Iterable[Path]) -> bool:
    """Whether some of a flat body, between its edges, lies over a board and not its cut-outs alone.

    A board without an edge has no end. What is under a hundredth of a square micrometre touches nothing.
    """
    import shapely

    body = region(outer, _FINE)
    if inner is not None:
        body = body.difference(region(inner, _FINE))
    if board is not None:
        body = body.intersection(region(board, _FINE))
    openings = [region(cutout, _FINE) for cutout in cutouts]
    return bool(body.difference(shapely.union_all(openings)).area > _NOTHING)


def chords(path: Path, tolerance: float) -> NDArray[np.float64]:
    """Points (n, 2) along a path, m: its ends, its joints, and on arcs as many as the tolerance asks for."""
    if not tolerance > 0:
        raise ValueError(f"chords need a tolerance above zero, not {tolerance} m")
    counts = np.array([_chord_count(segment, tolerance) for segment in path.segments])
    joints = np.cumsum(counts)
    points = np.empty(joints[-1] + 1, complex)
    points[0], points[joints] = path.start, [segment.end for segment in path.segments]
    between = np.ones(len(points), bool)
    between[0] = between[joints] = False
    points[between] = _along_arcs(path, counts)
    return np.column_stack((points.real, points.imag))


def _along_arcs(path: Path, counts: NDArray[np.intp]) -> NDArray[np.complex128]:
    """The ends of chords that lie within arcs, m, in order; counts: chords of each segment."""
    circles = [_circle(segment) for segment in path.segments]
    inner = counts - 1
    step = np.arange(1, inner.sum() + 1) - np.repeat(np.cumsum(inner) - inner, inner)
    centre, radius, start, sweep = np.repeat(np.array(circles), inner, axis=0).T
    angle = start.real + sweep.real * step / np.repeat(counts, inner)
    points: NDArray[np.complex128] = centre + radius * np.exp(1j * angle)
    return points


def _circle(segment: Segment) -> tuple[complex, float, float, float]:
    """Centre, radius, angle of the start and sweep; nothing of a line, which is one chord."""
    if isinstance(segment, Arc):
        return segment.centre, segment.radius, segment.start_angle, segment.sweep
    return 0j, 0.0, 0.0, 0.0


def _chord_count(segment: Segment, tolerance: float) -> int:
    """Fewest equal chords, right angles at most, whose sagitta r (1 - cos(angle/2)) keeps the tolerance."""
    if not isinstance(segment, Arc):
        return 1
    if tolerance >= segment.radius * (1 - math.sqrt(0.5)):
        widest = math.pi / 2
    else:
        widest = 2 * math.acos(1 - tolerance / segment.radius)
    return max(1, math.ceil(abs(segment.sweep) / widest - 1e-9))
