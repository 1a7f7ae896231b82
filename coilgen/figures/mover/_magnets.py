"""A design's mover as the field solver sees it: outlines of its poles, end faces, images in iron plates."""

import cmath
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from coilgen.design.bodies import Core
from coilgen.design.mover import Mover
from coilgen.figures.mover._setting import DESIGNED, Setting
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.mover.magnets import Magnets, Outline

_PITCHES = 5.0
"""Pole pitches beyond a plate after which an image's field has died away, a row's ends aside."""
_PITCHES_OF_ROW = 20.0


def mover_of(case: Case) -> Mover:
    """The mover that there must be."""
    assert case.design.mover is not None
    return case.design.mover


def magnets(
    case: Case,
    setting: Setting = DESIGNED,
    *,
    alone: bool = False,
    only: str | None = None,
    pitches: float | None = None,
) -> "Magnets":
    """The mover's magnets about its own middle, with images in its back plates and in the stator's.

    alone: the first magnet only, at the origin. only: the side whose gap is wider. pitches: beyond plates up
    to which images count.
    """
    from coilgen.physics.mover.magnets import Magnets, with_images

    mover = mover_of(case)
    sheets = tuple(_end_faces(case, setting.lifted, only))
    if setting.plates:
        below, above = plate_faces(case, setting.lifted, only)
        usual = _PITCHES if mover.arrangement == "ring" else _PITCHES_OF_ROW
        sheets = with_images(sheets, below, above, (pitches or usual) * mover.mean_pitch)
    outlines = (_pole_of_row(mover, 0j),) if alone else tuple(_outlines(mover))
    return Magnets(
        outlines=outlines,
        signs=tuple(1 - 2 * (k % 2) for k in range(len(outlines))),
        polarisation=setting.strength * mover.magnet.remanences[1],
        sheets=sheets,
    )


def _end_faces(case: Case, lifted: float, only: str | None = None) -> Iterator[tuple[float, float]]:
    """Lower and upper face of the magnets on each side, m."""
    mover = mover_of(case)
    for side in mover.faces:
        near, gap = case.design.stand.face(side), mover.gap + lifted * (only in (None, side))
        if side == "top":
            low = near + gap
            yield low, low + mover.magnet.thickness
        else:
            high = near - gap
            yield high - mover.magnet.thickness, high


def plate_faces(
    case: Case, lifted: float = 0.0, only: str | None = None
) -> tuple[float | None, float | None]:
    """Heights of the iron below and above the magnets, m: back plates, or cores on the board's other face."""
    mover = mover_of(case)
    ends = dict(zip(mover.faces, _end_faces(case, lifted, only), strict=True))
    below = above = None
    if mover.back_plate is not None:
        below = ends["bottom"][0] if "bottom" in ends else None
        above = ends["top"][1] if "top" in ends else None
    for core, stands in zip(case.design.core, case.design.stand.standing, strict=True):
        if core.place == "bottom" and below is None:
            below = stands.top
        if core.place == "top" and above is None:
            above = stands.bottom
    return below, above


def stator_plates(case: Case) -> tuple[Core, ...]:
    """Cores on a face of the board, opposite the mover."""
    return tuple(core for core in case.design.core if core.place != "pocket")


def _outlines(mover: Mover) -> "Iterator[Outline]":
    for k in range(mover.poles):
        if mover.arrangement == "ring":
            yield _pole_of_ring(mover, math.tau * k / mover.poles)
        else:
            assert mover.pitch is not None
            yield _pole_of_row(mover, complex((k - (mover.poles - 1) / 2) * mover.pitch))


def _pole_of_ring(mover: Mover, angle: float) -> "Outline":
    from coilgen.physics.mover.magnets import rectangle, segment

    magnet, turned = mover.magnet, cmath.rect(1.0, angle)
    if magnet.form in ("segment", "one-piece"):
        spans = magnet.angle if magnet.form == "segment" else math.tau / mover.poles
        return segment(magnet.hole / 2, (magnet.diameter or 0.0) / 2, spans or 0.0, angle)
    assert mover.radius is not None
    if magnet.form == "block":
        return rectangle(mover.radius * turned, magnet.width or 0.0, magnet.depth or 0.0, turned)
    return _round(mover, mover.radius * turned)


def _pole_of_row(mover: Mover, at: complex) -> "Outline":
    from coilgen.physics.mover.magnets import rectangle

    magnet = mover.magnet
    if magnet.form in ("block", "one-piece"):
        width = magnet.width if magnet.form == "block" else mover.pitch
        return rectangle(at, width or 0.0, magnet.depth or 0.0)
    return _round(mover, at)


def _round(mover: Mover, at: complex) -> "Outline":
    from coilgen.physics.mover.magnets import circle

    magnet = mover.magnet
    hole = circle(at, -magnet.hole / 2) if magnet.hole else ()
    return (*circle(at, (magnet.diameter or 0.0) / 2), *hole)
