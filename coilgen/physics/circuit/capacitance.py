"""Capacitance of a planar winding between its terminals, by the energy stored between its turns."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass
from coilgen.physics.circuit.layered_dielectric import Floats
from coilgen.physics.circuit.turn_charges import mirrored_potentials, potential_matrix
from coilgen.physics.circuit.turn_section import Integers, Section, checked_section, column, mirror_images

DIVISIONS = 3
"""Charge elements along each face of a turn."""
_BLOCK = 96
"""Rows at a time when triangular equations are solved."""


@dataclass(frozen=True, kw_only=True)
class WindingCapacitance:
    """Capacitance between the terminals of a winding.

    capacitance: F. branches (n, n), F: partial capacitance between each two turns; zero diagonal.
    share (n, n): the capacitance that each pair of turns contributes, F; sums to twice `capacitance`.
    """

    capacitance: float
    branches: Floats
    share: Floats


def winding_capacitance(
    *,
    height: ArrayLike,
    position: ArrayLike,
    width: ArrayLike,
    thickness: ArrayLike,
    length: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    interfaces: ArrayLike,
    permittivity: ArrayLike,
    divisions: int = DIVISIONS,
) -> WindingCapacitance:
    """Capacitance of a winding whose voltage falls evenly along its wire: 2 W / V^2 of the stored energy W.

    One entry for each turn, (n,): height of the middle of its copper (m, rising upward), position across the
    winding (mean radius or apothem, m), width and thickness of the copper, mean length of the turn (m),
    and the shares of the whole wire passed at the turn's start and end (0 to 1; layers wind alternately
    inward and outward, and the shares say so; layers in parallel repeat theirs), or those of the voltage as
    `voltage_shares` gives them. interfaces (i,), m: rising
    heights of the planes between dielectrics, the solder mask's included. permittivity (i - 1,): relative
    permittivity between them; free space outside.
    position may also be (parts, n), from sections at the middles of equal parts of the turn: layers that wind
    inward and outward lie over one another differently at each angle, which matters when the dielectric is
    thinner than the pitch.

    All turns run round the coil together, so turns a and b differ by the voltage u at the start and v at the
    end, and their partial capacitance c holds c (u^2 + u v + v^2) / 6: the energy method of Massarini and
    Kazimierczuk, IEEE Trans. Power Electronics 12(4), 1997, with partial capacitances from the whole
    cross-section. Opposite sides of the coil do not act on one another, and the coil floats: no earth plane
    is near. A single turn has no capacitance in this model.
    Raises ValueError for shapes that do not fit, sizes that are not positive or copper that overlaps.
    """
    positions = np.atleast_2d(np.asarray(position, dtype=np.float64))
    parts, count = positions.shape
    lengths, first, last = (column(values, count) for values in (length, start, end))
    if not np.all(lengths > 0):
        raise ValueError("turn lengths must be positive")
    branches, share = np.zeros((count, count)), np.zeros((count, count))
    for part, row in enumerate(positions):
        section = checked_section(height, row, width, thickness)
        partial = -turn_capacitances(section, interfaces, permittivity, divisions)
        np.fill_diagonal(partial, 0.0)
        partial *= (lengths[:, None] + lengths[None, :]) / (2 * parts)
        here, there = (first + (last - first) * passed / parts for passed in (part, part + 1))
        branches += partial
        share += partial * _mean_square_difference(here, there)
    return WindingCapacitance(capacitance=float(np.sum(share) / 2), branches=branches, share=share)


def voltage_shares(turn_inductances: ArrayLike, strings: ArrayLike | None = None) -> tuple[Floats, Floats]:
    """Shares of the whole voltage dropped at each turn's start and end, (n,) each, by induction.

    turn_inductances (n, n), H, self and mutual, in the order the current meets the turns: turn a holds the
    share of its row's sum. A little finer than shares by wire length: 2 to 7 % of capacitance. strings (n,)
    int: turns of one number are in series, the strings of different numbers side by side; without it one.

    >>> voltage_shares([[2.0, 1.0], [1.0, 4.0]])
    (array([0.   , 0.375]), array([0.375, 1.   ]))
    """
    inductances = np.asarray(turn_inductances, dtype=np.float64)
    string = np.zeros(len(inductances)) if strings is None else np.asarray(strings)
    own = (string[:, None] == np.unique(string)).astype(np.float64)
    currents = np.linalg.solve(own.T @ inductances @ own, np.ones(own.shape[1]))
    induced = inductances @ (own @ currents)
    start, end = np.zeros_like(induced), np.zeros_like(induced)
    for one in own.T > 0:
        passed = np.concatenate([[0.0], np.cumsum(induced[one])]) / np.sum(induced[one])
        start[one], end[one] = passed[:-1], passed[1:]
    return start, end


def turn_capacitances(
    section: Section, interfaces: ArrayLike, permittivity: ArrayLike, divisions: int = DIVISIONS
) -> Floats:
    """Maxwell capacitance matrix of a floating coil's turns in cross-section, (n, n) F/m.

    Charges for turn voltages whose sum of charges is zero: rows and columns sum to zero, and entry (a, b) off
    the diagonal is minus the partial capacitance between the two.

    >>> plates = checked_section([0.0, 1e-3], [0.0, 0.0], [1e-1, 1e-1], [3.5e-5, 3.5e-5])
    >>> plate = turn_capacitances(plates, [], [])[0, 0]
    >>> round(float(plate / (8.8541878128e-12 * 1e-1 / 0.965e-3)), 2)  # 1 and a fringe
    1.02
    """
    if divisions < 2:
        raise ValueError("a face needs at least two divisions")
    faces = np.asarray(interfaces, dtype=np.float64)
    relative = np.asarray(permittivity, dtype=np.float64)
    mirror = mirror_images(section, faces, relative)
    if mirror is None:
        potential, turn = potential_matrix(section, faces, relative, divisions)
        grounded = _summed_charges(potential, turn[:, None] == np.arange(section.height.size))
    else:
        grounded = _mirrored_charges(section, faces, relative, divisions, mirror)
    return _floating(grounded)


def _mirrored_charges(
    section: Section, interfaces: Floats, permittivity: Floats, divisions: int, mirror: Integers
) -> Floats:
    """Charges (n, n) F/m of turns for voltages of turns, from voltages alike and opposite in both halves."""
    upper = np.flatnonzero(section.height > section.height[mirror])
    middle = float(np.mean(section.height[[upper[0], mirror[upper[0]]]]))
    direct, across, turn = mirrored_potentials(section, interfaces, permittivity, divisions, middle)
    owned = turn[:, None] == upper
    alike, opposite = _summed_charges(direct + across, owned), _summed_charges(direct - across, owned)
    both, grounded = (upper, mirror[upper]), np.empty((mirror.size, mirror.size))
    for half in (0, 1):
        grounded[np.ix_(both[half], both[half])] = (alike + opposite) / 2
        grounded[np.ix_(both[half], both[1 - half])] = (alike - opposite) / 2
    return grounded


def _summed_charges(potential: Floats, owned: NDArray[np.bool_]) -> Floats:
    """Charges (n, n) F/m on turns for a volt on each turn, of elements (e, n) each of one turn, symmetric."""
    root = np.linalg.cholesky(potential)
    response = owned.astype(np.float64)
    for first in range(0, len(root), _BLOCK):
        rows = slice(first, first + _BLOCK)
        response[rows] -= root[rows, :first] @ response[:first]
        response[rows] = np.linalg.solve(root[rows, rows], response[rows])
    return np.asarray(response.T @ response)


def _floating(grounded: Floats) -> Floats:
    """The matrix left when the turns' common voltage settles so that all charges sum to zero."""
    charge = np.sum(grounded, axis=1)
    return np.asarray(grounded - np.outer(charge, charge) / np.sum(charge))


def _mean_square_difference(start: Floats, end: Floats) -> Floats:
    """Mean over the turn of the squared voltage between each two turns, (n, n), in squares of the whole."""
    at_start = start[:, None] - start[None, :]
    at_end = end[:, None] - end[None, :]
    return (at_start**2 + at_start * at_end + at_end**2) / 3
