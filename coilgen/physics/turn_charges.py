"""Charge elements on the copper of turns seen in cross-section, and the potentials they raise."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.layered_dielectric import VACUUM_PERMITTIVITY, Floats, ImageCharges, image_charges

Integers = NDArray[np.int64]
MeanLog = Callable[[Floats, Floats, Floats, Floats], Floats]

_EDGE_SHARE = 0.1  # of the width, the outermost element of a face
_WALL_STRIP = 0.125  # of the thickness: width of the strip that stands for a side wall
_NEAR = 2.5  # in widths: closer turns are integrated exactly
_AT_ONCE = 32  # distances, to keep the arrays in the cache
_TINY = 1e-300  # m2: keeps the logarithm finite where it is multiplied by zero
_LENGTH_STEP = 1e-9  # m: positions are told apart to this much


@dataclass(frozen=True, kw_only=True)
class Section:
    """A coil's cross-section: n turns' copper, rectangles, all (n,) and in m.

    height: of the middle of the copper; position: sideways, of the middle; width; thickness.
    """

    height: Floats
    position: Floats
    width: Floats
    thickness: Floats


@dataclass(frozen=True, kw_only=True)
class _Strips:
    """Level strips that carry the charge of one kind of turn, (p,) each; their share of each element, (p, e).

    wall: whether a strip stands for a side wall.
    """

    offset: Floats
    width: Floats
    level: Integers
    share: Floats
    wall: NDArray[np.bool_]


def potential_matrix(section: Section, interfaces: Floats, permittivity: Floats, divisions: int) -> Floats:
    """Mean potential of each element for 1 C/m on another, (n e, n e) V m/C, symmetric positive definite.

    Each turn has e = 2 divisions elements of uniform charge: `divisions` along its bottom face, as many along
    its top face, the outer ones reaching round the corner half-way up the side wall. Galerkin's form of the
    method of moments (Harrington, Field Computation by Moment Methods, 1968), with the stack's images.
    """
    kinds, kind = _kinds(section)
    strips = [_strips(width, thickness, divisions) for _, width, thickness in kinds]
    levels = np.concatenate([z + np.array([-0.5, 0.0, 0.5]) * t for z, _, t in kinds])
    images = image_charges(levels, interfaces, permittivity)
    reach = 10 * float(np.ptp(section.position) + np.ptp(levels) + images.depth[-1] + np.sum(kinds[:, 1]))
    pairs, index, variant = _distinct_pairs(section.position, kind)
    blocks = np.empty((len(pairs), 2 * divisions, 2 * divisions))
    for a in range(len(kinds)):
        for b in range(a, len(kinds)):
            rows = np.flatnonzero((pairs[:, 0] == a) & (pairs[:, 1] == b))
            distance = pairs[rows, 2] * _LENGTH_STEP
            blocks[rows] = _blocks(distance, strips[a], strips[b], _between(images, a, b), reach)
    return _assembled(blocks, index, variant) / (2 * np.pi * VACUUM_PERMITTIVITY)


def _kinds(section: Section) -> tuple[Floats, Integers]:
    """Distinct (height, width, thickness) among the turns, (k, 3), and each turn's kind (n,)."""
    looks = np.column_stack([section.height, section.width, section.thickness])
    _, first, kind = np.unique(np.round(looks / _LENGTH_STEP), axis=0, return_index=True, return_inverse=True)
    return looks[first], kind.reshape(-1)


def _strips(width: float, thickness: float, divisions: int) -> _Strips:
    """Bottom face left to right, top face left to right, left wall, right wall."""
    edges = _face_edges(width, divisions)
    middle, size = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    wall_width = _WALL_STRIP * thickness
    return _Strips(
        offset=np.concatenate([middle, middle, [-width / 2, width / 2]]),
        width=np.concatenate([size, size, [wall_width, wall_width]]),
        level=np.concatenate([np.zeros(divisions), np.full(divisions, 2), [1, 1]]).astype(np.int64),
        share=_shares(size[0], thickness / 2, divisions),
        wall=np.arange(2 * divisions + 2) >= 2 * divisions,
    )


def _face_edges(width: float, divisions: int) -> Floats:
    """Borders of the elements of a face, (divisions + 1,): finer to the edges, where the charge crowds."""
    cosine = -np.cos(np.pi * np.arange(divisions + 1) / divisions) / 2
    if divisions == 3:
        cosine[1:3] = _EDGE_SHARE - 0.5, 0.5 - _EDGE_SHARE
    return width * cosine


def _shares(edge: float, half_wall: float, divisions: int) -> Floats:
    """Share of each element's charge on each strip, (2 divisions + 2, 2 divisions), even round corners."""
    count = 2 * divisions
    share = np.zeros((count + 2, count))
    share[np.arange(count), np.arange(count)] = 1.0
    corners = np.array([0, divisions - 1, divisions, count - 1])
    share[corners, corners] = edge / (edge + half_wall)
    share[count + np.array([0, 1, 0, 1]), corners] = half_wall / (edge + half_wall)
    return share


def _between(images: ImageCharges, a: int, b: int) -> ImageCharges:
    """The images of turns of kind b seen from turns of kind a, three levels each."""
    of_a, of_b = slice(3 * a, 3 * a + 3), slice(3 * b, 3 * b + 3)
    return ImageCharges(
        strength=images.strength[of_a, of_b],
        separation=images.separation[of_a, of_b],
        depth=images.depth,
        fit_error=images.fit_error,
    )


def _distinct_pairs(position: Floats, kind: Integers) -> tuple[Integers, Integers, Integers]:
    """Distinct (kind, kind, |distance|) of two turns, (u, 3); which each pair is, (n, n); and its variant.

    Variant: + 1 mirrored, the second turn lies left of the first; + 2 with the two turns exchanged. Kinds
    rise within a distinct pair; distances count in _LENGTH_STEP.
    """
    one, other = kind[:, None], kind[None, :]
    steps = np.round((position[None, :] - position[:, None]) / _LENGTH_STEP).astype(np.int64)
    exchanged = one > other
    mirrored = np.where(exchanged, steps > 0, steps < 0)
    count, span = int(kind.max()) + 1, int(np.abs(steps).max()) + 1
    key = (np.minimum(one, other) * count + np.maximum(one, other)) * span + np.abs(steps)
    distinct, index = np.unique(key, return_inverse=True)
    kinds, distance = np.divmod(distinct, span)
    pairs = np.column_stack([*np.divmod(kinds, count), distance])
    return pairs, index.reshape(key.shape), mirrored + 2 * exchanged


def _blocks(distance: Floats, one: _Strips, other: _Strips, images: ImageCharges, reach: float) -> Floats:
    """Element potentials (u, e, e) of turns of two kinds at sideways distances (u,), in 1/(2 pi e0)."""
    near = distance < _NEAR * 2 * max(float(np.max(one.offset)), float(np.max(other.offset)))
    between = np.empty((distance.size, one.offset.size, other.offset.size))
    for rows, mean_log in ((np.flatnonzero(near), _mean_log), (np.flatnonzero(~near), _far_mean_log)):
        for first in range(0, rows.size, _AT_ONCE):
            some = rows[first : first + _AT_ONCE]
            between[some] = _strip_potentials(distance[some], one, other, images, reach, mean_log)
    if one is other:
        between[distance < _LENGTH_STEP / 2] += _wall_correction(one, images)
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
    lacking = np.where(one.wall, images.strength[1, 1, 0] * np.log(_WALL_STRIP), 0.0)
    return np.diag(lacking)


def _assembled(blocks: Floats, index: Integers, variant: Integers) -> Floats:
    """The whole matrix (n e, n e) from distinct blocks (u, e, e), in their variants."""
    elements = blocks.shape[-1]
    half = np.arange(elements // 2)
    sides = np.concatenate([half[::-1], elements // 2 + half[::-1]])
    both = np.concatenate([blocks, blocks[:, sides][:, :, sides]])
    variants = np.concatenate([both, both.transpose(0, 2, 1)])
    chosen = variants[index + len(blocks) * variant]
    size = len(index) * elements
    whole = chosen.transpose(0, 2, 1, 3).reshape(size, size)
    return np.asarray((whole + whole.T) / 2)
