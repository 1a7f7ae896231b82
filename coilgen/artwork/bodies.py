"""Bodies on a board's faces as seen from the top, and whether they touch the board."""

from collections.abc import Sequence

import numpy as np

from coilgen.artwork.art import Art
from coilgen.design.bodies import RECTANGULAR, Body, Magnet
from coilgen.design.mounting import BasePlate
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import Mask, Points
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path


def body_edges(body: Body | BasePlate) -> tuple[Path, Path | None]:
    """Closed outer and inner edge of a body where it stands, no inner for none."""
    lies = Isometry(shift=complex(*body.offset) if isinstance(body, Magnet) else 0j)
    if isinstance(body, BasePlate):
        round_, size, hole = body.shape == "round", (body.width or 0.0, body.depth or 0.0), 0.0
        across = body.diameter or 0.0
    else:
        round_, size, hole = body.form not in RECTANGULAR, body.size, body.hole
        across = body.size[0]
    outer = circle(across) if round_ else rectangle(*size, 0.0)
    return outer.moved(lies), circle(hole).moved(lies) if hole else None


def touches_board(board: Art, bodies: Sequence[Body | BasePlate]) -> bool:
    """Whether any of the bodies on a face lies over some of the board; one without an outline has no end."""
    edges = [body_edges(body) for body in bodies]
    points = np.array([end for trace in board.traces for end in (trace.path.start, trace.path.end)])
    on_board = points[_inside(board.outline, board.pockets, points)]
    if any(_inside(outer, [inner] if inner else [], on_board).any() for outer, inner in edges):
        return True  # over the end of a trace: seen at once, without areas
    from coilgen.geometry.region import overlaps

    return any(overlaps(*each, board.outline, board.pockets) for each in edges)


def _inside(outer: Path | None, holes: Sequence[Path], points: Points) -> Mask:
    """Which points lie inside an outline, if there is one, and in none of its holes."""
    inside = np.ones(len(points), bool) if outer is None else contains(outer, points)
    for hole in holes:
        inside &= ~contains(hole, points)
    return inside
