"""A round winding as whole coaxial turns and the rest of its pieces."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.inductance.mitred_strips import JOINT, Integers, Points

CONCENTRIC = 0.2
"""An arc counts as concentric when its centre is within this share of its radius of the axis."""
STEPS = 32
"""Equal angles of a turn at which its radius is kept."""
SLIVER = 0.01
"""Parts of a turn smaller than this are not left over: the whole turns' angle is a little more or less."""
WHOLE = 2.0 * np.pi
"""rad, a whole turn."""
_SAMPLES = 16

Share = tuple[int, float, float]
"""Piece number, and where a part of it begins and ends as shares of its sweep."""


@dataclass(frozen=True, kw_only=True)
class RoundTurns:
    """Turns about one axis, one a row, SI units.

    axis: complex m, x + iy. profile: (n, STEPS + 1) m, radius at equal angles from the turn's begin to its
    end, along the current. begin: (n,) rad, direction from the axis in which it begins and ends. extent:
    (n,), its true angle about the axis over a whole circle, within SLIVER of 1. width, thickness, z: (n,) m.
    layer: (n,) int. sense: (n,) +1 for a counter-clockwise current, -1 for a clockwise one.
    """

    axis: complex
    profile: Floats
    begin: Floats
    extent: Floats
    width: Floats
    thickness: Floats
    z: Floats
    layer: Integers
    sense: Floats

    def __len__(self) -> int:
        return len(self.width)

    @property
    def drift(self) -> Floats:
        """Growth of the radius for each radian along the current, (n,) m."""
        return np.asarray((self.profile[:, -1] - self.profile[:, 0]) / (WHOLE))

    @property
    def mean_radius(self) -> Floats:
        """Radius averaged over the turn's angle, (n,) m."""
        return np.asarray(0.5 * (self.profile[:, 1:] + self.profile[:, :-1]).mean(axis=1))

    def radii(self, row: Integers, direction: Floats) -> Floats:
        """Radius of turns (row numbers) in directions from the axis, rad; m, broadcast together."""
        since = np.mod(self.sense[row] * (direction - self.begin[row]), WHOLE) * (STEPS / (WHOLE))
        step = np.minimum(since.astype(np.int64), STEPS - 1)
        before, after = self.profile[row, step], self.profile[row, step + 1]
        return np.asarray(before + (since - step) * (after - before))


@dataclass(frozen=True, kw_only=True)
class _Run:
    """A layer's run of arcs: samples of angle swept and radius; where whole turns begin, and how many."""

    pieces: Integers
    angle: Floats
    radius: Floats
    first: float
    count: int
    extent: float
    begin: float
    sense: float


def round_turns(conductor: Conductor) -> tuple[RoundTurns, Conductor]:
    """The whole turns of each layer's longest run of arcs about one axis, and the rest of the conductor.

    The axis is the mean of the arcs' centres. The part of a turn at a run's inner end is left with the rest.
    """
    axis = _axis(conductor)
    found = [_longest_run(conductor, axis, int(layer)) for layer in np.unique(conductor.layer)]
    runs = [_run(conductor, axis, pieces) for pieces in found if len(pieces)]
    whole = [run for run in runs if run.count > 0]
    kept = np.ones(len(conductor.sweep), dtype=bool)
    for run in whole:
        kept[run.pieces] = False
    return _collected(conductor, axis, whole), _rest(
        conductor, kept, [s for r in whole for s in _left_over(r)]
    )


def _axis(conductor: Conductor) -> complex:
    """Mean of the arcs' centres, weighted with their angles."""
    arc = conductor.sweep != 0.0
    if not arc.any():
        return 0j
    x, y = np.average(conductor.centre[arc], axis=0, weights=np.abs(conductor.sweep[arc]))
    return complex(x, y)


def _longest_run(conductor: Conductor, axis: complex, layer: int) -> Integers:
    """Pieces of the longest run of joined arcs of one sense and width about the axis in one layer."""
    fits = _concentric(conductor, axis) & (conductor.layer == layer)
    apart = np.hypot(*(conductor.start[1:] - conductor.end[:-1]).T) > JOINT
    turned = np.sign(conductor.sweep[1:]) != np.sign(conductor.sweep[:-1])
    widened = np.abs(np.diff(conductor.width)) > 1e-3 * conductor.width[1:]
    breaks = apart | turned | widened | (fits[1:] != fits[:-1])
    label = np.cumsum(np.concatenate([[0], breaks])).astype(np.int64)
    if not fits.any():
        return np.zeros(0, dtype=np.int64)
    longest = np.bincount(label[fits], np.abs(conductor.sweep[fits])).argmax()
    return np.flatnonzero(label == longest)


def _concentric(conductor: Conductor, axis: complex) -> NDArray[np.bool_]:
    arc = conductor.sweep != 0.0
    centre = np.where(arc[:, None], conductor.centre, 0.0)
    off = np.hypot(centre[:, 0] - axis.real, centre[:, 1] - axis.imag)
    return np.asarray(arc & (off < CONCENTRIC * np.hypot(*(conductor.start - centre).T)))


def _run(conductor: Conductor, axis: complex, pieces: Integers) -> _Run:
    points = _sampled(conductor, pieces) - axis
    angle = np.abs(np.unwrap(np.angle(points)) - np.angle(points[0]))
    count = int(angle[-1] / WHOLE + SLIVER)
    left = float(angle[-1]) - WHOLE * count
    extent = 1.0
    if abs(left) < SLIVER * WHOLE and count > 0:
        left, extent = 0.0, float(angle[-1]) / (WHOLE * count)
        angle = angle / extent
    first = left if abs(points[-1]) >= abs(points[0]) else 0.0
    start = complex(np.interp(first, angle, points.real), np.interp(first, angle, points.imag))
    return _Run(
        pieces=pieces,
        angle=angle,
        radius=np.abs(points),
        first=first,
        count=count,
        extent=extent,
        begin=float(np.angle(start)),
        sense=float(np.sign(conductor.sweep[pieces[0]])),
    )


def _sampled(conductor: Conductor, pieces: Integers) -> Points:
    """Points along a run, _SAMPLES a piece and the last end."""
    points = _on_arcs(conductor, pieces[:, None], np.arange(_SAMPLES) / _SAMPLES)
    return np.append(points.ravel(), _on_arcs(conductor, pieces[-1:], np.ones(1)))


def _on_arcs(conductor: Conductor, piece: Integers, share: Floats) -> Points:
    """Points at shares of arcs' sweeps, broadcast together, x + iy."""
    start, centre = (ends[piece, 0] + 1j * ends[piece, 1] for ends in (conductor.start, conductor.centre))
    return np.asarray(centre + (start - centre) * np.exp(1j * conductor.sweep[piece] * share))


def _profiles(run: _Run) -> Floats:
    """Radius of each whole turn at equal angles along the current, (count, STEPS + 1) m."""
    grid = WHOLE * (np.arange(run.count)[:, None] + np.arange(STEPS + 1) / STEPS)
    return np.interp(run.first + grid, run.angle, run.radius)


def _collected(conductor: Conductor, axis: complex, runs: list[_Run]) -> RoundTurns:
    counts = [run.count for run in runs]
    piece = np.repeat([run.pieces[0] for run in runs], counts).astype(np.int64)
    return RoundTurns(
        axis=axis,
        profile=np.concatenate([np.zeros((0, STEPS + 1)), *(_profiles(run) for run in runs)]),
        begin=np.repeat([run.begin for run in runs], counts),
        extent=np.repeat([run.extent for run in runs], counts),
        width=conductor.width[piece],
        thickness=conductor.thickness[piece],
        z=conductor.z[piece],
        layer=conductor.layer[piece],
        sense=np.repeat([run.sense for run in runs], counts),
    )


def _left_over(run: _Run) -> list[Share]:
    """The shares of a run's pieces before and after its whole turns; slivers are left out."""
    places = np.arange(len(run.angle)) / _SAMPLES
    begin, end = np.interp([run.first, run.first + WHOLE * run.count], run.angle, places).tolist()
    shares = [(k, 0.0, min(begin - n, 1.0)) for n, k in enumerate(run.pieces.tolist())]
    shares += [(k, max(end - n, 0.0), 1.0) for n, k in enumerate(run.pieces.tolist())]
    return [(k, a, b) for k, a, b in shares if b - a > 1e-4]


def _rest(conductor: Conductor, kept: NDArray[np.bool_], shares: list[Share]) -> Conductor:
    """The kept pieces and the shares of others, in order along the current."""
    chosen = sorted([(int(k), 0.0, 1.0) for k in np.flatnonzero(kept)] + shares)
    piece = np.array([k for k, _, _ in chosen], dtype=np.int64)
    start, end = conductor.start[piece].copy(), conductor.end[piece].copy()
    for row, (k, first, last) in enumerate(chosen):
        if (first, last) != (0.0, 1.0):
            ends = _on_arcs(conductor, np.array([k]), np.array([first, last]))
            start[row], end[row] = np.stack([ends.real, ends.imag], axis=1)
    return Conductor(
        start=start,
        end=end,
        centre=conductor.centre[piece],
        sweep=conductor.sweep[piece] * np.array([last - first for _, first, last in chosen]),
        width=conductor.width[piece],
        thickness=conductor.thickness[piece],
        z=conductor.z[piece],
        layer=conductor.layer[piece],
    )
