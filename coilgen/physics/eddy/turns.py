"""The winding as turns: mean radius, length and height of each, stations along the turns, and the leads."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Conductor, Floats

_ARC_STEP = np.radians(5.0)
_LEAD_SLOPE = 0.5
_LACKING = 0.25
"""Of a turn: a winding lacks up to that of whole turns where its leads begin beside one another."""
_GAP = 1e-9
_STATIONS = 8
_ARC_BETWEEN_STATIONS = np.pi / 4.0
_SLIVER = 0.05
_BEYOND_CORNER = 0.25
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
class _Run:
    """Joined chords of one layer: vertices (m + 1, 2), piece (m,); those from first to after wind."""

    vertices: Floats
    piece: NDArray[np.int64]
    first: int
    after: int

    @property
    def wound(self) -> float:
        """Turns swept by the chords that wind."""
        return abs(float(_swept(self.vertices[self.first : self.after + 1])[-1])) / (2 * np.pi)


@dataclass(frozen=True, kw_only=True)
class _Strand:
    """Joined chords: vertices (m + 1, 2), swept angle (m + 1,) from the start, turn and piece (m,)."""

    vertices: Floats
    swept: Floats
    turn: NDArray[np.int64]
    piece: NDArray[np.int64]


def turns(conductor: Conductor) -> Turns:
    """Turns about the origin of every layer; leads are none: see `leads`.

    Raises ValueError where no piece winds about the origin.
    """
    runs = [run for run in _runs(conductor) if run.after > run.first]
    if not runs:
        raise ValueError("no piece of the conductor winds about the origin")
    strands = [
        _cut(run.vertices[run.first : run.after + 1], run.piece[run.first : run.after]) for run in runs
    ]
    measures = np.hstack([_measures(conductor, strand) for strand in strands])
    angles, share, side = _stations(conductor, _middle(strands))
    radius, length, fraction, z, width, thickness = measures
    points, distance = (
        np.concatenate(parts, axis=1)
        for parts in zip(*(_crossings(strand, angles) for strand in strands), strict=True)
    )
    spiral = np.repeat(np.arange(len(strands)), [int(strand.turn[-1]) + 1 for strand in strands])
    shift = _shift(distance - radius, side, spiral)
    beyond_corner = ~(np.abs(distance - radius - shift) < _BEYOND_CORNER * width)
    return Turns(
        radius=radius,
        length=length,
        fraction=fraction,
        z=z,
        width=width,
        thickness=thickness,
        piece=np.concatenate([_pieces(strand) for strand in strands]),
        points=np.where(beyond_corner[..., None], np.nan, points),
        share=share,
        shift=shift,
    )


def leads(conductor: Conductor) -> Chords:
    """What runs to the turns and away from them, or round them for less than half a turn; perhaps none."""
    runs = _runs(conductor)
    beside = [np.delete(np.arange(len(run.piece)), slice(run.first, run.after)) for run in runs]
    return Chords(
        start=np.concatenate([run.vertices[some] for run, some in zip(runs, beside, strict=True)]),
        end=np.concatenate([run.vertices[some + 1] for run, some in zip(runs, beside, strict=True)]),
        piece=np.concatenate([run.piece[some] for run, some in zip(runs, beside, strict=True)]),
    )


def vertices(conductor: Conductor) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """All pieces as chords: vertices (m, 2) m, their heights (m,) m, and the piece of each step between them.

    The steps (m - 1,) that are gaps and vias are of no piece, -1.
    """
    chords = [(*_chords(conductor, pieces), conductor.z[pieces[0]]) for pieces in _joined(conductor)]
    height = np.repeat([z for _, _, z in chords], [len(points) for points, _, _ in chords])
    piece = np.concatenate([np.append(piece, -1) for _, piece, _ in chords])[:-1]
    return np.vstack([points for points, _, _ in chords]), height, piece


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


def _joined(conductor: Conductor) -> list[NDArray[np.int64]]:
    """Pieces of one layer that follow one another without a gap."""
    gap = np.linalg.norm(conductor.start[1:] - conductor.end[:-1], axis=1) > _GAP
    breaks = np.flatnonzero(gap | (np.diff(conductor.layer) != 0)) + 1
    return np.split(np.arange(len(conductor.layer)), breaks)


def _runs(conductor: Conductor) -> list[_Run]:
    """All chords; a run that winds for less than half a turn, as a lead does, winds not at all."""
    runs = [_run(conductor, pieces) for pieces in _joined(conductor)]
    least = min(_LEAST_WOUND, max(run.wound for run in runs))
    return [run if run.wound >= least else replace(run, first=0, after=0) for run in runs]


def _run(conductor: Conductor, pieces: NDArray[np.int64]) -> _Run:
    vertices, piece = _chords(conductor, pieces)
    middle, step = 0.5 * (vertices[1:] + vertices[:-1]), np.diff(vertices, axis=0)
    swept = _cross(middle, step)
    # A lead that stands beside a corner runs steeply round the origin too, but against the winding. The sense
    # is that of the angle: a lead of metres sweeps more area than the winding.
    winds = swept * np.sign(_swept(vertices)[-1]) > _LEAD_SLOPE * np.hypot(*middle.T) * np.hypot(*step.T)
    first, after = _longest_run(winds, np.hypot(*step.T)) if winds.any() else (0, 0)
    return _Run(vertices=vertices, piece=piece, first=first, after=after)


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


def _cut(vertices: Floats, piece: NDArray[np.int64]) -> _Strand:
    """The chords cut into equal swept angles near a turn: a left-over would lie on its neighbour."""
    swept = _swept(vertices)
    count = max(1, int(abs(swept[-1]) / (2 * np.pi) + _LACKING))
    bounds = swept[-1] * np.arange(1, count) / count
    at = np.searchsorted(np.abs(swept), np.abs(bounds))
    vertices = np.insert(vertices, at, _on_ray(vertices, at, bounds), axis=0)
    swept = np.insert(swept, at, bounds)
    turn = 0.5 * (swept[1:] + swept[:-1]) / (swept[-1] / count)
    # A last piece may turn back from where the one before it reached.
    turn = np.clip(turn, 0, count - 1)
    return _Strand(
        vertices=vertices,
        swept=swept,
        turn=turn.astype(np.int64),
        piece=np.insert(piece, at, piece[np.minimum(at, len(piece)) - 1]),
    )


def _swept(vertices: Floats) -> Floats:
    """Angle (n,) rad that the chords have swept about the origin at each of their vertices (n, 2)."""
    inner = np.einsum("nk,nk->n", vertices[:-1], vertices[1:])
    return np.append(0.0, np.cumsum(np.arctan2(_cross(vertices[:-1], vertices[1:]), inner)))


def _pieces(strand: _Strand) -> NDArray[np.int64]:
    """A piece (turns,) of each turn."""
    return np.asarray(strand.piece[np.searchsorted(strand.turn, np.arange(strand.turn[-1] + 1))])


def _middle(strands: list[_Strand]) -> _Strand:
    """The middle one of those that wind as far as any, but for half a turn."""
    most = max(abs(float(strand.swept[-1])) for strand in strands)
    whole = [strand for strand in strands if abs(strand.swept[-1]) >= most - np.pi]
    return whole[len(whole) // 2]


def _measures(conductor: Conductor, strand: _Strand) -> Floats:
    """Rows (6, turns): radius, length, fraction, z, width, thickness."""
    step = np.diff(strand.vertices, axis=0)
    length = np.hypot(*step.T)

    def total(values: Floats) -> Floats:
        return np.bincount(strand.turn, values).astype(np.float64)

    whole = total(length)
    area = total(0.5 * _cross(strand.vertices[:-1], strand.vertices[1:]))
    means = [total(length * column[strand.piece]) / whole for column in _section(conductor)]
    return np.vstack([2 * np.abs(area) / whole, whole, total(np.diff(strand.swept)) / (2 * np.pi), *means])


def _section(conductor: Conductor) -> tuple[Floats, Floats, Floats]:
    return conductor.z, conductor.width, conductor.thickness


def _stations(conductor: Conductor, strand: _Strand) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Polar angles, shares and sides of stations on a middle turn; on arcs each is a side of its own."""
    chosen = np.flatnonzero(strand.turn == (strand.turn[-1] // 2))
    pieces = [chosen[strand.piece[chosen] == one] for one in dict.fromkeys(strand.piece[chosen].tolist())]
    step = np.diff(strand.vertices, axis=0)
    length = np.array([np.hypot(*step[mine].T).sum() for mine in pieces])
    points, share, side = [], [], []
    for number in np.flatnonzero(length > _SLIVER * length.max()):
        mine = pieces[number]
        straight = len(mine) == 1 and conductor.sweep[strand.piece[mine[0]]] == 0.0
        turned = np.abs(np.diff(strand.swept))[mine].sum()
        count = _STATIONS if straight else int(np.ceil(turned / _ARC_BETWEEN_STATIONS - 1e-6))
        node, weight = np.polynomial.legendre.leggauss(count) if straight else _midpoints(count)
        at = 0.5 * (node + 1.0) * len(mine)
        chord = mine[np.minimum(at.astype(np.int64), len(mine) - 1)]
        points.append(strand.vertices[chord] + (at - chord + mine[0])[:, None] * step[chord])
        share.append(0.5 * weight * length[number])
        side.append(number + (0.0 if straight else 0.25) * node)
    x, y = np.vstack(points).T
    weights = np.concatenate(share)
    return np.arctan2(y, x), weights / weights.sum(), np.unique(np.concatenate(side), return_inverse=True)[1]


def _midpoints(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights of the midpoint rule on -1 ... 1, best for what repeats from turn to turn."""
    return (2.0 * np.arange(count) + 1.0) / count - 1.0, np.full(count, 2.0 / count)


def _shift(excess: Floats, side: NDArray[np.int64], spiral: NDArray[np.int64]) -> Floats:
    """Median excess over the stations of a side and the turns of a spiral, (stations, turns); zero for none.

    The median leaves out stations whose ray meets some turns beyond the corner.
    """
    shift = np.zeros(excess.shape)
    for one in range(int(side.max()) + 1):
        for strand in range(int(spiral.max()) + 1):
            block = np.ix_(side == one, spiral == strand)
            known = excess[block][np.isfinite(excess[block])]
            shift[block] = np.median(known) if len(known) else 0.0
    return shift


def _crossings(strand: _Strand, angles: Floats) -> tuple[Floats, Floats]:
    """Points (stations, turns, 2) where rays at the angles cross the turns nearest to their middles, and the
    distances (stations, turns) of the lines there from the centre."""
    count, total = int(strand.turn[-1]) + 1, strand.swept[-1]
    middle = total * (np.arange(count) + 0.5) / count
    start = np.arctan2(strand.vertices[0, 1], strand.vertices[0, 0])
    wanted = (angles - start)[:, None]
    wanted = wanted + 2 * np.pi * np.round((middle - wanted) / (2 * np.pi))
    along = np.abs(wanted) * np.sign(wanted * total)
    at = np.searchsorted(np.abs(strand.swept), along)
    there = (along >= 0.0) & (at < len(strand.swept))
    at = np.where(there, np.maximum(at, 1), 1)
    points = np.where(there[..., None], _on_ray(strand.vertices, at, wanted), np.nan)
    step = strand.vertices[at] - strand.vertices[at - 1]
    return points, np.abs(_cross(points, step)) / np.hypot(step[..., 0], step[..., 1])


def _on_ray(vertices: Floats, at: NDArray[np.int64], swept: Floats) -> Floats:
    """Points of the chords that end in vertices `at` where the angle from the first vertex is `swept`."""
    angle = swept + np.arctan2(vertices[0, 1], vertices[0, 0])
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    before, after = _cross(vertices[at - 1], ray), _cross(vertices[at], ray)
    weight = (before / (before - after))[..., None]
    return np.asarray((1 - weight) * vertices[at - 1] + weight * vertices[at])


def _cross(a: Floats, b: Floats) -> Floats:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
