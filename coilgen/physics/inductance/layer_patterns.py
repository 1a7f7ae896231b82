"""Strips that recur from layer to layer, turned about the origin or mirrored: to be computed once."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.inductance.mitred_strips import Integers, Strips

_SAME = 1e-9
_SAME_SLOPE = 1e-6
LEAST_SHARE = 0.5
"""Least share of the first layer's strips found in another for the two to share a pattern."""


@dataclass(frozen=True, kw_only=True)
class Motion:
    """The first layer's plane onto another's: p -> turn * p, or turn * conj(p) when mirrored."""

    turn: complex
    mirrored: bool

    def relative(self, other: "Motion") -> "Motion":
        """The motion from this layer's place in the pattern's plane to the other's."""
        turn = self.turn.conjugate() * other.turn
        if self.mirrored:
            turn = turn.conjugate()
        return Motion(turn=turn, mirrored=self.mirrored != other.mirrored)

    @property
    def own_inverse(self) -> bool:
        """Whether the motion done twice leaves everything in place."""
        return self.mirrored or abs(self.turn.imag) < 1e-9


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """Strips common to several layers.

    rows: for each layer that has it, row numbers in the order of the first layer. motion: of each such layer.
    """

    rows: dict[int, Integers]
    motion: dict[int, Motion]


def common_pattern(strips: Strips) -> Pattern:
    """The strips of the first layer that recur in others under a turn about the origin or a mirroring.

    A mirrored layer's current runs the other way along its strips, as the turns' sense stays the same.
    Layers that share too little, or whose height or thickness varies, are left out. Every kept strip is
    equal to 1 nm, in width and mitres too; thickness may differ from layer to layer.
    """
    layers = [int(k) for k in np.unique(strips.layer)]
    rows = {k: np.flatnonzero(strips.layer == k) for k in layers}
    first = rows[layers[0]]
    level = {k: max(np.ptp(strips.z[rows[k]]), np.ptp(strips.thickness[rows[k]])) < _SAME for k in layers}
    found: dict[int, tuple[Motion, Integers]] = {}
    for layer in layers:
        match = _best_match(strips, first, rows[layer])
        if level[layer] and level[layers[0]] and match is not None:
            found[layer] = match
    shared = np.ones(len(first), dtype=bool)
    for _, partner in found.values():
        shared &= partner >= 0
    return Pattern(
        rows={k: partner[shared] for k, (_, partner) in found.items()},
        motion={k: motion for k, (motion, _) in found.items()},
    )


def _best_match(strips: Strips, first: Integers, rows: Integers) -> tuple[Motion, Integers] | None:
    """The motion under which most strips recur; for each of the first layer's strips its partner or -1."""
    candidates = [
        _matched(strips, first, rows, int(k), mirrored)
        for mirrored in (False, True)
        for k in _alike(strips, first, rows, mirrored)
    ]
    best = max(candidates, key=lambda c: int((c[1] >= 0).sum()), default=None)
    if best is None or (best[1] >= 0).sum() < LEAST_SHARE * len(first):
        return None
    return best


def _alike(strips: Strips, first: Integers, rows: Integers, mirrored: bool) -> Integers:
    """Strips of the first layer whose ends are as far from the origin as the other's middle strip's."""
    middle = strips.take(rows[len(rows) // 2 : len(rows) // 2 + 1])
    ends = (middle.end, middle.start) if mirrored else (middle.start, middle.end)
    near = np.abs(np.abs(strips.start[first]) - np.abs(ends[0])) < _SAME
    return np.flatnonzero(near & (np.abs(np.abs(strips.end[first]) - np.abs(ends[1])) < _SAME))


def _matched(
    strips: Strips, first: Integers, rows: Integers, place: int, mirrored: bool
) -> tuple[Motion, Integers]:
    """The motion of the first layer's strip at `place` to the other's middle one; partners under it."""
    middle = len(rows) // 2
    order = np.arange(len(first)) - place
    partner = middle - order if mirrored else middle + order
    inside = (partner >= 0) & (partner < len(rows))
    other = strips.take(rows[np.clip(partner, 0, len(rows) - 1)])
    own = strips.take(first)
    start, end = (other.end, other.start) if mirrored else (other.start, other.end)
    slopes = (-other.slope_end, -other.slope_start) if mirrored else (other.slope_start, other.slope_end)
    source = own.start.conj() if mirrored else own.start
    turn = start[place] / source[place]
    motion = Motion(turn=complex(turn / abs(turn)), mirrored=mirrored)
    target = own.end.conj() if mirrored else own.end
    same = inside & _close(motion.turn * source, start) & _close(motion.turn * target, end)
    same &= np.abs(own.width - other.width) < _SAME
    for mine, theirs in zip((own.slope_start, own.slope_end), slopes, strict=True):
        same &= np.abs(mine - theirs) < _SAME_SLOPE
    return motion, np.where(same, rows[np.clip(partner, 0, len(rows) - 1)], -1)


def _close(a: NDArray[np.complex128], b: NDArray[np.complex128]) -> NDArray[np.bool_]:
    return np.asarray(np.abs(a - b) < _SAME)
