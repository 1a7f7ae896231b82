"""The winding as turns: mean radius, length and height of each, stations along the turns, and the leads."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.eddy.strands import (
    Crossings,
    Strand,
    beyond_corner,
    cross,
    crossings,
    cut,
    equal_turns,
    full_turns,
    pieces,
    shifts,
    stations,
    swept_angle,
)

_ARC_STEP = np.radians(5.0)
_LEAD_SLOPE = 0.5
_BEND_SLOPE = 0.05
_SMOOTH = np.radians(20.0)
_OVAL, _OBLONG = 1.05, 1.33
"""Length of a turn over that of a circle whose radius is twice its area over its length: a circle has 1, a
square 4/pi; a triangle 1.65, a rectangle of twice the length 1.43."""
_GAP = 1e-9
_KEPT = 4
"""Conductors whose turns are kept: several figures of one coil ask for them."""
_LEAST_WOUND = 0.5
"""Of a turn: what winds less is a lead, unless nothing winds more."""


@dataclass(frozen=True, kw_only=True)
class Turns:
    """n turns, SI units; each of a spiral's turns is the same part of its swept angle, near a full turn.

    radius: (n,) m, twice the enclosed area over the length: a circle's radius, a regular polygon's apothem,
    so that radii of neighbouring turns differ by the pitch. length: (n,) m, of the centre line.
    fraction: (n,) of a full turn, negative for a clockwise current. z, width, thickness: (n,) m.
    piece: (n,) int, a piece of the conductor that the turn is of.
    points: (stations, n, 2) m, where rays from the centre cross the centre lines; nan where a turn is not
    crossed, or only beyond the corner. share: (stations,), each station's share of the length.
    shift: (stations, n) m, by how much the turns of one spiral are farther out there than their radius, on
    average: spirals that run inward and outward face each other with all shifts from none to a pitch.
    """

    radius: Floats
    length: Floats
    fraction: Floats
    z: Floats
    width: Floats
    thickness: Floats
    piece: NDArray[np.int64]
    points: Floats
    share: Floats
    shift: Floats


@dataclass(frozen=True, kw_only=True)
class Chords:
    """Straight chords (m,) of the conductor: start, end (m, 2) m, and the piece (m,) int each is of."""

    start: Floats
    end: Floats
    piece: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Sides:
    """Straight steps: vertices (m, 2) m, their heights z (m,) m, and the piece (m - 1,) that each step is of.

    Steps from one chain to the next, over gaps and vias, are of no piece, -1.
    """

    vertices: Floats
    z: Floats
    piece: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class _Run:
    """Joined chords of one layer: vertices (m + 1, 2), piece (m,); those from first to after wind."""

    vertices: Floats
    piece: NDArray[np.int64]
    first: int
    after: int

    @property
    def wound(self) -> float:
        """Turns swept by the chords that wind."""
        return abs(float(swept_angle(self.vertices[self.first : self.after + 1])[-1])) / (2 * np.pi)

    def strand(self, turn: Callable[[float], float]) -> Strand:
        """The chords that wind, cut into turns; turn: as of `cut`."""
        return cut(self.vertices[self.first : self.after + 1], self.piece[self.first : self.after], turn)


@lru_cache(maxsize=_KEPT)
def turns(conductor: Conductor) -> Turns:
    """Turns about the origin of every layer; leads are none: see `leads`.

    Raises ValueError where no piece winds about the origin.
    """
    return _wound(conductor, equal_turns)


@lru_cache(maxsize=_KEPT)
def turns_and_parts(conductor: Conductor) -> Turns:
    """Full turns of every layer, and the part of one that is left: what is beside each part of the others.

    The part has length, radius and fraction of the whole turn it would be; shift is nan at stations that it
    does not reach, and shares are those of full turns. Raises ValueError as `turns` does.
    """
    return _wound(conductor, full_turns)


def _wound(conductor: Conductor, turn: Callable[[float], float]) -> Turns:
    runs = [run for run in _runs(conductor) if run.after > run.first]
    if not runs:
        raise ValueError("no piece of the conductor winds about the origin")
    strands = [run.strand(turn) for run in runs]
    rays = stations(strands, conductor.sweep == 0.0)
    met = [crossings(strand, rays) for strand in strands]
    measures = [
        _whole(_measures(conductor, each), each, seen) for each, seen in zip(strands, met, strict=True)
    ]
    radius, length, fraction, z, width, thickness = np.hstack(measures)
    points, distance, along, reached, late = (
        np.concatenate([getattr(each, name) for each in met], axis=1)
        for name in ("points", "distance", "along", "reached", "late")
    )
    beyond = beyond_corner(along, rays.along)
    spiral = np.repeat(np.arange(len(met)), [strand.turns for strand in strands])
    shift = shifts(np.where(beyond, np.nan, distance - radius), rays.side, late, spiral)
    return Turns(
        radius=radius,
        length=length,
        fraction=fraction,
        z=z,
        width=width,
        thickness=thickness,
        piece=np.concatenate([pieces(strand) for strand in strands]),
        points=np.where(beyond[..., None], np.nan, points),
        share=rays.share,
        shift=np.where(reached, shift, np.nan),
    )


def _whole(measures: Floats, strand: Strand, met: Crossings) -> Floats:
    """The measures, radius, length and fraction of the last turn, if but part of one, those of the whole."""
    if not strand.last_in_part:
        return measures
    radius, length, fraction = measures[:3]
    if strand.turns == 1:
        length[-1] /= abs(fraction[-1])
    else:
        pitch = np.nanmedian(met.distance[:, -1] - met.distance[:, -2])
        radius[-1] = radius[-2] + pitch
        length[-1] = length[-2] * radius[-1] / radius[-2]
    fraction[-1] = np.sign(fraction[-1])
    return measures


def leads(conductor: Conductor) -> Chords:
    """What runs to the turns and away from them, or round them for less than half a turn; perhaps none."""
    runs = _runs(conductor)
    beside = [np.delete(np.arange(len(run.piece)), slice(run.first, run.after)) for run in runs]
    return Chords(
        start=np.concatenate([run.vertices[some] for run, some in zip(runs, beside, strict=True)]),
        end=np.concatenate([run.vertices[some + 1] for run, some in zip(runs, beside, strict=True)]),
        piece=np.concatenate([run.piece[some] for run, some in zip(runs, beside, strict=True)]),
    )


@lru_cache(maxsize=_KEPT)
def sides(conductor: Conductor) -> Sides:
    """All pieces as chords."""
    parts = _joined(conductor)
    return _chained([(conductor.z[pieces[0]], *_chords(conductor, pieces)) for pieces in parts])


def sides_beside_turns(conductor: Conductor, rings: NDArray[np.bool_]) -> Sides:
    """As chords, the leads and of `turns_and_parts` those that are not in rings (turns,)."""
    chains, counted = [], 0
    for run in _runs(conductor):
        vertices, piece = run.vertices, run.piece
        if run.after > run.first:
            strand = run.strand(full_turns)
            ring = rings[counted : counted + strand.turns][strand.turn]
            counted += strand.turns
            vertices = np.concatenate([vertices[: run.first], strand.vertices, vertices[run.after + 1 :]])
            wound = np.where(ring, -1, strand.piece)
            piece = np.concatenate([piece[: run.first], wound, piece[run.after :]])
        chains.append((conductor.z[run.piece[0]], vertices, piece))
    return _without_idle(_chained(chains))


def _without_idle(known: Sides) -> Sides:
    """Without vertices between steps of no piece."""
    used = np.append(known.piece, -1) >= 0
    kept = np.flatnonzero(used | np.append(False, used[:-1]))
    if not len(kept):
        kept = np.zeros(1, dtype=np.int64)
    return Sides(vertices=known.vertices[kept], z=known.z[kept], piece=known.piece[kept[:-1]])


def _chained(chains: Sequence[tuple[float, Floats, NDArray[np.int64]]]) -> Sides:
    """Chains, each of its height m, vertices (k + 1, 2) m and the pieces (k,) of its steps, in a row."""
    return Sides(
        vertices=np.concatenate([vertices for _, vertices, _ in chains]),
        z=np.repeat([z for z, _, _ in chains], [len(vertices) for _, vertices, _ in chains]),
        piece=np.concatenate([np.append(piece, -1) for _, _, piece in chains])[:-1],
    )


def piece_lengths(conductor: Conductor) -> Floats:
    """Length (n,) m of each piece's centre line."""
    chord = np.linalg.norm(conductor.end - conductor.start, axis=1)
    half = 0.5 * np.abs(conductor.sweep)
    radius = np.linalg.norm(conductor.start - conductor.centre, axis=1)
    return np.asarray(np.where(half > 0.0, 2.0 * half * np.nan_to_num(radius), chord))


def is_round(conductor: Conductor) -> bool:
    """Whether arcs make up nearly all of the conductor's length."""
    length = piece_lengths(conductor)
    return bool(length[conductor.sweep == 0.0].sum() < 0.2 * length.sum())


def is_stretched(conductor: Conductor) -> bool:
    """Whether turns are longer for their area than circles where they are round, than squares where not."""
    winding = turns(conductor)
    longer = winding.length / (2 * np.pi * winding.radius * np.abs(winding.fraction))
    return bool(longer.mean() > (_OVAL if is_round(conductor) else _OBLONG))


def _joined(conductor: Conductor) -> list[NDArray[np.int64]]:
    """Pieces of one layer that follow one another without a gap."""
    gap = np.linalg.norm(conductor.start[1:] - conductor.end[:-1], axis=1) > _GAP
    breaks = np.flatnonzero(gap | (np.diff(conductor.layer) != 0)) + 1
    return np.split(np.arange(len(conductor.layer)), breaks)


@lru_cache(maxsize=_KEPT)
def _runs(conductor: Conductor) -> tuple[_Run, ...]:
    """All chords; a run that winds for less than half a turn, as a lead does, winds not at all."""
    runs = [_run(conductor, pieces) for pieces in _joined(conductor)]
    least = min(_LEAST_WOUND, max(run.wound for run in runs))
    return tuple(run if run.wound >= least else replace(run, first=0, after=0) for run in runs)


def _run(conductor: Conductor, pieces: NDArray[np.int64]) -> _Run:
    vertices, piece = _chords(conductor, pieces)
    middle, step = 0.5 * (vertices[1:] + vertices[:-1]), np.diff(vertices, axis=0)
    swept = cross(middle, step)
    # A lead that stands beside a corner runs steeply round the origin too, but against the winding. The sense
    # is that of the angle: a lead of metres sweeps more area than the winding.
    swept, whole = swept * np.sign(swept_angle(vertices)[-1]), np.hypot(*middle.T) * np.hypot(*step.T)
    winds = _with_bends(swept > _LEAD_SLOPE * whole, swept > _BEND_SLOPE * whole, step)
    first, after = _longest_run(winds, np.hypot(*step.T)) if winds.any() else (0, 0)
    return _Run(vertices=vertices, piece=piece, first=first, after=after)


def _with_bends(winds: NDArray[np.bool_], may: NDArray[np.bool_], step: Floats) -> NDArray[np.bool_]:
    """With the chords (n,) between winding ones that run steeply round the origin, as the ends of a hollow
    side do, but go on smoothly into the winding at an end; a stub to a lead turns off at both."""
    heading = np.arctan2(step[:, 1], step[:, 0])
    smooth = np.abs(np.angle(np.exp(1j * np.diff(heading)))) < _SMOOTH
    edges = np.flatnonzero(np.diff(winds.astype(np.int64)))
    found = winds.copy()
    for before, last in pairwise(edges):
        between = slice(before + 1, last + 1)
        if not winds[before + 1] and may[between].all() and (smooth[before] or smooth[last]):
            found[between] = True
    return found


def _longest_run(winds: NDArray[np.bool_], length: Floats) -> tuple[int, int]:
    """First, and one after the last, of the chords that wind in a row; a stub beyond a lead is none."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], winds, [False]]).astype(np.int64)))
    runs = [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return max(runs, key=lambda run: float(length[run[0] : run[1]].sum()))


def _chords(conductor: Conductor, pieces: NDArray[np.int64]) -> tuple[Floats, NDArray[np.int64]]:
    """Vertices and each chord's piece; those inside an arc stand off it so that sectors keep their area."""
    count = np.maximum(1, np.ceil(np.abs(conductor.sweep[pieces]) / _ARC_STEP)).astype(np.int64)
    owner = np.repeat(pieces, count)
    number = np.arange(1, len(owner) + 1) - np.repeat(np.cumsum(count) - count, count)
    inside = np.flatnonzero(number < np.repeat(count, count))
    arc = owner[inside]
    step = conductor.sweep[arc] / np.repeat(count, count)[inside]
    spoke = (conductor.start - conductor.centre)[arc] * np.sqrt(np.abs(step) / np.sin(np.abs(step)))[:, None]
    angle = (step * number[inside])[:, None]
    across = np.stack([-spoke[:, 1], spoke[:, 0]], axis=1)
    ends = conductor.end[owner]
    ends[inside] = conductor.centre[arc] + np.cos(angle) * spoke + np.sin(angle) * across
    return np.vstack([conductor.start[pieces[:1]], ends]), owner


def _measures(conductor: Conductor, strand: Strand) -> Floats:
    """Rows (6, turns): radius, length, fraction, z, width, thickness."""
    step = np.diff(strand.vertices, axis=0)
    length = np.hypot(*step.T)

    def total(values: Floats) -> Floats:
        return np.bincount(strand.turn, values).astype(np.float64)

    whole = total(length)
    area = total(0.5 * cross(strand.vertices[:-1], strand.vertices[1:]))
    means = [total(length * column[strand.piece]) / whole for column in _section(conductor)]
    return np.vstack([2 * np.abs(area) / whole, whole, total(np.diff(strand.swept)) / (2 * np.pi), *means])


def _section(conductor: Conductor) -> tuple[Floats, Floats, Floats]:
    return conductor.z, conductor.width, conductor.thickness
