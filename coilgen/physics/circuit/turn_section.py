"""A coil's cross-section, and where the faces of its turns are divided into charge elements."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass
from coilgen.physics.circuit.layered_dielectric import Floats

Integers = NDArray[np.int64]

_EDGE_SHARE = 0.1  # of the width, the outermost element of a face in three
_THIN_GAP = 0.7  # of the width: copper faced more closely mirrors the facing copper's edges
_LEAST_ELEMENT = 0.02  # of the width: borders closer than this are one
_ROUNDING = 1e-12  # m: lengths nearer than this are equal
_LENGTH_STEP = 1e-9  # m: sizes are told apart to this much


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
class TurnKind:
    """Turns alike in all but position, m: bottom and top hold the borders of each face's elements.

    Borders (k,) count from the middle, rising, first and last the copper's edges.
    """

    height: float
    width: float
    thickness: float
    bottom: Floats
    top: Floats

    @property
    def levels(self) -> tuple[float, float, float]:
        """Heights of bottom face, middle and top face, m."""
        return self.height - self.thickness / 2, self.height, self.height + self.thickness / 2


def checked_section(
    height: ArrayLike, position: ArrayLike, width: ArrayLike, thickness: ArrayLike
) -> Section:
    """Cross-section of n turns, all (n,) and in m; ValueError for sizes under zero or overlapping copper."""
    heights = column(height, np.atleast_1d(np.asarray(height)).size)
    positions, widths, thicknesses = (column(v, heights.size) for v in (position, width, thickness))
    if not (np.all(widths > 0) and np.all(thicknesses > 0)):
        raise ValueError("widths and thicknesses must be positive")
    across = np.abs(positions[:, None] - positions) - (widths[:, None] + widths) / 2
    upward = np.abs(heights[:, None] - heights) - (thicknesses[:, None] + thicknesses) / 2
    overlap = np.triu((across < 0) & (upward < 0), 1)
    if np.any(overlap):
        one, other = np.argwhere(overlap)[0]
        raise ValueError(f"turns {one} and {other} overlap in the cross-section")
    return Section(height=heights, position=positions, width=widths, thickness=thicknesses)


def mirror_images(section: Section, interfaces: Floats, permittivity: Floats) -> Integers | None:
    """The turn (n,) that each turn's mirror image is, when the section turned upside down is the same one.

    Of stacks of dielectrics and copper that are even about their middle, as boards mostly are; None for
    others, and where a turn lies across the middle.
    """
    low, high = float(np.min(section.height)), float(np.max(section.height))
    if not np.allclose(interfaces + interfaces[::-1], low + high, rtol=0, atol=_ROUNDING):
        return None
    if not np.array_equal(permittivity, permittivity[::-1]):
        return None
    above = np.round((section.height - low / 2 - high / 2) / _LENGTH_STEP)
    beside = np.round(section.position / _LENGTH_STEP)
    order, image = np.lexsort((above, beside)), np.lexsort((-above, beside))
    mirror = np.empty_like(order)
    mirror[order] = image
    alike = [section.height + section.height[mirror] - low - high]
    alike += [size - size[mirror] for size in (section.position, section.width, section.thickness)]
    if np.max(np.abs(alike)) > _ROUNDING or np.any(mirror == np.arange(mirror.size)):
        return None
    return np.asarray(mirror)


def column(values: ArrayLike, count: int) -> Floats:
    """The values as (count,) floats; ValueError when they are not, or not finite."""
    array = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if array.shape != (count,) or not np.all(np.isfinite(array)):
        raise ValueError(f"expected {count} finite values, one for each turn, got shape {array.shape}")
    return array


def turn_kinds(section: Section, divisions: int) -> tuple[list[TurnKind], list[Integers]]:
    """The kinds of turns in a section, and the turns of each, with at least `divisions` elements a face."""
    below, above = _facing(section, -1), _facing(section, 1)
    members: dict[tuple[object, ...], list[int]] = {}
    kinds: list[TurnKind] = []
    known: dict[tuple[float, bytes], Floats] = {}

    def borders(turn: int, facing: NDArray[np.bool_]) -> Floats:
        """Of a face; turns that face others alike have the same."""
        seen = _seen(section, turn, facing)
        key = (float(section.width[turn]), np.rint(seen / _LENGTH_STEP).tobytes())
        if key not in known:
            known[key] = _borders(key[0], seen, divisions)
        return known[key]

    for turn in range(section.height.size):
        kind = TurnKind(
            height=float(section.height[turn]),
            width=float(section.width[turn]),
            thickness=float(section.thickness[turn]),
            bottom=borders(turn, below[turn]),
            top=borders(turn, above[turn]),
        )
        key = tuple(_steps([kind.height, kind.width, kind.thickness, *kind.bottom, 0.0, *kind.top]))
        if key not in members:
            kinds.append(kind)
        members.setdefault(key, []).append(turn)
    return kinds, [np.array(turns, dtype=np.int64) for turns in members.values()]


def _steps(lengths: list[float]) -> list[int]:
    return [round(length / _LENGTH_STEP) for length in lengths]


def _facing(section: Section, side: int) -> NDArray[np.bool_]:
    """Whether a turn (row) closely faces another (column) above (side 1) or below (side -1), (n, n).

    Close is under _THIN_GAP of its width, and nearest of all that overlap it sideways or nearly so.
    """
    apart = side * (section.height[None, :] - section.height[:, None])
    gap = apart - (section.thickness[None, :] + section.thickness[:, None]) / 2
    across = np.abs(section.position[None, :] - section.position[:, None])
    beside = across - (section.width[None, :] + section.width[:, None]) / 2
    close = (gap > 0) & (gap < _THIN_GAP * section.width[:, None]) & (beside < gap)
    nearest = np.min(np.where(close, gap, np.inf), axis=1, keepdims=True)
    return np.asarray(close & (gap <= nearest + _LENGTH_STEP))


def _seen(section: Section, turn: int, facing: NDArray[np.bool_]) -> Floats:
    """Copper that a face sees, (3, k) m: where its middle is sideways, its width, and how far off it is."""
    (others,) = np.nonzero(facing)
    apart = np.abs(section.height[others] - section.height[turn])
    gap = apart - section.thickness[others] / 2 - section.thickness[turn] / 2
    return np.array([section.position[others] - section.position[turn], section.width[others], gap])


def _borders(width: float, seen: Floats, divisions: int) -> Floats:
    """Element borders of one face: its own graded ones, finer by edges of what it closely faces."""
    borders = _graded_borders(width, divisions)
    middle, half, apart = seen[0], seen[1] / 2, seen[2]
    if not middle.size:
        return borders
    edges, gap = np.concatenate([middle - half, middle + half, [-width / 2, width / 2]]), float(apart.min())
    for border in np.concatenate([edges, edges - gap, edges + gap]):
        if abs(border) < width / 2 and np.min(np.abs(borders - border)) > _LEAST_ELEMENT * width:
            borders = np.append(borders, border)
    return np.sort(borders)


def _graded_borders(width: float, divisions: int) -> Floats:
    """Borders of the elements of a face, (divisions + 1,): finer to the edges, where the charge crowds."""
    share = -np.cos(np.pi * np.arange(divisions + 1) / divisions) / 2
    if divisions == 3:
        share[1:3] = _EDGE_SHARE - 0.5, 0.5 - _EDGE_SHARE
    return np.asarray(width * share)
