"""Alternating magnets of one height as current sheets on their walls, and their images in iron plates."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.mover.images import images

Places = NDArray[np.complexfloating[Any, Any]]
Outline = Sequence[tuple[complex, complex, float]]
"""Pieces of a closed curve seen from the top, counter-clockwise about the magnet: start, end, m, and the
angle by which the piece turns, rad; 0 for a straight one."""
Sheets = tuple[tuple[float, float], ...]
_NODE, _WEIGHT = np.polynomial.legendre.leggauss(12)
_PANEL = 3.0
"""Length of a panel with so many points over the distance of its nearest field point: errors below 1e-6."""
_FARTHER, _FINER = 3.0, 0.5
"""Times as far, from which on end faces are taken by themselves, and how finely, of their distance: some of
them by themselves give more than all do together."""
_DIGITS_OF_FACES = 12
"""Heights of end faces are told apart to, m."""


@dataclass(frozen=True, kw_only=True)
class Magnets:
    """Magnets of a mover that stands at its origin, evenly magnetised along z.

    outlines: of each. signs: 1 where its north pole is up, -1 where it is down. polarisation: T.
    sheets: heights of the lower and the upper end face, m, those of images too: a pole's wall carries the
    same current in all of them.
    """

    outlines: tuple[Outline, ...]
    signs: tuple[int, ...]
    polarisation: float
    sheets: Sheets


@dataclass(frozen=True, kw_only=True)
class Ends:
    """End faces: heights (e,) m and the charge on each over the magnetisation, (e,)."""

    heights: Floats
    charges: Floats


def end_faces(sheets: Sheets) -> Ends:
    """Of magnets and their images; where one stands on another their charges cancel, as at every plate."""
    faces = np.round(np.array(sheets).ravel(), _DIGITS_OF_FACES)
    heights, of = np.unique(faces, return_inverse=True)
    charges = np.bincount(of, np.tile([-1.0, 1.0], len(sheets)))
    return Ends(heights=heights[charges != 0.0], charges=charges[charges != 0.0])


@dataclass(frozen=True, kw_only=True)
class Part:
    """Some end faces, and the distance, m, that tells how finely what they give is to be sampled."""

    fine: float
    ends: Ends


def by_distance(sheets: Sheets, low: float, high: float, least: float) -> list[Part]:
    """End faces by their distance from what lies between heights low and high, m, nearest first.

    Those of far images are most and take the fewest points. least: distance, m, below which details do not
    count.
    """
    ends = end_faces(sheets)
    apart = np.minimum(np.abs(ends.heights - low), np.abs(ends.heights - high))
    apart = np.maximum(apart, least)
    part = np.floor(np.log(apart / apart.min()) / np.log(_FARTHER) + 1e-9)
    found = []
    for number in np.unique(part):
        those = part == number
        some = Ends(heights=ends.heights[those], charges=ends.charges[those])
        fine = float(apart[those].min()) * (_FINER if number else 1.0)
        found.append(Part(fine=fine, ends=some))
    return found


@dataclass(frozen=True, kw_only=True)
class Walls:
    """Points of walls seen from the top, (k, 2) m, and the step along each, (k, 2) m, by sign."""

    at: Floats
    along: Floats


def walls(outlines: Iterable[Outline], signs: Iterable[int], distance: float) -> Walls:
    """Walls as Gauss's points, for field points no nearer than a distance, m."""
    parts = [
        (at, sign * along)
        for outline, sign in zip(outlines, signs, strict=True)
        for piece in outline
        for at, along in [_piece(*piece, distance)]
    ]
    at, along = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Walls(at=_columns(at), along=_columns(along))


def _columns(points: Places) -> Floats:
    return np.ascontiguousarray(np.column_stack([points.real, points.imag]))


def _piece(start: complex, end: complex, turn: float, distance: float) -> tuple[Places, Places]:
    """Points of a piece and the steps along it, both complex."""
    chord = end - start
    length = abs(chord) if turn == 0.0 else abs(chord) * (0.5 * turn / np.sin(0.5 * turn))
    panels = int(np.ceil(max(1.0, length / (_PANEL * distance))))
    along = ((np.arange(panels)[:, None] + 0.5 * (_NODE + 1.0)) / panels).ravel()
    share = np.tile(0.5 * _WEIGHT / panels, panels)
    if turn == 0.0:
        return start + chord * along, chord * share
    centre = start - chord / (np.exp(1j * turn) - 1.0)
    spoke = (start - centre) * np.exp(1j * turn * along)
    return centre + spoke, 1j * turn * spoke * share


def circle(centre: complex, radius: float) -> Outline:
    """Counter-clockwise for a radius over 0, clockwise, as the edge of a hole, for one under 0, m."""
    east, west = centre + abs(radius), centre - abs(radius)
    half = np.copysign(np.pi, radius)
    return ((east, west, half), (west, east, half))


def rectangle(centre: complex, width: float, depth: float, turned: complex = 1.0) -> Outline:
    """Width along x and depth along y, m, turned about its centre by the angle of `turned`."""
    corners = [complex(x * width, y * depth) / 2 for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    placed = [centre + corner * turned for corner in corners]
    return tuple((placed[k], placed[(k + 1) % 4], 0.0) for k in range(4))


def segment(inner: float, outer: float, angle: float, middle: float) -> Outline:
    """Part of a ring about the origin: radii, m, the angle it spans and that of its middle, rad."""
    first, last = np.exp(1j * (middle - 0.5 * angle)), np.exp(1j * (middle + 0.5 * angle))
    return (
        (outer * first, outer * last, angle),
        (outer * last, inner * last, 0.0),
        (inner * last, inner * first, -angle),
        (inner * first, outer * first, 0.0),
    )


def with_images(sheets: Sheets, below: float | None, above: float | None, reach: float) -> Sheets:
    """Sheets and their images in iron plates whose faces are at heights below and above, m; None for none.

    Those farther than `reach`, m, beyond two plates are left out.
    """
    found = [*sheets]
    for image in images(below, above, reach):
        mirrored = (np.sort(image.height(np.array(sheet))) for sheet in sheets)
        found += [(float(low), float(high)) for low, high in mirrored]
    if below is None or above is None:
        return tuple(found)
    return tuple(each for each in found if each[1] > below - reach and each[0] < above + reach)
