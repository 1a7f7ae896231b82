"""Direct-current resistance of flat strips: straights, arcs, bends, plated barrels."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from coilgen.physics.base.conductor import Conductor, Floats


def path_squares(conductor: Conductor) -> Floats:
    """Squares of each piece, (n,): resistance is resistivity/thickness times their sum less the bends' loss.

    Straight: length/width. Arc: |sweep| / ln(outer radius / inner radius), the exact radial current spread.
    ValueError when an arc's inner edge would have no radius.
    """
    straight = np.isnan(conductor.centre[:, 0])
    length = np.hypot(*(conductor.end - conductor.start).T)
    radius = np.hypot(*np.where(straight[:, None], 1.0, conductor.start - conductor.centre).T)
    half = conductor.width / 2
    inner = np.where(straight, 1.0, radius - half)
    if np.any(inner <= 0):
        raise ValueError("an arc's inner edge has no radius: the trace is wider than the arc's diameter")
    outer = np.where(straight, np.e, radius + half)
    return np.where(straight, length / conductor.width, np.abs(conductor.sweep) / np.log(outer / inner))


def bend_loss(turning: ArrayLike) -> Floats:
    """Squares by which a sharp bend of a strip falls short of its centre line's length over width.

    turning: angle between the two sides' headings, rad, below pi. Conformal map of the bend:
    tan(a/2) - (2/pi) [psi((1 + a/pi)/2) - psi(1/2)], psi the digamma function; a right angle leaves 0.55873
    of the corner's square (Hall, Thin Solid Films 1, 1967).

    >>> float(np.round(1 - bend_loss(np.pi / 2), 5))
    0.55873
    """
    angle = np.abs(np.asarray(turning, dtype=np.float64))
    half = np.asarray(0.5)
    loss: Floats = np.tan(angle / 2) - (2 / np.pi) * (_digamma((1 + angle / np.pi) / 2) - _digamma(half))
    return loss


def _digamma(x: Floats) -> Floats:
    """Of x > 0: up by eight steps of 1/x, there the asymptotic series, good to 1e-14.

    M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 6.3.5 and 6.3.18.
    """
    high = x + 8
    inverse = 1 / high**2
    series = inverse * np.polyval(_ASYMPTOTIC, inverse)
    return np.asarray(np.log(high) - 0.5 / high - series - sum(1 / (x + k) for k in range(8)))


_ASYMPTOTIC = (-691 / 32760, 1 / 132, -1 / 240, 1 / 252, -1 / 120, 1 / 12)


def bends(conductor: Conductor) -> Floats:
    """Angles between successive pieces that meet on one layer, (n - 1,) rad; 0 where they do not meet."""
    leave, arrive = _headings(conductor)
    before, after = arrive[:-1], leave[1:]
    meet = np.hypot(*(conductor.start[1:] - conductor.end[:-1]).T) < 1e-9
    meet &= conductor.layer[1:] == conductor.layer[:-1]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    dot = np.sum(before * after, axis=1)
    return np.where(meet, np.abs(np.arctan2(cross, dot)), 0.0)


def _headings(conductor: Conductor) -> tuple[Floats, Floats]:
    """Unit directions of travel at each piece's start and end, (n, 2) each."""
    straight = np.isnan(conductor.centre[:, 0])
    along = conductor.end - conductor.start
    side = np.sign(conductor.sweep)[:, None] * np.array([-1.0, 1.0])
    leave = np.where(straight[:, None], along, side * (conductor.start - conductor.centre)[:, ::-1])
    arrive = np.where(straight[:, None], along, side * (conductor.end - conductor.centre)[:, ::-1])
    return leave / np.hypot(*leave.T)[:, None], arrive / np.hypot(*arrive.T)[:, None]


def trace_resistance(conductor: Conductor, resistivity: float) -> float:
    """Direct-current resistance of all pieces with their bends, ohm; resistivity in ohm m.

    A straight strip is exact; so is an arc between straights of its own width; a bend is exact when its
    sides are longer than about one width.
    """
    sheet = resistivity / conductor.thickness
    pieces = float(np.sum(sheet * path_squares(conductor)))
    return pieces - float(np.sum(sheet[1:] * bend_loss(bends(conductor))))


def barrel_resistance(length: ArrayLike, drill: ArrayLike, plating: float, resistivity: float) -> Floats:
    """Resistance of plated barrels, ohm: length that carries the current, drilled diameter, wall, all m.

    resistivity length / (pi (drill - plating) plating), the wall standing inside the drilled hole.
    """
    wall = np.pi * (np.asarray(drill) - plating) * plating
    resistance: Floats = resistivity * np.asarray(length) / wall
    return resistance


def ladder_resistance(
    before: Sequence[float], after: Sequence[float], rungs: Sequence[float], *, back: bool
) -> float:
    """Resistance of two strips of k - 1 pieces each, ohm, that k barrels join at the pieces' ends, ohm.

    The current comes in on the strip before at the first barrel, and leaves on the strip after at the last
    one, or at the first where that strip goes back. Nodal equations.

    >>> ladder_resistance([1.0], [1.0], [1.0, 1.0], back=False)
    1.0
    >>> ladder_resistance([1.0], [1.0], [1.0, 1.0], back=True)
    0.75
    """
    count = len(rungs)
    edges = [(k, k + 1, ohm) for k, ohm in enumerate(before)]
    edges += [(count + k, count + k + 1, ohm) for k, ohm in enumerate(after)]
    edges += [(k, count + k, ohm) for k, ohm in enumerate(rungs)]
    out = count if back else 2 * count - 1
    matrix = np.zeros((2 * count, 2 * count))
    for one, other, ohm in edges:
        matrix[np.ix_((one, other), (one, other))] += np.array([[1.0, -1.0], [-1.0, 1.0]]) / ohm
    kept = [k for k in range(2 * count) if k != out]
    return float(np.linalg.inv(matrix[np.ix_(kept, kept)])[0, 0])
