"""Soft-magnetic bodies of boxes, each on lines of its own: cells, their faces and charges, and mirror images.

A body's lines may lie close together toward a gap and far apart elsewhere, whatever the other bodies' are.
Only a part of what is alike by symmetry is laid out; the rest are its images.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Indices

_HAIR = 1e-9
Axes = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, kw_only=True)
class Image:
    """A symmetry: signs of x, y, z at which what lies at a place is found again, and the sign of its charge.

    A mirror plane that the flux crosses at right angles turns the charge's sign, one that it runs along does
    not; half a turn keeps or turns it as both its mirrors do together.
    """

    flip: tuple[int, int, int]
    charge: int


_SELF = Image(flip=(1, 1, 1), charge=1)
CROSSED_X, CROSSED_Y, CROSSED_Z = (
    Image(flip=(1 - 2 * (k == 0), 1 - 2 * (k == 1), 1 - 2 * (k == 2)), charge=-1) for k in range(3)
)
ALONG_X, ALONG_Y, ALONG_Z = (Image(flip=one.flip, charge=1) for one in (CROSSED_X, CROSSED_Y, CROSSED_Z))
"""Planes through x, y, z = 0, at right angles to that axis, that the flux crosses or runs along."""


def images_of(symmetries: Sequence[Image]) -> tuple[Image, ...]:
    """All images that the symmetries make together, the part itself first.

    >>> len(images_of((CROSSED_X, ALONG_Y)))
    4
    """
    found = [_SELF]
    for one in symmetries:
        found += [made for made in (_together(one, other) for other in found) if made not in found]
    return tuple(found)


def _together(one: Image, other: Image) -> Image:
    a, b = one.flip, other.flip
    return Image(flip=(a[0] * b[0], a[1] * b[1], a[2] * b[2]), charge=one.charge * other.charge)


@dataclass(frozen=True, kw_only=True)
class Box:
    """From one corner to the opposite one, m."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class GradedBody:
    """Boxes that together make one body, and its lines along x, y, z (m), which hold all of their faces."""

    boxes: tuple[Box, ...]
    lines: Axes

    @property
    def filled(self) -> NDArray[np.bool_]:
        """(nx, ny, nz), which of the cells between the lines belong to it."""
        middles = [0.5 * (one[1:] + one[:-1]) for one in self.lines]
        found = np.zeros(tuple(len(one) for one in middles), dtype=bool)
        for box in self.boxes:
            within = [(m > a) & (m < b) for m, a, b in zip(middles, box.low, box.high, strict=True)]
            found |= within[0][:, None, None] & within[1][None, :, None] & within[2][None, None, :]
        return found


@dataclass(frozen=True, kw_only=True)
class Charged:
    """Carriers of charge: middle, extent (n, 3) m, the body of each (n,)."""

    middle: Floats
    extent: Floats
    body: Indices


@dataclass(frozen=True, kw_only=True)
class GradedCells:
    """Cells of all bodies and their faces.

    middle, extent: (nc, 3) m; body: (nc,). face: (nc, 6), each cell's lower and upper face along x, y, z.
    tie: sparse (nf, n), the faces' normal magnetisation from n free values. carriers: cells, then outer
    faces. charge: sparse (carriers, n), A m of the free values. images: of everything.
    """

    middle: Floats
    extent: Floats
    body: Indices
    face: Indices
    tie: Any
    carriers: Charged
    charge: Any
    images: tuple[Image, ...]

    @property
    def volume(self) -> Floats:
        """(nc,) m3."""
        return np.asarray(self.extent.prod(axis=1))


@dataclass(frozen=True, kw_only=True)
class _Faces:
    """middle, extent (nf, 3) m; axis (nf,); side (nf,): 1 above a body, -1 below it, 0 within."""

    middle: Floats
    extent: Floats
    axis: Indices
    side: Floats
    body: Indices

    @property
    def area(self) -> Floats:
        return np.asarray(np.where(self.extent > 0.0, self.extent, 1.0).prod(axis=1))


def graded_cells(bodies: Sequence[GradedBody], symmetries: Sequence[Image] = ()) -> GradedCells:
    """Cells of bodies that together with their images make up the whole.

    Faces in a symmetry plane that a body is cut at go on into its image. Raises ValueError for no body, and
    for one without a cell or beyond its lines.
    """
    if not bodies:
        raise ValueError("a soft core needs at least one body")
    images = images_of(symmetries)
    parts = [_cells_of(body, number) for number, body in enumerate(bodies)]
    offsets = np.cumsum([0] + [len(faces.axis) for _, _, faces in parts])
    faces = _joined([faces for _, _, faces in parts])
    cells = Charged(
        middle=np.concatenate([one.middle for one, _, _ in parts]),
        extent=np.concatenate([one.extent for one, _, _ in parts]),
        body=np.concatenate([one.body for one, _, _ in parts]),
    )
    face = np.concatenate([of + start for (_, of, _), start in zip(parts, offsets, strict=False)])
    tie, side = _ties(faces, images)
    carriers, charge = _carriers(cells, face, faces, side)
    return GradedCells(
        middle=cells.middle,
        extent=cells.extent,
        body=cells.body,
        face=face,
        tie=tie,
        carriers=carriers,
        charge=(charge @ tie).tocsr(),
        images=images,
    )


def _joined(parts: Sequence[_Faces]) -> _Faces:
    return _Faces(
        middle=np.concatenate([one.middle for one in parts]),
        extent=np.concatenate([one.extent for one in parts]),
        axis=np.concatenate([one.axis for one in parts]),
        side=np.concatenate([one.side for one in parts]),
        body=np.concatenate([one.body for one in parts]),
    )


def _cells_of(body: GradedBody, number: int) -> tuple[Charged, Indices, _Faces]:
    """A body's cells, their faces (nc, 6), and the faces."""
    place = np.argwhere(body.filled)
    if not len(place):
        raise ValueError(f"body {number} holds no cell")
    if any(_beyond(box, body.lines) for box in body.boxes):
        raise ValueError(f"body {number} is not where its lines are")
    low = np.column_stack([body.lines[k][place[:, k]] for k in range(3)])
    high = np.column_stack([body.lines[k][place[:, k] + 1] for k in range(3)])
    of, faces, before = np.zeros((len(place), 6), dtype=np.int64), [], 0
    for axis in range(3):
        found, which = _faces_across(axis, place, low, high, number)
        of[:, 2 * axis : 2 * axis + 2] = which + before
        faces.append(found)
        before += len(found.axis)
    cells = Charged(
        middle=0.5 * (low + high), extent=high - low, body=np.full(len(place), number, dtype=np.int64)
    )
    return cells, of, _joined(faces)


def _beyond(box: Box, lines: Axes) -> bool:
    ends = zip(box.low, box.high, lines, strict=True)
    return any(np.abs(one - edge).min() > _HAIR for low, high, one in ends for edge in (low, high))


def _faces_across(
    axis: int, place: Indices, low: Floats, high: Floats, number: int
) -> tuple[_Faces, Indices]:
    """The faces normal to an axis, and each cell's lower and upper one, (nc, 2)."""
    above = place.copy()
    above[:, axis] += 1
    both = np.concatenate([place, above])
    _, first, which = np.unique(both, axis=0, return_index=True, return_inverse=True)
    which = which.reshape(2, -1).T
    side = np.bincount(which[:, 1], minlength=len(first)) - np.bincount(which[:, 0], minlength=len(first))
    middle, extent = np.concatenate([0.5 * (low + high)] * 2), np.concatenate([high - low] * 2)
    middle[:, axis] = np.concatenate([low[:, axis], high[:, axis]])
    extent[:, axis] = 0.0
    return _Faces(
        middle=middle[first],
        extent=extent[first],
        axis=np.full(len(first), axis, dtype=np.int64),
        side=side.astype(np.float64),
        body=np.full(len(first), number, dtype=np.int64),
    ), which


def _ties(faces: _Faces, images: Sequence[Image]) -> tuple[Any, Floats]:
    """The faces' values from free ones, (nf, n), and their sides, 0 too where they go on into an image.

    A face that is its own image is free, or bears nothing where the image would turn what it bears.
    """
    from scipy.sparse import csr_matrix

    count = len(faces.axis)
    side, leader, sign = faces.side.copy(), np.arange(count), np.ones(count)
    for image in images[1:]:
        for axis in (k for k in range(3) if image.flip[k] < 0):
            cut = np.flatnonzero(
                (faces.axis == axis) & (np.abs(faces.middle[:, axis]) < _HAIR) & (faces.side != 0.0)
            )
            mine, theirs = _meeting(faces, cut, image)
            side[mine] = 0.0
            turned = float(-image.charge)
            sign[mine[(mine == theirs) & (turned < 0.0)]] = 0.0
            later = theirs < mine
            leader[mine[later]], sign[mine[later]] = theirs[later], turned * sign[mine[later]]
    lead = np.flatnonzero((leader == np.arange(count)) & (sign != 0.0))
    column = np.full(count, -1)
    column[lead] = np.arange(len(lead))
    held = np.flatnonzero(column[leader] >= 0)
    return csr_matrix((sign[held], (held, column[leader[held]])), shape=(count, len(lead))), side


def _meeting(faces: _Faces, cut: Indices, image: Image) -> tuple[Indices, Indices]:
    """Of faces in a symmetry plane, those whose image is one of them too, and which."""
    here = {tuple(row): k for k, row in zip(cut, np.round(faces.middle[cut] / _HAIR), strict=True)}
    there = np.round(faces.middle[cut] * image.flip / _HAIR) + 0.0
    pairs = [(k, here[tuple(row)]) for k, row in zip(cut, there, strict=True) if tuple(row) in here]
    mine, theirs = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return mine, theirs


def _carriers(cells: Charged, face: Indices, faces: _Faces, side: Floats) -> tuple[Charged, Any]:
    """Cells and outer faces as carriers, and their charges from the faces' values, (carriers, nf)."""
    from scipy.sparse import csr_matrix, vstack

    count, area = len(faces.axis), faces.area
    sign = np.tile([1.0, -1.0], 3 * len(face))
    row = np.repeat(np.arange(len(face)), 6)
    inner = csr_matrix((sign * area[face.ravel()], (row, face.ravel())), shape=(len(face), count))
    out = np.flatnonzero(side)
    outer = csr_matrix((side[out] * area[out], (np.arange(len(out)), out)), shape=(len(out), count))
    carriers = Charged(
        middle=np.concatenate([cells.middle, faces.middle[out]]),
        extent=np.concatenate([cells.extent, faces.extent[out]]),
        body=np.concatenate([cells.body, faces.body[out]]),
    )
    return carriers, vstack([inner, outer])


def box_lines(
    boxes: Sequence[Box], axis: int, spacing: Sequence[tuple[float, float]], widest: float
) -> Floats:
    """Lines along an axis through all faces of the boxes, m.

    spacing: places and how near to each other lines lie there, both m; between they are up to `widest` apart.
    """
    from coilgen.physics.base.graded_lines import Fine, graded_lines

    edges = sorted({round(end[axis], 12) for box in boxes for end in (box.low, box.high)})
    near = [Fine(low=place, high=place, spacing=fine) for place, fine in spacing]
    rest = [Fine(low=edges[0], high=edges[-1], spacing=widest)]
    ends = [Fine(low=edge, high=edge, spacing=widest) for edge in edges]
    inside = [one for one in near if edges[0] - _HAIR <= one.low <= edges[-1] + _HAIR]
    outside = [
        Fine(low=one.low, high=one.low + 1e-12, spacing=one.spacing) for one in near if one not in inside
    ]
    return graded_lines([*inside, *outside, *ends, *rest], edges[0], edges[-1])
