"""A conductor as straight strips with mitred ends: arcs as chords, bends halved between their neighbours."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats

Integers = NDArray[np.int64]
Points = NDArray[np.complex128]
JOINT = 1e-6
"""m, pieces of one layer whose ends are nearer than this are joined."""
FINEST_CHORD, COARSEST_CHORD = np.pi / 18.0, np.pi / 4.0
"""rad, limits of a chord's angle."""
SAGITTA = 0.05
"""Largest height of an arc over its chord, in widths, where the limits of the angle allow it."""
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
        return Strips(**{name: values.take(rows) for name, values in vars(self).items()})

    def __len__(self) -> int:
        return len(self.width)


def mitred_strips(conductor: Conductor, finest: float = FINEST_CHORD) -> Strips:
    """The conductor as strips in its own order; arcs become equal chords.

    finest: rad, least angle that a chord may need to have. Chords leave the arc by at most SAGITTA widths
    where angles from `finest` to COARSEST_CHORD allow it: the coarser the smaller the arc. An arc's own
    ends stay, with half a chord's angle to the next vertex, so that its neighbours are not moved and hardly
    bent; the vertices between stand off the arc so far that the sector keeps its area. At a joint within a
    layer the two strips share the bend: both are cut along its bisector.
    """
    piece, start, end, joined = _chain(conductor, finest)
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


def filament(strips: Strips, fraction: Floats | float) -> tuple[Points, Points, Points]:
    """Start, end, axis, complex, of the filament `fraction` of the width left of the middle.

    fraction: broadcasts with (n,), as start and end do then; the axis is (n,).
    """
    if np.ndim(fraction) == 0 and fraction == 0.0:
        return strips.start, strips.end, strips.axis
    offset = fraction * strips.width * strips.axis
    start = strips.start + offset * (1j + strips.slope_start)
    return start, strips.end + offset * (1j + strips.slope_end), strips.axis


def _chain(conductor: Conductor, finest: float) -> tuple[Integers, Points, Points, NDArray[np.bool_]]:
    """Piece of each strip, its ends, and whether it joins the next (n - 1,); pieces of no length left out."""
    first, last = _complex(conductor.start), _complex(conductor.end)
    kept = np.flatnonzero((first != last) | (conductor.sweep != 0.0))
    chords = np.ceil(np.abs(conductor.sweep) / _chord_angle(conductor, finest) - 1e-9).astype(np.int64)
    strips = chords[kept] + 1
    piece = np.repeat(kept, strips)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(strips) - strips, strips)
    start, end = (_vertices(conductor, piece, chords[piece], step + k) for k in (0, 1))
    joined = (np.abs(first[piece[1:]] - last[piece[:-1]]) < JOINT) & (
        conductor.layer[piece[1:]] == conductor.layer[piece[:-1]]
    )
    joined |= piece[1:] == piece[:-1]
    start[1:] = np.where(joined, end[:-1], start[1:])
    return piece, start, end, joined


def _chord_angle(conductor: Conductor, finest: float) -> Floats:
    """Largest angle of each piece's chords, rad."""
    spoke = np.where(conductor.sweep[:, None] != 0.0, conductor.start - conductor.centre, 1.0)
    angle = np.sqrt(8.0 * SAGITTA * conductor.width / np.maximum(np.hypot(*spoke.T), 1e-12))
    return np.asarray(np.clip(angle, finest, max(finest, COARSEST_CHORD)))


def _complex(points: Floats) -> Points:
    return np.asarray(points[:, 0] + 1j * points[:, 1])


def _vertices(conductor: Conductor, piece: Integers, chords: Integers, step: Integers) -> Points:
    """Vertex number `step`, 0 to chords + 1, of pieces divided into `chords` (0 for a straight one)."""
    first, last = _complex(conductor.start)[piece], _complex(conductor.end)[piece]
    centre = np.where(chords > 0, _complex(np.nan_to_num(conductor.centre))[piece], 0.0)
    angle = conductor.sweep[piece] / np.maximum(chords, 1)
    turned = centre + (first - centre) * _standing(chords, np.abs(angle)) * np.exp(1j * angle * (step - 0.5))
    return np.asarray(np.where(step == 0, first, np.where(step > chords, last, turned)))


def _standing(chords: Integers, angle: Floats) -> Floats:
    """Distance of an arc's inner vertices from its centre, in radii, that keeps the sector's area.

    Two triangles of half the chord's angle from the arc's ends and chords - 1 between the vertices:
    (chords - 1) sin(angle) s^2 / 2 + sin(angle / 2) s = chords angle / 2.
    """
    square, linear, area = (chords - 1) * np.sin(angle), np.sin(0.5 * angle), chords * angle
    return np.asarray(area / np.where(chords > 0, linear + np.sqrt(linear * linear + square * area), 1.0))


def _mitre_slope(before: Points, after: Points) -> Floats:
    """Tangent of half the turning angle between unit vectors, left turns positive, held to STEEPEST_MITRE."""
    turn = before.conj() * after
    slope = turn.imag / np.maximum(1.0 + turn.real, 1e-9)
    return np.asarray(np.clip(slope, -STEEPEST_MITRE, STEEPEST_MITRE))
