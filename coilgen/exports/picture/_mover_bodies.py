"""Magnets and back plates of an array's mover as drawings show them, where the mover stands at its origin."""

import math
from collections.abc import Iterator

from coilgen.design.design import Design
from coilgen.design.mover import Mover
from coilgen.design.stacking import Standing
from coilgen.exports.picture._bodies import Shown
from coilgen.exports.picture._section import between
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import direction
from coilgen.units import in_mm

_MARGIN = 0.1
"""Of a pole's pitch, by which a back plate is drawn past the magnets; its outline is the designer's."""


def mover_bodies(design: Design) -> tuple[Shown, ...]:
    """All magnets and the back plates; none without a mover."""
    mover = design.mover
    if mover is None:
        return ()
    return tuple(body for side in mover.faces for body in _on_side(design, mover, side))


def cut_mover_bodies(design: Design) -> tuple[Shown, ...]:
    """Those that a cut from west to east through the centre meets."""
    return tuple(body for body in mover_bodies(design) if between(body.outline))


def _on_side(design: Design, mover: Mover, side: str) -> Iterator[Shown]:
    near = design.stand.face(side)
    magnets = _beyond(near, side, mover.gap, mover.magnet.thickness)
    made = mover.magnet.grade or f"remanence {1e3 * mover.magnet.remanences[1]:.4g} mT"
    for number in range(mover.poles):
        yield Shown(
            kind="magnet",
            name=f"pole {number + 1}",
            material=made,
            measures=f"{mover.magnet.form}, {in_mm(mover.magnet.thickness)} thick, gap {in_mm(mover.gap)}",
            outline=_pole(mover, number),
            hole=_hole(mover, number),
            standing=magnets,
            pole="down" if number % 2 else "up",
            named=number == _named(mover),
        )
    if mover.back_plate is not None:
        far = magnets.top if side == "top" else magnets.bottom
        yield Shown(
            kind="core",
            name="back plate",
            material=mover.back_plate.material,
            measures=f"{in_mm(mover.back_plate.thickness)} thick, moves with the magnets",
            outline=_plate(mover),
            hole=_plate_hole(mover),
            standing=_beyond(far, side, 0.0, mover.back_plate.thickness),
        )


def _named(mover: Mover) -> int:
    """The pole in the east."""
    return 0 if mover.arrangement == "ring" else mover.poles - 1


def _beyond(face: float, side: str, gap: float, thickness: float) -> Standing:
    low = face + gap if side == "top" else face - gap - thickness
    return Standing(bottom=low, top=low + thickness)


def _lies(mover: Mover, number: int) -> Isometry:
    if mover.arrangement == "row":
        return Isometry(shift=complex((number - (mover.poles - 1) / 2) * mover.mean_pitch))
    turn = 360.0 * number / mover.poles
    return Isometry.placed(turn, mover.middle_radius * direction(math.radians(turn)))


def _pole(mover: Mover, number: int) -> Path:
    magnet = mover.magnet
    if mover.arrangement == "ring" and magnet.form in ("segment", "one-piece"):
        spans = magnet.angle if magnet.form == "segment" else math.tau / mover.poles
        return _sector(mover, math.tau * number / mover.poles, spans or 0.0)
    if magnet.form in ("block", "one-piece"):
        width = magnet.width if magnet.form == "block" else mover.mean_pitch
        return rectangle(width or 0.0, magnet.depth or 0.0).moved(_lies(mover, number))
    return circle(magnet.diameter or 0.0).moved(_lies(mover, number))


def _sector(mover: Mover, middle: float, spans: float) -> Path:
    inner, outer = mover.magnet.hole / 2, (mover.magnet.diameter or 0.0) / 2
    first, last = middle - spans / 2, middle + spans / 2
    return Path(
        (
            Arc(0j, outer, first, spans),
            Line(outer * direction(last), inner * direction(last)),
            Arc(0j, inner, last, -spans),
            Line(inner * direction(first), outer * direction(first)),
        )
    )


def _hole(mover: Mover, number: int) -> Path | None:
    bored = mover.magnet.form == "ring"
    return circle(mover.magnet.hole).moved(_lies(mover, number)) if bored else None


def _plate(mover: Mover) -> Path:
    margin = _MARGIN * mover.mean_pitch
    if mover.arrangement == "ring":
        return circle(2 * (mover.middle_radius + mover.breadth / 2 + margin))
    return rectangle(mover.poles * mover.mean_pitch, mover.breadth + 2 * margin)


def _plate_hole(mover: Mover) -> Path | None:
    inner = mover.middle_radius - mover.breadth / 2 - _MARGIN * mover.mean_pitch
    return circle(2 * inner) if mover.arrangement == "ring" and inner > 0 else None
