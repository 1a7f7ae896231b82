"""Charge elements on the copper of turns seen in cross-section, and the potentials they raise."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.circuit.layered_dielectric import (
    VACUUM_PERMITTIVITY,
    Floats,
    ImageCharges,
    image_charges,
)
from coilgen.physics.circuit.turn_section import Section, TurnKind, turn_kinds

Integers = NDArray[np.int64]
Reals = tuple[float, ...]
MeanLog = Callable[[Floats, Floats, Floats, Floats], Floats]

_WALL_STRIP = 0.125  # of the thickness: width of the strip that stands for a side wall
_NEAR = 2.5  # in widths: closer turns are integrated exactly
_AT_ONCE = 32  # distances, to keep the arrays in the cache
_STACKS = 8  # whose images are kept
_TINY = 1e-300  # m2: keeps the logarithm finite where it is multiplied by zero
_ROUNDING = 1e-9  # of the width
_LENGTH_STEP = 1e-9  # m: distances are told apart to this much


@dataclass(frozen=True, kw_only=True)
class _Strips:
    """Level strips that carry the charge of one kind of turn, (p,) each; their share of each element, (p, e).

    level: row of the strip's height among the levels. wall: whether it stands for a side wall. reversed: the
    elements in the order (e,) in which they lie seen from behind; None where they do not lie evenly.
    """

    offset: Floats
    width: Floats
    level: Integers
    share: Floats
    wall: NDArray[np.bool_]
    reversed: Integers | None


def potential_matrix(
    section: Section, interfaces: Floats, permittivity: Floats, divisions: int
) -> tuple[Floats, Integers]:
    """Mean potential of each element for 1 C/m on another, (e, e) V m/C, and the turn of each element, (e,).

    The matrix is symmetric positive definite. The charge is uniform on each element: `divisions` and more
    along each face, the outer ones reaching round the corner half-way up the side wall. Galerkin's form of
    the method of moments (Harrington, Field Computation by Moment Methods, 1968), with the stack's images.
    """
    kinds, turns = turn_kinds(section, divisions)
    placed = [[kind.levels for kind in kinds]]
    (matrix,), owner = _matrices(section, kinds, turns, interfaces, permittivity, placed)
    return matrix, owner


def mirrored_potentials(
    section: Section, interfaces: Floats, permittivity: Floats, divisions: int, middle: float
) -> tuple[Floats, Floats, Integers]:
    """As potential_matrix, of a section whose lower half mirrors the upper one at the height `middle`, m.

    Potentials (e, e) of the upper half's elements for charge on one another, and for charge on the mirror
    images of one another; both are symmetric. The turn of each element, (e,).
    """
    found = zip(*turn_kinds(section, divisions), strict=True)
    upper = [(kind, turns) for kind, turns in found if kind.height > middle]
    kinds, turns = [kind for kind, _ in upper], [some for _, some in upper]
    heights = np.array([kind.levels for kind in kinds])
    placed = [heights.tolist(), (2 * middle - heights).tolist()]
    (direct, across), owner = _matrices(section, kinds, turns, interfaces, permittivity, placed)
    return direct, across, owner


def _matrices(
    section: Section,
    kinds: list[TurnKind],
    turns: list[Integers],
    interfaces: Floats,
    permittivity: Floats,
    placed: list[list[tuple[float, float, float]]],
) -> tuple[list[Floats], Integers]:
    """Potentials of turns on the first placing of levels, for charge on each of the placings."""
    heights = np.array(placed)
    levels, level = np.unique(np.round(heights / _LENGTH_STEP), return_inverse=True)
    stack = (tuple(each.tolist()) for each in (levels * _LENGTH_STEP, interfaces, permittivity))
    images = _images(*stack)
    placings = [
        [_strips(kind, rows) for kind, rows in zip(kinds, some, strict=True)]
        for some in level.reshape(heights.shape)
    ]
    reach = 10 * float(np.ptp(section.position) + np.ptp(heights) + images.depth[-1] + np.sum(section.width))
    sizes = [strips.share.shape[1] for strips in placings[0]]
    owner = np.concatenate([np.repeat(of, size) for of, size in zip(turns, sizes, strict=True)])
    positions = [section.position[of] for of in turns]
    return [_whole(positions, placings[0], other, images, reach) for other in placings], owner


@lru_cache(maxsize=_STACKS)
def _images(levels: Reals, interfaces: Reals, permittivity: Reals) -> ImageCharges:
    """Sections of one winding, and windings of other widths, stand in the same stack."""
    return image_charges(levels, interfaces, permittivity)


def _whole(
    positions: list[Floats], ones: list[_Strips], others: list[_Strips], images: ImageCharges, reach: float
) -> Floats:
    """All kinds' element potentials, (e, e) V m/C, symmetric."""
    counts = [of.size * strips.share.shape[1] for of, strips in zip(positions, ones, strict=True)]
    ends = np.cumsum([0, *counts])
    matrix = np.empty((ends[-1], ends[-1]))
    for a, one in enumerate(ones):
        for b in range(a, len(others)):
            distance = positions[b][None, :] - positions[a][:, None]
            part = _part(distance, one, others[b], images, reach)
            matrix[ends[a] : ends[a + 1], ends[b] : ends[b + 1]] = part
            if b > a:
                matrix[ends[b] : ends[b + 1], ends[a] : ends[a + 1]] = part.T
    return matrix


def _strips(kind: TurnKind, level: Integers) -> _Strips:
    """Strips of the bottom face left to right, the top face left to right, the left wall, the right wall."""
    wall = _WALL_STRIP * kind.thickness
    faces = [(edges[1:] + edges[:-1]) / 2 for edges in (kind.bottom, kind.top)]
    sizes = [np.diff(edges) for edges in (kind.bottom, kind.top)]
    count = [size.size for size in sizes]
    return _Strips(
        offset=np.concatenate([*faces, [-kind.width / 2, kind.width / 2]]),
        width=np.concatenate([*sizes, [wall, wall]]),
        level=np.repeat(level[[0, 2, 1]], [*count, 2]),
        share=_shares(sizes, kind.thickness / 2),
        wall=np.arange(sum(count) + 2) >= sum(count),
        reversed=_reversed(kind),
    )


def _reversed(kind: TurnKind) -> Integers | None:
    for edges in (kind.bottom, kind.top):
        if np.max(np.abs(edges + edges[::-1])) > _ROUNDING * kind.width:
            return None
    bottom, top = kind.bottom.size - 1, kind.top.size - 1
    return np.concatenate([np.arange(bottom)[::-1], bottom + np.arange(top)[::-1]])


def _shares(sizes: list[Floats], half_wall: float) -> Floats:
    """Share of each element's charge on each strip, (e + 2, e), of even density round the corners."""
    bottom, count = sizes[0].size, sizes[0].size + sizes[1].size
    share = np.concatenate([np.eye(count), np.zeros((2, count))])
    corners = np.array([0, bottom - 1, bottom, count - 1])
    edges = np.concatenate([size[[0, -1]] for size in sizes])
    share[corners, corners] = edges / (edges + half_wall)
    share[count + np.array([0, 1, 0, 1]), corners] = half_wall / (edges + half_wall)
    return share


def _part(distance: Floats, one: _Strips, other: _Strips, images: ImageCharges, reach: float) -> Floats:
    """Element potentials of all turns of two kinds, V m/C, from their distances, each value once.

    Of turns that lie evenly the same value does for both directions.
    """
    steps = np.round(distance / _LENGTH_STEP).astype(np.int64)
    even = one.reversed is not None and other.reversed is not None
    distinct, index = np.unique(np.abs(steps) if even else steps, return_inverse=True)
    blocks = _blocks(np.multiply(distinct, _LENGTH_STEP, dtype=np.float64), one, other, images, reach)
    blocks /= 2 * np.pi * VACUUM_PERMITTIVITY
    index = index.reshape(steps.shape)
    if one.reversed is not None and other.reversed is not None:
        blocks = np.concatenate([blocks, blocks[:, one.reversed][:, :, other.reversed]])
        index = np.where(steps < 0, index + distinct.size, index)
    chosen = blocks[index].transpose(0, 2, 1, 3)
    return chosen.reshape(steps.shape[0] * blocks.shape[1], -1)


def _blocks(distance: Floats, one: _Strips, other: _Strips, images: ImageCharges, reach: float) -> Floats:
    """Element potentials (u, e, e) of turns of two kinds at sideways distances (u,), in 1/(2 pi e0)."""
    near = np.abs(distance) < _NEAR * max(float(np.ptp(one.offset)), float(np.ptp(other.offset)))
    between = np.empty((distance.size, one.offset.size, other.offset.size))
    for rows, mean_log in ((np.flatnonzero(near), _mean_log), (np.flatnonzero(~near), _far_mean_log)):
        for first in range(0, rows.size, _AT_ONCE):
            some = rows[first : first + _AT_ONCE]
            between[some] = _strip_potentials(distance[some], one, other, images, reach, mean_log)
    if one is other:
        between[distance == 0] += _wall_correction(one, images)
    return np.asarray(one.share.T @ between @ other.share)


def _strip_potentials(
    distance: Floats, one: _Strips, other: _Strips, images: ImageCharges, reach: float, mean_log: MeanLog
) -> Floats:
    """Mean potentials (u, p, q) of strips for charge on other strips, zero at `reach`, in 1/(2 pi e0)."""
    x = distance[:, None, None] + other.offset[None, None, :] - one.offset[None, :, None]
    levels = np.ix_(one.level, other.level)
    strength = images.strength[levels]
    height = images.separation[levels][..., None] + images.depth
    logs = mean_log(x[..., None], height, one.width[:, None, None], other.width[:, None])
    return np.asarray(np.sum(strength * (np.log(reach) - logs), axis=-1))


def _mean_log(x: Floats, height: Floats, width_one: Floats, width_other: Floats) -> Floats:
    """Mean of ln distance between two level strips: sideways x between middles, `height` apart, all in m.

    Exact; the planar case of the geometric mean distances of Maxwell, Treatise, art. 691-692.
    """
    half_sum, half_difference = (width_one + width_other) / 2, (width_one - width_other) / 2
    corners = (
        _twice_integrated_log(x + half_sum, height)
        + _twice_integrated_log(x - half_sum, height)
        - _twice_integrated_log(x + half_difference, height)
        - _twice_integrated_log(x - half_difference, height)
    )
    return corners / (width_one * width_other)


def _twice_integrated_log(x: Floats, height: Floats) -> Floats:
    """The function whose second derivative in x is ln sqrt(x**2 + height**2)."""
    square = np.maximum(x**2 + height**2, _TINY)
    angle = np.arctan2(x, height)
    return (x**2 - height**2) * np.log(square) / 4 - 0.75 * x**2 + height * x * angle


def _far_mean_log(x: Floats, height: Floats, width_one: Floats, width_other: Floats) -> Floats:
    """As _mean_log, to the second order in width over distance."""
    height_squared = height**2
    square = x**2 + height_squared
    spread = (width_one**2 + width_other**2) / 24
    return np.log(square) / 2 + spread * (2 * height_squared - square) / (square * square)


def _wall_correction(one: _Strips, images: ImageCharges) -> Floats:
    """What a wall's own potential lacks when a strip _WALL_STRIP as wide stands for it, (p, p)."""
    lacking = np.where(one.wall, images.strength[one.level, one.level, 0] * np.log(_WALL_STRIP), 0.0)
    return np.diag(lacking)
