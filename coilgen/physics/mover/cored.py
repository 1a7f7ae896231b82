"""Movers that pass coils with cores in their pockets: flux, cogging and pull of the cores."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.nodes import chebyshev, count_for, lagrange
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.mover.images import Image
from coilgen.physics.mover.pocket import Pocket, mirror, own_potentials, point_potentials
from coilgen.physics.mover.pockets import Pockets
from coilgen.physics.mover.ring import Harmonics, odd, odd_harmonics
from coilgen.physics.mover.stator_cores import Neighbour, Stator, magnetised
from coilgen.physics.mover.waves import Waves

Complexes = NDArray[np.complex128]
_FAR, _ACCURACY, _FEWER = 2.5, 1e-6, 0.5
"""Half widths of a pocket's cores between pockets from which on nodes tell of them, how well, and how many of
them for each carrier at most."""
_THIN = 1e-6
"""m, of cores that have no extent."""


def stator(one: Pocket, pockets: Pockets, mirrored: Sequence[Image] = ()) -> Stator:
    """All pockets, each with cores like the first one's; mirrored: images in iron plates."""
    columns, found, at = pockets.columns, list[Neighbour](), one.carriers.at
    told = _nodes(one, pockets)
    ends, nodes = (at, None) if told is None else told
    for other in pockets.others:
        if other.angle or other.shift:
            solved = pockets.solved
            found.append(
                Neighbour(
                    potentials=point_potentials(ends, other.moved(ends), mirrored),
                    nodes=nodes,
                    columns=columns.at(other.states[solved], other.sign[solved]),
                )
            )
    return Stator(
        pocket=one,
        mirror=mirror(one, pockets.axis),
        own=own_potentials(one, mirrored),
        neighbours=tuple(found),
    )


def _nodes(one: Pocket, pockets: Pockets) -> tuple[Floats, Floats] | None:
    """Nodes (q, 3) m about a pocket's cores that tell what comes from the others, and what its carriers are
    to them, (c, q); None where they would be hardly fewer than the carriers."""
    at = one.carriers.at
    middle, half = 0.5 * (at.max(axis=0) + at.min(axis=0)), 0.5 * np.maximum(np.ptp(at, axis=0), _THIN)
    moved = [other.moved(middle[None])[0] for other in pockets.others if other.angle or other.shift]
    apart = min((float(np.linalg.norm(there - middle)) for there in moved), default=np.inf)
    if apart < _FAR * half.max():
        return None
    counts = [count_for(apart / each, _ACCURACY) for each in half.tolist()]
    if np.prod(counts) > _FEWER * len(at):
        return None
    along = [each * chebyshev(count) for each, count in zip(half, counts, strict=True)]
    nodes = np.stack([axis.ravel() for axis in np.meshgrid(*along, indexing="ij")], axis=-1)
    x, y, z = (
        lagrange((at[:, axis] - middle[axis]) / half[axis], count) for axis, count in enumerate(counts)
    )
    return middle + nodes, np.einsum("ca,cb,cd->cabd", x, y, z).reshape(len(at), -1)


@dataclass(frozen=True, kw_only=True)
class Passed:
    """The first pocket's cores as the mover passes, in all states.

    m: (n, f) A/m, normal magnetisations. charge: (c, f) A m. force: (f,) on the mover along its motion,
    N m or N.
    """

    stator: Stator
    pockets: Pockets
    m: Floats
    charge: Floats
    force: Floats

    def linkage(self, near: Filaments, far: Filaments) -> Floats:
        """Wb that all cores add to the first pocket's coil, (f,).

        near: its closed path with its images in plates. far: the same for other pockets, of longer chords.
        """
        total = np.zeros(len(self.force))
        for other in self.pockets.others:
            path = far if other.angle or other.shift else near
            load = winding_load(self.stator.pocket.grid, other.seen_from(path))[self.stator.pocket.face]
            total += other.sign * (load @ self.m)[other.states]
        return MU0 * total

    def flux_densities(self) -> tuple[Floats, Floats]:
        """In each cell (k, f) T, and whether it is saturated."""
        cells = self.stator.pocket.cells
        size = cells.strengths(self.m)
        return MU0 * (size + cells.told(Curve.applied, size)), cells.told(Curve.saturated, size)


def passed(of: Stator, pockets: Pockets, waves: Waves) -> Passed:
    """Cores under a mover. Raises NotConvergedError where their magnetisation is not found."""
    solved = magnetised(of, waves.at(pockets.places[pockets.solved]))
    m = pockets.columns.of(solved, of.mirror.faces, of.mirror.sign)
    charge = of.pocket.charged @ m
    force = -MU0 * np.sum(charge * waves.at(pockets.places, slope=1), axis=0)
    return Passed(stator=of, pockets=pockets, m=m, charge=charge, force=force)


def with_harmonics(own: Harmonics, half: Floats) -> tuple[Floats, Complexes]:
    """Orders (k,) and linkage (k,) Wb of a ring's coil with what cores add at places over half a period."""
    added = odd_harmonics(half).conj()
    flux = np.zeros(max(len(own.linkage), len(added)), dtype=np.complex128)
    flux[: len(own.linkage)] += own.linkage
    flux[: len(added)] += added
    return odd(own.orders[0], len(flux)), flux


def ring_cogging(found: Passed, count: int, poles: int, places: Floats) -> Floats:
    """Torque (n,) N m on a ring's mover at places (n,) rad by the cores of all pockets, a number.

    Each pocket's repeats itself from pole to pole: the harmonics that all have in common add up, the rest
    cancels.
    """
    half = found.force
    phasors = np.fft.rfft(half) * (2.0 / len(half))
    number = np.arange(1, (len(half) - 1) // 2 + 1)
    common = number[number * poles % count == 0]
    waves = np.exp(1j * poles * np.outer(common, places))
    return np.asarray(count * (phasors[common] @ waves).real)


def along_row(states: Floats, at: Floats, places: Floats, slope: int = 0) -> Floats:
    """What each pocket does, (pockets, n), or its slope, with a row at places (n,) m; states: at (j,) m."""
    from scipy.interpolate import make_interp_spline

    curve = make_interp_spline(at, states.reshape(-1, len(at)).T, k=5)
    return np.asarray(curve(places, nu=slope).T, dtype=np.float64)


def pull(found: Passed, near: tuple[Stator, Waves], far: tuple[Stator, Waves], apart: float) -> Floats:
    """Force, N, that draws a mover and one pocket's cores together, (f,).

    What the co-energy of the magnetisation that is found loses from a near place of the mover to a far one,
    over the distance between both, m.
    """
    solved = found.pockets.solved
    charge, places = found.charge[:, solved], found.pockets.places[solved]

    def coenergy(of: Stator, waves: Waves) -> Floats:
        potential = 0.5 * (of.own @ charge + of.from_neighbours(charge)) + waves.at(places)
        return np.asarray(-MU0 * np.sum(charge * potential, axis=0))

    return np.asarray((coenergy(*near) - coenergy(*far))[found.pockets.columns.solved] / apart)
