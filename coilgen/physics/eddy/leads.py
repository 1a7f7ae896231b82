"""The leads of a winding as straight strips, and the places along them where they see the winding's field."""

from dataclasses import dataclass

import numpy as np

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.eddy.sides import sides_field
from coilgen.physics.eddy.turns import Chords, Turns, leads

_STEP = 0.5
"""Of the width: distance of stations along a lead, about."""
_MOST_STATIONS = 40
_STRAIGHT = 2e3
"""Widths: the radius of a ring so large that it is straight."""


@dataclass(frozen=True, kw_only=True)
class LeadStrip:
    """All leads of one cross-section that carry the same currents, as one strip.

    strip: a ring too large to be bent, of the leads' whole length. carried: (ports, 1) A for an ampere of each
    port. field: (ports, stations, 1) T/A, perpendicular, of all copper.
    """

    strip: Turns
    carried: Floats
    field: Floats


def lead_strips(conductor: Conductor, carried: Floats) -> list[LeadStrip]:
    """The leads by cross-section and current; carried: (ports, pieces), current for an ampere of each port."""
    chords = leads(conductor)
    if not len(chords.piece):
        return []
    sizes = np.stack([conductor.width, conductor.thickness, *carried])[:, chords.piece]
    kinds, kind = np.unique(sizes.T, axis=0, return_inverse=True)
    return [
        _strip(conductor, carried, _some(chords, np.flatnonzero(kind.ravel() == number)), row)
        for number, row in enumerate(kinds)
    ]


def _some(chords: Chords, which: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Chords:
    return Chords(start=chords.start[which], end=chords.end[which], piece=chords.piece[which])


def _strip(conductor: Conductor, carried: Floats, chords: Chords, kind: Floats) -> LeadStrip:
    width, thickness = kind[:2]
    length = np.hypot(*(chords.end - chords.start).T)
    count = np.clip(np.ceil(length / (_STEP * width)), 1, _MOST_STATIONS).astype(np.int64)
    owner = np.repeat(np.arange(len(count)), count)
    place = (np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[owner]
    points = chords.start[owner] + place[:, None] * (chords.end - chords.start)[owner]
    level = conductor.z[chords.piece][owner]
    field = np.empty((len(carried), len(points), 1))
    for z in np.unique(level):
        here = level == z
        field[:, here] = sides_field(
            conductor, points[here, None], np.array([z]), np.array([width]), carried
        ).transpose(0, 2, 1)
    share = (length / count)[owner]
    return LeadStrip(
        strip=_as_ring(float(length.sum()), float(width), float(thickness), points, share / share.sum()),
        carried=kind[2:, None],
        field=field,
    )


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
