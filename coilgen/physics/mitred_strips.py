"""A conductor as straight strips with mitred ends: arcs as chords, bends halved between their neighbours."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.conductor import Conductor, Floats

Integers = NDArray[np.int64]
Points = NDArray[np.complex128]
JOINT = 1e-6
"""m, pieces of one layer whose ends are nearer than this are joined."""
STEEPEST_MITRE = 2.0
"""Largest slope of a mitre; a sharper bend (over 127 degrees) is cut there."""


@dataclass(frozen=True, kw_only=True)
class Strips:
    """Straight flat strips, one a row, SI units; the current is uniform over each cross-section.

    start, end: (n,) complex m, ends of the centre line, x + iy. axis: (n,) complex, unit vector from start
    to end. slope_start, slope_end: (n,), shift of the end along the axis for each metre to the left of it.
    width, thickness, z: (n,) m. layer: (n,) int.
    """

    start: Points
    end: Points
    axis: Points
    slope_start: Floats
    slope_end: Floats
    width: Floats
    thickness: Floats
    z: Floats
    layer: Integers

    def take(self, rows: Integers) -> "Strips":
        """The strips of some row numbers."""
        return Strips(**{f.name: np.take(getattr(self, f.name), rows) for f in fields(self)})

    def __len__(self) -> int:
        return len(self.width)


def mitred_strips(conductor: Conductor, chord_angle: float) -> Strips:
    """The conductor as strips in its own order; arcs become equal chords of at most chord_angle (rad).

    A chord's vertices stand off the arc so that the polygon keeps the sector's area. At a joint within a
    layer the two strips share the bend: both are cut along its bisector.
    """
    piece, start, end, joined = _chain(conductor, chord_angle)
    middle = 0.5 * (end[:-1] + start[1:])
    end[:-1][joined] = middle[joined]
    start[1:][joined] = middle[joined]
    axis = (end - start) / np.abs(end - start)
    slope = np.where(joined, _mitre_slope(axis[:-1], axis[1:]), 0.0)
    return Strips(
        start=start,
        end=end,
        axis=axis,
        slope_start=np.concatenate([[0.0], slope]),
        slope_end=np.concatenate([-slope, [0.0]]),
        width=conductor.width[piece],
        thickness=conductor.thickness[piece],
        z=conductor.z[piece],
        layer=conductor.layer[piece],
    )


def filament(strips: Strips, fraction: float) -> tuple[Points, Points, Points]:
    """Start, end, axis, (n,) complex, of the filament `fraction` of the width left of the middle."""
    if fraction == 0.0:
        return strips.start, strips.end, strips.axis
    offset = fraction * strips.width * strips.axis
    start = strips.start + offset * (1j + strips.slope_start)
    return start, strips.end + offset * (1j + strips.slope_end), strips.axis


def _chain(conductor: Conductor, chord_angle: float) -> tuple[Integers, Points, Points, NDArray[np.bool_]]:
    """Piece of each chord, its ends, and whether it joins the next (n - 1,); pieces of no length left out."""
    first, last = _complex(conductor.start), _complex(conductor.end)
    kept = np.flatnonzero((first != last) | (conductor.sweep != 0.0))
    count = np.maximum(1, np.ceil(np.abs(conductor.sweep[kept]) / chord_angle - 1e-9)).astype(np.int64)
    piece = np.repeat(kept, count)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    chords = np.repeat(count, count)
    start, end = (_vertices(conductor, piece, chords, step + k) for k in (0, 1))
    joined = (np.abs(first[piece[1:]] - last[piece[:-1]]) < JOINT) & (
        conductor.layer[piece[1:]] == conductor.layer[piece[:-1]]
    )
    return piece, start, end, joined | (piece[1:] == piece[:-1])


def _complex(points: Floats) -> Points:
    return np.asarray(points[:, 0] + 1j * points[:, 1])


def _vertices(conductor: Conductor, piece: Integers, chords: Integers, step: Integers) -> Points:
    """Vertex number `step` of pieces divided into `chords`."""
    first, last = _complex(conductor.start)[piece], _complex(conductor.end)[piece]
    straight = conductor.sweep[piece] == 0.0
    centre = np.where(straight, 0.0, _complex(conductor.centre)[piece])
    angle = np.where(straight, 1.0, conductor.sweep[piece] / chords)
    turned = centre + (first - centre) * np.sqrt(angle / np.sin(angle)) * np.exp(1j * angle * step)
    return np.asarray(np.where(straight, np.where(step == chords, last, first), turned))


def _mitre_slope(before: Points, after: Points) -> Floats:
    """Tangent of half the turning angle between unit vectors, left turns positive, held to STEEPEST_MITRE."""
    turn = before.conj() * after
    slope = turn.imag / np.maximum(1.0 + turn.real, 1e-9)
    return np.asarray(np.clip(slope, -STEEPEST_MITRE, STEEPEST_MITRE))
