"""Mutual inductances of round turns with one another and with straight strips."""

import numpy as np

from coilgen.physics.coaxial_circles import rings_mutual_inductance
from coilgen.physics.conductor import Floats
from coilgen.physics.mitred_strips import Integers, Strips
from coilgen.physics.round_turns import RoundTurns
from coilgen.physics.straight_filaments import MU0_OVER_4PI

PARTS = 2
"""Concentric parts of each turn's width."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def turns_inductance(turns: RoundTurns, one: Integers, other: Integers) -> float:
    """Mutual inductance of two layers' turns (row numbers), in the sense of their currents, H.

    In each direction from the axis two turns count as circles of their radii there (J. C. Maxwell, Treatise,
    art. 701), with the exact geometric mean distance of their sections. The radial part of the current, drift
    over radius times the rest, is linked by the same integral: it adds drift_a drift_b / (radius_a radius_b).
    """
    a, b = np.repeat(one, PARTS)[:, None], np.repeat(other, PARTS)
    radius_a, radius_b = _parts(turns, one)[:, None, :], _parts(turns, other)[None, :, :]
    circles = rings_mutual_inductance(
        radius_a,
        radius_b,
        (turns.z[a] - turns.z[b])[..., None],
        (turns.width[a][..., None] / PARTS, turns.thickness[a][..., None]),
        (turns.width[b][..., None] / PARTS, turns.thickness[b][..., None]),
    )
    radial = (turns.drift[a] * turns.drift[b])[..., None] / (radius_a * radius_b)
    sense = (turns.sense[a] * turns.sense[b])[..., None]
    linked = np.sum((sense + radial) * circles) / (PARTS**2 * circles.shape[2])
    return float(linked) + _seams(turns, one, other)


def _parts(turns: RoundTurns, rows: Integers) -> Floats:
    """Radii of the concentric parts of each turn's width, (PARTS * rows, directions) m."""
    shift = ((np.arange(PARTS) + 0.5) / PARTS - 0.5) * turns.width[rows, None]
    return np.asarray((turns.radius[rows, None, :] + shift[..., None]).reshape(-1, turns.radius.shape[1]))


def _seams(turns: RoundTurns, one: Integers, other: Integers) -> float:
    """What closed turns count too much where each begins, a pitch beside its own end, H.

    Two strips that meet end to end a lateral distance s apart share mu0/4pi s less than two in line: there
    the current goes on with the neighbouring turn, not with itself.
    """
    seams = np.unique(np.concatenate([_seam_numbers(turns, one), _seam_numbers(turns, other)]))
    before_a, after_a = np.moveaxis(turns.edge[one][:, None, seams, :], 3, 0)
    before_b, after_b = np.moveaxis(turns.edge[other][None, :, seams, :], 3, 0)
    width = 0.5 * (turns.width[one][:, None] + turns.width[other])
    rise2 = np.square(turns.z[one][:, None] - turns.z[other]) + np.square(width / 3.0)

    def apart(a: Floats, b: Floats) -> Floats:
        return np.asarray(np.sqrt(np.square(a - b) + rise2[..., None]))

    met = apart(before_a, after_b) + apart(after_a, before_b)
    counted = apart(before_a, before_b) + apart(after_a, after_b)
    sense = turns.sense[one][:, None] * turns.sense[other]
    return float(-MU0_OVER_4PI * np.sum(sense[..., None] * (met - counted)))


def _seam_numbers(turns: RoundTurns, rows: Integers) -> Integers:
    """Numbers of the directions in which these turns' radius jumps; of two equal directions the first."""
    edge = turns.edge[rows]
    jumps = np.flatnonzero(np.abs(edge[..., 1] - edge[..., 0]).max(axis=0) > 1e-9)
    return jumps[:1]


def turns_with_strips(turns: RoundTurns, strips: Strips) -> Floats:
    """Mutual inductance of every turn with every strip, (turns, strips) H.

    The circle's vector potential, M(a, r) / (2 pi r) with the circles' mutual inductance, along the strip.
    """
    if len(strips) == 0 or len(turns) == 0:
        return np.zeros((len(turns), len(strips)))
    step = strips.end - strips.start
    point = strips.start - turns.axis + step * 0.5 * (_NODES[:, None] + 1.0)
    radius = np.maximum(np.abs(point), 1e-9)
    around = (point.conj() * step).imag / radius**2 * _WEIGHTS[:, None] / (4.0 * np.pi)
    linked = rings_mutual_inductance(
        turns.radius.mean(axis=1)[:, None, None],
        radius,
        turns.z[:, None, None] - strips.z,
        (turns.width[:, None, None], turns.thickness[:, None, None]),
        (strips.width, strips.thickness),
    )
    return np.asarray(turns.sense[:, None] * np.einsum("ijk,jk->ik", linked, around))
