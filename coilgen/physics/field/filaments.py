"""The winding's current path as short straight strips in space, vias and return link included."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats

Indices = NDArray[np.int64]
_SAME_PLACE = 1e-9
CHORD_TOLERANCE = 1e-6
"""m, the largest distance between an arc and its chord."""
NEAR_WIDTHS = 6.0
"""Strips within this many widths of a point count as bars, others as filaments (0.2 % of their field)."""
_UPRIGHT = 1e-9
"""Of a strip's length: what runs across is less in strips that stand upright."""
NEVER = -1.0
"""Of ra + rb: never near."""


@dataclass(frozen=True, kw_only=True)
class Filaments:
    """Straight strips in the order the current meets them: start, end (m, 3), width, thickness (m,), all m.

    share: of the coil's current in each strip, (m,) or one for all; spread evenly over the strip's section.
    """

    start: Floats
    end: Floats
    width: Floats
    thickness: Floats
    share: Floats | float = 1.0

    @property
    def shares(self) -> Floats:
        """(m,) share of each strip."""
        return np.broadcast_to(np.asarray(self.share, dtype=np.float64), self.width.shape)

    @cached_property
    def length(self) -> Floats:
        """(m,) m."""
        return _norms(self.end - self.start)

    @cached_property
    def axes(self) -> Floats:
        """Unit vectors (m, 3, 3) of each strip: along the current, across it level with the board, and along
        crossed with across."""
        along = (self.end - self.start) / self.length[:, None]
        flat = np.hypot(along[:, 0], along[:, 1])
        upright = flat < _UPRIGHT
        safe = np.where(upright, 1.0, flat)
        across = np.column_stack([-along[:, 1] / safe, along[:, 0] / safe, np.zeros(len(along))])
        across[upright] = (0.0, 1.0, 0.0)
        return np.stack([along, across, np.cross(along, across)], axis=1)

    @cached_property
    def chain(self) -> Floats:
        """Columns (8, m): vertex, step times current, the step's square, ra + rb within which it is near.

        A column's step leads to its vertex from that of the column before. Where one strip does not begin at
        the end of the last, a step of no current leads there, never near.
        """
        step = self.end - self.start
        jumps = _jumps(self.start, self.end)
        place = np.arange(len(step)) + np.cumsum(jumps)
        before = place[jumps] - 1
        out = np.zeros((8, len(step) + len(before)))
        out[:3, place], out[:3, before] = self.end.T, self.start[jumps].T
        out[3:6, place] = self.shares * step.T
        out[6, place] = np.einsum("mk,mk->m", step, step)
        out[7, place], out[7, before] = self.length + 2.0 * NEAR_WIDTHS * self.width, NEVER
        return out


def _jumps(start: Floats, end: Floats) -> NDArray[np.bool_]:
    """Which strips (m,) begin elsewhere than where the last one ends, the first one with them."""
    found = np.ones(len(start), dtype=bool)
    x, y, z = (start[1:] != end[:-1]).T
    found[1:] = x | y | z
    return found


def _norms(vectors: Floats) -> Floats:
    """Lengths (m,) of vectors (m, k); quicker than a norm along their short axis."""
    return np.asarray(np.sqrt(np.einsum("mk,mk->m", vectors, vectors)))


def filaments(
    conductor: Conductor, *, tolerance: float | Floats = CHORD_TOLERANCE, closed: bool = True
) -> Filaments:
    """The conductor as strips: arcs become chords, layer changes vertical strips.

    tolerance: m, largest distance between an arc and its chord, one for all or (n,) of the pieces. The
    chords' vertices stand off the arc so that each sector keeps its area, and with it the turn's magnetic
    moment, exactly.
    closed: adds the straight link from the last end back to the first start; without it an open winding's
    field has a curl off the copper.
    Raises ValueError for an empty conductor or a tolerance that is not positive.
    """
    if len(conductor.start) == 0:
        raise ValueError("a conductor needs at least one piece")
    if not np.all(np.asarray(tolerance) > 0.0):
        raise ValueError(f"the chord tolerance must be positive, not {tolerance}")
    vertices, piece = _joined(*_chain(conductor, tolerance))
    if closed:
        vertices, piece = np.vstack([vertices, vertices[:1]]), np.append(piece, piece[-1])
    keep = _norms(np.diff(vertices, axis=0)) > 0.0
    return Filaments(
        start=vertices[:-1][keep],
        end=vertices[1:][keep],
        width=conductor.width[piece][keep],
        thickness=conductor.thickness[piece][keep],
    )


def dipole_moment(path: Filaments) -> Floats:
    """Magnetic moment for one ampere, (3,) m2: half the sum of start x end over a closed path.

    J. D. Jackson, Classical Electrodynamics, section 5.6.

    >>> square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 3, 0], [0, 3, 0]])
    >>> ones = np.ones(4)
    >>> dipole_moment(Filaments(start=square, end=np.roll(square, -1, 0), width=ones, thickness=ones))
    array([0., 0., 6.])
    """
    return np.asarray(0.5 * path.shares @ np.cross(path.start, path.end))


def together(paths: Sequence[Filaments], shares: Sequence[float] | None = None) -> Filaments:
    """Several paths as one: conductors side by side, each carrying its share of what it carried alone."""
    carried = [1.0] * len(paths) if shares is None else shares
    return Filaments(
        start=np.vstack([path.start for path in paths]),
        end=np.vstack([path.end for path in paths]),
        width=np.concatenate([path.width for path in paths]),
        thickness=np.concatenate([path.thickness for path in paths]),
        share=np.concatenate([share * path.shares for path, share in zip(paths, carried, strict=True)]),
    )


def refined(path: Filaments, longest: float | Floats) -> Filaments:
    """The same strips cut into equal parts no longer than `longest`, m, one for all or (m,)."""
    parts = np.maximum(1, np.ceil(path.length / longest)).astype(np.int64)
    owner = np.repeat(np.arange(len(parts)), parts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
    along = (path.end - path.start)[owner] / parts[owner, None]
    start = path.start[owner] + along * step[:, None]
    return Filaments(
        start=start,
        end=start + along,
        width=path.width[owner],
        thickness=path.thickness[owner],
        share=path.shares[owner],
    )


def strands(path: Filaments, across: int = 2) -> tuple[Filaments, ...]:
    """Pure filaments in place of a closed path's strips, each with its share, closed as the path is.

    They run at Gauss's points across the width, mitred at the bends: two are good from about half a width
    away, n from about a width over n. Raises ValueError for an open path.
    """
    following = _following(path)
    half_width = np.zeros_like(path.start)
    half_width[following, :2] = _mitre(path, following) * (0.5 * path.width[:, None])
    ends = half_width[following]
    node, weight = np.polynomial.legendre.leggauss(across)
    bare = np.zeros_like(path.width)
    return tuple(
        Filaments(
            start=path.start + at * half_width,
            end=path.end + at * ends,
            width=bare,
            thickness=bare,
            share=0.5 * part * path.shares,
        )
        for at, part in zip(node, weight, strict=True)
    )


def _following(path: Filaments) -> Indices:
    """The strip that begins where each strip ends. Raises ValueError where there is none: an open path."""
    following = np.roll(np.arange(len(path.start)), -1)
    loose = np.flatnonzero(np.any(path.start[following] != path.end, axis=1))
    for k in loose:
        apart = np.linalg.norm(path.start - path.end[k], axis=1)
        following[k] = int(np.argmin(apart))
        if apart[following[k]] > _SAME_PLACE:
            raise ValueError("the winding's path must be closed")
    return following


def _mitre(path: Filaments, following: Indices) -> Floats:
    """Sideways unit step (m, 2) at each strip's end that keeps its distance from this strip and the next."""
    along = (path.end - path.start)[:, :2]
    flat = np.hypot(along[:, 0], along[:, 1])
    normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.maximum(flat, _SAME_PLACE)[:, None]
    both = normal + normal[following]
    square = np.einsum("mk,mk->m", both, both)[:, None]
    # Beside an upright strip only one normal counts; a turn back on itself keeps a bounded step.
    bent = (flat > _SAME_PLACE) & (flat[following] > _SAME_PLACE)
    return np.where(bent[:, None], 2.0 * both / np.maximum(square, 0.5), both)


def lifted(path: Filaments, offset: Floats) -> Filaments:
    """The same strips moved by `offset`, (3,) m."""
    return replace(path, start=path.start + offset, end=path.end + offset)


def stretched(path: Filaments, by: float) -> Filaments:
    """The same strips at `by` times their heights."""
    upright = np.array([1.0, 1.0, by])
    return replace(path, start=path.start * upright, end=path.end * upright)


def turned(path: Filaments, angle: float) -> Filaments:
    """The same strips turned by an angle, rad, counter-clockwise about the z axis."""
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return replace(path, start=path.start @ turn, end=path.end @ turn)


def _chain(conductor: Conductor, tolerance: float | Floats) -> tuple[Floats, Indices, NDArray[np.bool_]]:
    """Vertices (m, 3) of all pieces in order, the piece of each, and which are a piece's first.

    Those of an arc's chords stand off it so that every sector keeps its area.
    """
    counts = _chord_counts(conductor, tolerance)
    piece = np.repeat(np.arange(len(counts)), counts + 1)
    place = np.arange(len(piece)) - np.repeat(np.cumsum(counts + 1) - counts - 1, counts + 1)
    plane = np.where((place == counts[piece])[:, None], conductor.end[piece], conductor.start[piece])
    arcs = np.flatnonzero(conductor.sweep)
    plane[conductor.sweep[piece] != 0.0] = _on_arcs(conductor, arcs, counts[arcs])
    return np.column_stack([plane, conductor.z[piece]]), piece, place == 0


def _chord_counts(conductor: Conductor, tolerance: float | Floats) -> Indices:
    """Chords in place of each piece, (n,)."""
    arc = conductor.sweep != 0.0
    counts = np.ones(len(arc), dtype=np.int64)
    radius = np.hypot(*(conductor.start - conductor.centre)[arc].T)
    off = np.broadcast_to(tolerance, arc.shape)[arc]
    widest = 2.0 * np.arccos(1.0 - np.minimum(off / radius, 0.5))
    counts[arc] = np.maximum(1, np.ceil(np.abs(conductor.sweep[arc]) / widest))
    return counts


def _on_arcs(conductor: Conductor, arcs: Indices, counts: Indices) -> Floats:
    """All vertices (k, 2) of the chords of arcs (n,), counts (n,) of them, in order."""
    spoke = conductor.start[arcs] - conductor.centre[arcs]
    step = conductor.sweep[arcs] / counts
    standing = np.hypot(*spoke.T) * np.sqrt(step / np.sin(step))
    each = counts + 1
    place = np.arange(each.sum()) - np.repeat(np.cumsum(each) - each, each)
    angle = np.repeat(np.arctan2(spoke[:, 1], spoke[:, 0]), each) + np.repeat(step, each) * place
    radius = np.repeat(standing, each)
    out = np.repeat(conductor.centre[arcs], each, axis=0)
    out[:, 0] += radius * np.cos(angle)
    out[:, 1] += radius * np.sin(angle)
    return out


def _joined(vertices: Floats, piece: Indices, first: NDArray[np.bool_]) -> tuple[Floats, Indices]:
    """The chain with the two vertices at each joint within a layer made one; and the piece of each strip."""
    before = np.flatnonzero(first)[1:] - 1
    level = vertices[before, 2] == vertices[before + 1, 2]
    nearby = _norms(vertices[before + 1] - vertices[before]) < 10.0 * CHORD_TOLERANCE
    at = before[level & nearby]
    vertices = vertices.copy()
    vertices[at] = 0.5 * (vertices[at] + vertices[at + 1])
    kept = np.ones(len(vertices), dtype=bool)
    kept[at + 1] = False
    return vertices[kept], np.delete(piece, at)[:-1]
