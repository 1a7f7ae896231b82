"""How alike pockets of an array lie to each other, and which states of one are those of the others."""

import math

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments, Indices, lifted, turned

_PERIODS = 4
"""States of a ring's pocket in each cogging period: its fundamental is told from its next harmonics."""


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which solved state each of f states is, (f,), its sign, (f,), and whether it is the mirror image, (f,).

    sign: -1 where the poles have changed, 0 for no state at all.
    """

    solved: Indices
    sign: Floats
    mirrored: NDArray[np.bool_]

    def at(self, states: Indices, sign: Floats) -> "Columns":
        """Of some states, with their signs times others."""
        own = self.sign[states] * sign
        return Columns(solved=self.solved[states], sign=own, mirrored=self.mirrored[states])

    def of(self, values: Floats, mirror: Indices, sign: Floats | float = 1.0) -> Floats:
        """Values (n, f) from those of the solved states; mirror: (n,) what stands for each in a mirror."""
        found = np.asarray(values[:, self.solved] * self.sign)
        image = values[mirror][:, self.solved[self.mirrored]] * self.sign[self.mirrored]
        found[:, self.mirrored] = (image.T * sign).T
        return found


@dataclass(frozen=True, kw_only=True)
class Other:
    """A pocket: where the first one comes to lie on it when it turns about the origin by an angle, rad, and
    goes along x by a shift, m. states: (f,) its own where the first is in each state, with their signs."""

    angle: float
    shift: float
    states: Indices
    sign: Floats

    def moved(self, points: Floats) -> Floats:
        """Points (n, 3) m of the first pocket in this one."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        return np.asarray(points @ turn + np.array([self.shift, 0.0, 0.0]))

    def seen_from(self, path: Filaments) -> Filaments:
        """A path as it lies to this pocket, about the first one."""
        return lifted(turned(path, -self.angle) if self.angle else path, np.array([-self.shift, 0.0, 0.0]))


@dataclass(frozen=True, kw_only=True)
class Pockets:
    """The first pocket in f states: places (f,) of the mover from it, rad or m.

    axis: of the mirror in which the motion goes the other way, 0 for x. solved: numbers of the states from
    which all others follow, as columns tells. others: all pockets, the first one among them.
    """

    places: Floats
    axis: int
    solved: Indices
    columns: Columns
    others: tuple[Other, ...]


def on_ring(pockets: int, poles: int, least: int) -> Pockets:
    """Pockets at even angles, the first in the east, in `least` states or more over half a period.

    From pole to pole all is as before with the other sign. With a number of states that all pockets share,
    what one sees at a place is what another sees at another.
    """
    order = pockets // math.gcd(pockets, poles)
    half = order * max(_PERIODS, math.ceil(least / order))
    number = np.arange(half)
    mirrored = number > half // 2
    found = []
    for steps in range(pockets):
        turns, state = np.divmod(number - steps * poles * half // pockets, half)
        angle = 2.0 * np.pi * steps / pockets
        found.append(Other(angle=angle, shift=0.0, states=state, sign=1.0 - 2.0 * (turns % 2)))
    return Pockets(
        places=2.0 * np.pi / poles * number / half,
        axis=1,
        solved=number[: half // 2 + 1],
        columns=Columns(
            solved=np.where(mirrored, half - number, number),
            sign=np.where(mirrored, -1.0, 1.0),
            mirrored=mirrored,
        ),
        others=tuple(found),
    )


def in_row(pockets: int, pitch: float, poles: int, places: Floats) -> Pockets:
    """Pockets about the origin, a pitch apart, m, pocket after pocket with the mover at all places (j,) m.

    places: about 0, alike on both sides.
    """
    count = len(places)
    number, pocket = np.arange(pockets * count), np.repeat(np.arange(pockets), count)
    centres = pitch * (np.arange(pockets) - 0.5 * (pockets - 1))
    mirrored = number >= (len(number) + 1) // 2
    found = []
    for steps in range(1 - pockets, pockets):
        there = (pocket + steps >= 0) & (pocket + steps < pockets)
        states = np.where(there, number + steps * count, 0)
        found.append(Other(angle=0.0, shift=steps * pitch, states=states, sign=there.astype(np.float64)))
    return Pockets(
        places=np.tile(places, pockets) - centres[pocket],
        axis=0,
        solved=number[~mirrored],
        columns=Columns(
            solved=np.where(mirrored, len(number) - 1 - number, number),
            sign=np.where(mirrored, 2.0 * (poles % 2) - 1.0, 1.0),
            mirrored=mirrored,
        ),
        others=tuple(found),
    )
