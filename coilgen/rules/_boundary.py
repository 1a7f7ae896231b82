"""How near copper and holes come to a cut of the board: its outline or a pocket."""

import numpy as np

from coilgen.artwork.art import Art
from coilgen.geometry.clearance import Strokes, gaps, near_pairs_between
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import Points, Reals, distances, pieces
from coilgen.geometry.path import Path
from coilgen.rules._places import TOLERANCE, Places, all_of


def near_boundary(strokes: Strokes, boundary: Path, limit: float, *, inside: bool) -> Places:
    """Places where strokes come nearer than a limit, m, to a closed path they must stay inside (or outside).

    A stroke that begins on the wrong side counts as negative, by how far it reaches out there. Kinds are 0.
    """
    edge = Strokes(
        pieces=pieces(boundary.segments),
        width=np.zeros(len(boundary.segments)),
        sheet=np.zeros(len(boundary.segments), np.intp),
    )
    near = gaps(strokes, edge, near_pairs_between(strokes, edge, limit - TOLERANCE))
    near = near.where(near.value < limit - TOLERANCE)
    astray = np.flatnonzero(contains(boundary, strokes.pieces.start) != inside)
    starts = strokes.pieces.start[astray]
    which = np.concatenate([near.first, astray])
    return Places(
        value=np.concatenate([near.value, -_from_edge(edge, starts) - strokes.width[astray] / 2]),
        layer=strokes.sheet[which],
        at=np.concatenate([near.at, starts]),
        kind=np.zeros(len(which), np.intp),
    )


def near_pockets(strokes: Strokes, art: Art, limit: float) -> Places:
    """Places where strokes come nearer than a limit, m, to a pocket of the board, or into it."""
    return all_of(near_boundary(strokes, pocket, limit, inside=False) for pocket in art.pockets)


def _from_edge(edge: Strokes, points: Points) -> Reals:
    """Distance of each point from the nearest piece of the edge, m."""
    of_point = np.repeat(np.arange(len(points)), len(edge))
    of_edge = np.tile(np.arange(len(edge)), len(points))
    discs = pieces([complex(point) for point in points])
    apart = distances(discs.take(of_point), edge.pieces.take(of_edge)).value
    nearest: Reals = apart.reshape(len(points), len(edge)).min(axis=1, initial=np.inf)
    return nearest


def holes(art: Art) -> Strokes:
    """Every hole of the board as a disc, of no layer."""
    return Strokes(
        pieces=pieces([hole.at for hole in art.holes]),
        width=np.array([hole.diameter for hole in art.holes], float),
        sheet=np.zeros(len(art.holes), np.intp),
    )
