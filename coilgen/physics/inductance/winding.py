"""Self and mutual inductance of a winding's layers at uniform current, every piece with every other."""

from collections.abc import Iterator, Mapping
from functools import cached_property

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.inductance.band import STRIPS_ERROR, crowding, rings_error, vias
from coilgen.physics.inductance.layer_patterns import Motion, Pattern, common_pattern
from coilgen.physics.inductance.mitred_strips import Integers, Strips, mitred_strips
from coilgen.physics.inductance.rings import turns_inductance, turns_with_strips
from coilgen.physics.inductance.round_turns import WHOLE, RoundTurns, round_turns
from coilgen.physics.inductance.strip_pairs import pair_inductances

PAIRS_AT_ONCE = 40_000
ROUND_SHARE = 0.8
"""Least share of the length in whole round turns for a winding to be taken as rings."""
_DECIMALS = 12


@dataclass(frozen=True, kw_only=True)
class LayerInductances:
    """What a winding's layers induce in one another, for the current of the whole winding.

    matrix: (L, L) H, symmetric, self inductances on the diagonal. layers: their numbers, from the top.
    rings: how many whole turns were taken as such; 0 where all was taken as mitred strips.
    """

    matrix: Floats
    layers: tuple[int, ...]
    rings: int
    conductor: Conductor

    @property
    def method(self) -> str:
        """How they were told."""
        return "rings" if self.rings else "mitred strips"

    @cached_property
    def relative_error(self) -> float:
        """Expected of the sum against the real winding's at direct current.

        Of the method, of the current's crowding to the inside of bends, of the vias left out.
        """
        total, strips = max(abs(self.total), 1e-30), mitred_strips(self.conductor)
        error = rings_error(self.rings, len(self.layers), total) if self.rings else STRIPS_ERROR
        return error + crowding(strips) + vias(strips) / total

    @property
    def total(self) -> float:
        """Inductance of all layers in series, H."""
        return float(self.matrix.sum())

    def shared(self, shares: Mapping[int, float]) -> float:
        """Inductance, H, where each layer carries its share of the current, by number."""
        each = np.array([shares[layer] for layer in self.layers])
        return float(each @ self.matrix @ each)

    @property
    def coupling(self) -> Floats:
        """Coupling coefficients, (L, L): M_ij / sqrt(L_i L_j)."""
        root = np.sqrt(np.diag(self.matrix))
        return np.asarray(self.matrix / np.outer(root, root))


def layer_inductances(conductor: Conductor) -> LayerInductances:
    """Inductance matrix of a winding's layers at uniform current density, leads included.

    Each piece of strip with each other, Neumann's integral over their lengths, averaged over their widths.
    The current enters vias without their own inductance (about 0.5 nH a millimetre of board). A winding
    that is mostly turns about one axis is taken as rings of each turn's mean radius; anything else as
    straight strips with mitred ends, arcs as chords. Raises ValueError for a conductor without pieces.
    """
    if len(conductor.sweep) == 0:
        raise ValueError("a conductor without pieces has no inductance")
    layers = tuple(int(k) for k in np.unique(conductor.layer))
    turns, rest = round_turns(conductor)
    if _mostly_round(conductor, turns):
        matrix, rings = _by_rings(turns, mitred_strips(rest), layers), len(turns)
    else:
        matrix, rings = _by_strips(mitred_strips(conductor), layers), 0
    return LayerInductances(matrix=matrix, layers=layers, rings=rings, conductor=conductor)


def _mostly_round(conductor: Conductor, turns: RoundTurns) -> bool:
    """Whether whole round turns make up most of the conductor's length."""
    if len(turns) == 0:
        return False
    straight = np.hypot(*(conductor.end - conductor.start).T)
    arc = conductor.sweep != 0.0
    spoke = np.where(arc[:, None], conductor.start - conductor.centre, 0.0)
    length = np.where(arc, np.abs(conductor.sweep) * np.hypot(*spoke.T), straight).sum()
    return float(2.0 * np.pi * turns.mean_radius.sum()) > ROUND_SHARE * float(length)


def _by_rings(turns: RoundTurns, rest: Strips, layers: tuple[int, ...]) -> Floats:
    """Turns with turns, turns with the rest, and the rest with itself, (L, L) H."""
    place = np.searchsorted(layers, turns.layer)
    outward = np.argsort(turns.mean_radius, kind="stable")
    matrix = _turns_matrix(turns, [outward[place[outward] == k] for k in range(len(layers))])
    if len(rest) == 0:
        return matrix
    linked = turns_with_strips(turns, rest)
    across = np.zeros_like(matrix)
    np.add.at(across, (place[:, None], np.searchsorted(layers, rest.layer)), linked)
    everything = np.arange(len(rest))
    return matrix + across + across.T + _pair_sums(rest, everything, everything, layers, True)


def _turns_matrix(turns: RoundTurns, rows: list[Integers]) -> Floats:
    """Mutual inductances of the layers' turns, (L, L) H; equal pairs of layers are computed once.

    rows: each layer's turns from the inside outward.
    """
    known: dict[object, float] = {}
    matrix = np.zeros((len(rows), len(rows)))
    for i, one in enumerate(rows):
        for j, other in enumerate(rows[: i + 1]):
            if len(one) and len(other):
                key, even = _turns_kind(turns, one, other)
                if key not in known:
                    known[key] = turns_inductance(turns, one, other, even)
                matrix[i, j] = matrix[j, i] = known[key]
    return matrix


def _turns_kind(turns: RoundTurns, one: Integers, other: Integers) -> tuple[object, bool]:
    """What is equal for pairs of layers that differ by place, turning or mirroring; whether they are even.

    Even, so that the two may be exchanged turn by turn: one is the other mirrored, or in the same place.
    """
    height = round(abs(float(turns.z[one[0]] - turns.z[other[0]])), _DECIMALS)
    (first, hand_a), (second, hand_b) = _content(turns, one), _content(turns, other)
    ahead = turns.begin[other[0]] - turns.begin[one[0]]
    # Mirroring changes both hands and the angle's sign; exchanging the two layers changes the sign alone.
    angles = [round(float(np.mod(sign * hand_a * ahead + 1e-9, WHOLE)), 8) for sign in (1.0, -1.0)]
    senses = turns.sense[one[0]] * turns.sense[other[0]]
    alike, same_hand = first == second, hand_a == hand_b
    angle = min(angles) if alike and same_hand else angles[0]
    return (first, second, same_hand, angle, height, senses), alike and (not same_hand or angle == 0.0)


def _content(turns: RoundTurns, rows: Integers) -> tuple[bytes, float]:
    """A layer's turns from the inside outward but for their height and begin, and their hand on that way."""
    outward = 1.0 if turns.drift[rows[0]] >= 0.0 else -1.0
    profile = turns.profile[rows, :: int(outward)]
    values = (profile, turns.width[rows], turns.thickness[rows])
    return b"".join(np.round(v, _DECIMALS).tobytes() for v in values), outward * float(turns.sense[rows[0]])


def _by_strips(strips: Strips, layers: tuple[int, ...]) -> Floats:
    """Strips that recur from layer to layer by equal blocks, the others with everything, (L, L) H."""
    pattern = common_pattern(strips)
    matrix = _pattern_matrix(strips, pattern, layers)
    single = np.ones(len(strips), dtype=bool)
    for rows in pattern.rows.values():
        single[rows] = False
    extra, common = np.flatnonzero(single), np.flatnonzero(~single)
    across = _pair_sums(strips, extra, common, layers, False)
    return matrix + across + across.T + _pair_sums(strips, extra, extra, layers, True)


def _pattern_matrix(strips: Strips, pattern: Pattern, layers: tuple[int, ...]) -> Floats:
    """Mutual inductances of the layers' common strips, (L, L) H; a pair alike in motion and height once."""
    known: dict[object, float] = {}
    matrix = np.zeros((len(layers), len(layers)))
    for i, one in pattern.rows.items():
        for j, other in pattern.rows.items():
            if j > i or len(one) == 0:
                continue
            height = round(abs(float(strips.z[one[0]] - strips.z[other[0]])), _DECIMALS)
            motion = pattern.motion[i].relative(pattern.motion[j])
            thickness = sorted(round(float(strips.thickness[r[0]]), _DECIMALS) for r in (one, other))
            key = (_kind(motion), height, *thickness)
            if key not in known:
                known[key] = float(_pair_sums(strips, one, other, layers, motion.own_inverse).sum())
            p, q = layers.index(i), layers.index(j)
            matrix[p, q] = matrix[q, p] = known[key]
    return matrix


def _kind(motion: Motion) -> tuple[bool, complex]:
    """Equal for a motion and its inverse: a mirroring is its own, a turn counts in either sense."""
    turn = motion.turn if motion.mirrored else complex(motion.turn.real, abs(motion.turn.imag))
    return motion.mirrored, complex(round(turn.real, 6) + 0.0, round(turn.imag, 6) + 0.0)


def _pair_sums(strips: Strips, one: Integers, other: Integers, layers: tuple[int, ...], even: bool) -> Floats:
    """Partial inductances of all pairs of two sets of strips (row numbers), summed by layer, (L, L) H.

    even: exchanging the two places of a pair in the sets does not change its inductance, so that half
    suffices.
    """
    count = len(layers)
    total = np.zeros(count * count)
    place = np.searchsorted(layers, strips.layer)
    for i, j in _places(len(one), len(other), even):
        a, b = one[i], other[j]
        weight = np.where(i == j, 0.5, 1.0) if even else 1.0
        total += np.bincount(place[a] * count + place[b], weight * pair_inductances(strips, a, b), count**2)
    matrix = total.reshape(count, count)
    return matrix + matrix.T if even else matrix


def _places(rows: int, columns: int, even: bool) -> Iterator[tuple[Integers, Integers]]:
    """Places of all pairs, some thousands at a time; if `even`, of each two mirrored places only one."""
    height = max(1, PAIRS_AT_ONCE // max(columns, 1))
    for first in range(0, rows, height):
        i, j = np.indices((min(height, rows - first), columns)).reshape(2, -1)
        i = i + first
        kept = i >= j if even else slice(None)
        yield i[kept], j[kept]
