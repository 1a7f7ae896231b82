"""The board's edge about a winding; a size left open is the least that keeps copper from it."""

import math
from collections.abc import Sequence

from coilgen.design.board import Board
from coilgen.errors import DesignError
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import LARGEST_GAP, Path, Segment
from coilgen.geometry.point import Point
from coilgen.units import in_mm

OUTLINE_STEP = 0.5e-3
"""An outline whose size is left open is rounded up to this."""

Stroked = Sequence[tuple[Path | Point, float]]
"""Copper: paths and points, each with half the width it is stroked with, m."""


def edge(board: Board, copper: Stroked, margin: float) -> Path | None:
    """Closed, counter-clockwise; None for a board without one."""
    size = edge_size(board, copper, margin)
    if size is None:
        return None
    about = circle(size.real) if board.outline == "round" else _cornered(board, size)
    return about.moved(Isometry(shift=board.centre)) if board.centre else about


def edge_size(board: Board, copper: Stroked, margin: float) -> Point | None:
    """Width and height of the outline, m."""
    if board.outline == "none":
        return None
    if board.outline == "round":
        size = board.size or stepped(2 * (radius_of(copper, board.centre) + margin))
        return complex(size, size)
    low, high = extent_of(copper)
    centre = board.centre
    across = 2 * max(centre.real - low.real, high.real - centre.real) + 2 * margin
    up = 2 * max(centre.imag - low.imag, high.imag - centre.imag) + 2 * margin
    if board.outline == "square":
        side = board.size or stepped(max(across, up))
        return complex(side, side)
    return complex(board.width or stepped(across), board.height or stepped(up))


def _cornered(board: Board, size: Point) -> Path:
    """DesignError where a side left open comes out too short for the corners."""
    side = min(size.real, size.imag)
    if board.corner_radius > side / 2 + LARGEST_GAP:
        says = (
            f"{in_mm(board.corner_radius)} is over half of the {in_mm(side)} that the outline's shorter side "
            "is when left open; make it smaller, or give the outline's size"
        )
        raise DesignError.at("board.corner_radius", says)
    return rectangle(size.real, size.imag, board.corner_radius)


def stepped(size: float) -> float:
    """Rounded up to the next step of an outline, m."""
    return math.ceil(size / OUTLINE_STEP - 1e-9) * OUTLINE_STEP


def extent_of(copper: Stroked) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle that holds all copper, m."""
    boxes = [((at, at) if isinstance(at, complex) else extent(at), half) for at, half in copper]
    return (
        complex(
            min(low.real - half for (low, _), half in boxes), min(low.imag - half for (low, _), half in boxes)
        ),
        complex(
            max(high.real + half for (_, high), half in boxes),
            max(high.imag + half for (_, high), half in boxes),
        ),
    )


def radius_of(copper: Stroked, centre: Point = 0j) -> float:
    """Radius of the circle about a centre that holds all copper, m."""
    return max(
        half
        + (abs(at - centre) if isinstance(at, complex) else max(_farthest(s, centre) for s in at.segments))
        for at, half in copper
    )


def _farthest(segment: Segment, centre: Point) -> float:
    """The largest distance of a piece from a centre, m."""
    ends = max(abs(segment.start - centre), abs(segment.end - centre))
    if isinstance(segment, Arc) and segment.centre != centre:
        aside = segment.centre - centre
        if segment.faces(segment.centre + aside):
            return max(ends, abs(aside) + segment.radius)
    return ends
