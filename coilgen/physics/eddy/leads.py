"""The leads of a winding as straight strips, and the places along them where they see the winding's field."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.eddy.sides import sides_field
from coilgen.physics.eddy.turns import Chords, Turns, leads, sides

Integers = NDArray[np.int64]
Outside = Callable[[Floats, Floats, Floats], Floats]
"""Points (stations, n, 2) m, their heights and the strips' widths (n,) m -> perpendicular fields of ports
elsewhere, (ports, n, stations) T/A, as `sides_field` gives them."""

_STEP = 0.5
"""Of the width: distance of stations along a lead, about."""
_MOST_STATIONS = 40
_BEND = np.radians(15.0)
"""Pieces of a lead that turn by less follow one another straight on."""
_EDGE = 0.75
"""Widths: distance from a lead's middle at which its own field is looked at. Half a width is where the copper
ends; the rest is for the eddy currents, which turn before the ends (within 6 % of sheet solutions)."""
_STRAIGHT = 2e3
"""Widths: the radius of a ring so large that it is straight."""


@dataclass(frozen=True, kw_only=True)
class LeadStrip:
    """All leads of one cross-section that carry the same currents, as one strip.

    strip: a ring too large to be bent, of the leads' whole length. carried: (ports, 1) A for an ampere of
    each port. field: (ports, stations, 1) T/A, perpendicular, of all copper. own: (stations,), share of an
    endless strip's own field that the straight piece there makes.
    """

    strip: Turns
    carried: Floats
    field: Floats
    own: Floats


def lead_strips(conductor: Conductor, carried: Floats, outside: Outside | None = None) -> list[LeadStrip]:
    """The leads by cross-section and current; carried: (ports, pieces), current for an ampere of a port.

    outside: what gives the fields of the ports after the first, besides that of their currents here.
    """
    chords = leads(conductor)
    if not len(chords.piece):
        return []
    sizes = np.stack([conductor.width, conductor.thickness, *carried])[:, chords.piece]
    kinds, kind = np.unique(sizes.T, axis=0, return_inverse=True)
    return [
        _strip(conductor, carried, _some(chords, np.flatnonzero(kind.ravel() == number)), row, outside)
        for number, row in enumerate(kinds)
    ]


def _some(chords: Chords, which: Integers) -> Chords:
    return Chords(start=chords.start[which], end=chords.end[which], piece=chords.piece[which])


def _strip(
    conductor: Conductor, carried: Floats, chords: Chords, kind: Floats, outside: Outside | None
) -> LeadStrip:
    width, thickness = kind[:2]
    length = np.hypot(*(chords.end - chords.start).T)
    count = np.clip(np.ceil(length / (_STEP * width)), 1, _MOST_STATIONS).astype(np.int64)
    owner = np.repeat(np.arange(len(count)), count)
    along = (np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[owner]
    points = chords.start[owner] + along[:, None] * (chords.end - chords.start)[owner]
    level = conductor.z[chords.piece][owner]
    field = np.empty((len(carried), len(points), 1))
    for z in np.unique(level):
        here = level == z
        place = points[here, None], np.array([z]), np.array([width])
        field[:, here] = sides_field(sides(conductor), *place, carried).transpose(0, 2, 1)
        if outside is not None:
            field[1:, here] += outside(*place).transpose(0, 2, 1)
    share = (length / count)[owner]
    return LeadStrip(
        strip=_as_ring(float(length.sum()), float(width), float(thickness), points, share / share.sum()),
        carried=kind[2:, None],
        field=field,
        own=_own(chords, length, owner, along, float(width)),
    )


def _own(chords: Chords, length: Floats, owner: Integers, place: Floats, width: float) -> Floats:
    """Of a straight filament's field beside it, the share that a straight piece with ends makes: the mean of
    the cosines at both ends (Biot and Savart)."""
    straight = _straights(chords)
    whole = np.bincount(straight, length)[straight]
    passed = np.cumsum(length) - length
    first = passed[np.searchsorted(straight, straight)]
    behind = (passed - first)[owner] + place * length[owner]
    ahead = whole[owner] - behind
    return np.asarray(0.5 * sum(part / np.hypot(part, _EDGE * width) for part in (behind, ahead)))


def _straights(chords: Chords) -> Integers:
    """Number (m,) of the straight run that each chord is of, rising."""
    step = chords.end - chords.start
    turned = np.abs(np.angle((step[:, 0] + 1j * step[:, 1])[1:] / (step[:, 0] + 1j * step[:, 1])[:-1]))
    joined = np.all(chords.start[1:] == chords.end[:-1], axis=1) & (np.diff(chords.piece) <= 1)
    return np.append(0, np.cumsum(~joined | (turned > _BEND)))


def _as_ring(length: float, width: float, thickness: float, points: Floats, share: Floats) -> Turns:
    return Turns(
        radius=np.array([_STRAIGHT * width]),
        length=np.array([length]),
        fraction=np.ones(1),
        z=np.zeros(1),
        width=np.array([width]),
        thickness=np.array([thickness]),
        piece=np.zeros(1, dtype=np.int64),
        points=points[:, None],
        share=share,
        shift=np.zeros((len(points), 1)),
    )
