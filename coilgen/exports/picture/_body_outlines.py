"""Outlines of cores, magnet, target and base plate over the board, seen from the top."""

import math
from collections.abc import Sequence

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.exports.picture._bodies import Shown, bodies
from coilgen.exports.picture._free_place import Box, copper_points, freest
from coilgen.exports.picture._mover_bodies import mover_bodies
from coilgen.exports.picture._sheet import Sheet
from coilgen.exports.picture._svg import INK, Element, add, add_centred, add_path, add_rectangle, number
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point, direction

_DASHES = {"core": "1.2 0.5", "base-plate": "2.4 0.5", "magnet": "1.2 0.4 0.2 0.4", "target": "0.3 0.4"}
"""Of the letters' size: dash and gap."""

DIRECTIONS = 24
"""Tried for a name's place."""
_LETTER = 0.6
"""Width of a letter of a name over the size of the sheet's letters."""


def add_body_outlines(view: Element, design: Design, art: Art, sheet: Sheet, taken: list[Box]) -> None:
    """A dashed line round each body with its name on it; none without bodies. Cut off past the board.

    taken: what names keep clear of; theirs join it.
    """
    shown = (*bodies(design), *mover_bodies(design))
    if not shown:
        return
    margin = complex(sheet.size, sheet.size)
    low, high = sheet.low - margin, sheet.high + margin
    frame = add(add(view, "defs"), "clipPath", id="bodies-frame")
    add_rectangle(frame, low, high)
    group = add(view, "g", id="bodies", clip_path="url(#bodies-frame)", fill="none")
    for body in shown:
        _add_outline(group, body, sheet.size)
    copper = copper_points(art, sheet.size)
    for count, body in enumerate(each for each in shown if each.named and not each.repeated):
        box = _name_place(body, count, sheet, taken, copper)
        if box is not None:
            _add_name(group, body.name, box.middle, sheet.size)
            taken.append(box)


def _add_outline(group: Element, body: Shown, size: float) -> None:
    own = add(group, "g", class_=f"body {body.kind}")
    add(own, "title", f"{body.name}: {body.material}, {body.measures}")
    for path in [body.outline, *([body.hole] if body.hole else [])]:
        add_path(own, path, stroke="#ffffff", stroke_width=number(0.32 * size), stroke_opacity="0.85")
        line = add_path(own, path, stroke=INK, stroke_width=number(0.14 * size), class_="outline")
        dashes = [float(part) * size for part in _DASHES[body.kind].split()]
        line.set("stroke-dasharray", " ".join(number(dash) for dash in dashes))


def _name_place(
    body: Shown, count: int, sheet: Sheet, taken: Sequence[Box], copper: Sequence[Point]
) -> Box | None:
    """On the outline over the board: clear of what is there and off the copper where there is such a place,
    each body's looked for from a direction of its own on. None where the outline is nowhere over the board.
    """
    inset = complex(2.5 * sheet.size, sheet.size)
    frame = Box((sheet.low + sheet.high) / 2, (sheet.high - sheet.low) / 2 - inset)
    half = complex(_LETTER * len(body.name) / 2, 0.7) * sheet.size
    first = math.pi / 3 - count * math.pi / 5
    places = (on_outline(body.outline, first - step * math.tau / DIRECTIONS) for step in range(DIRECTIONS))
    return freest((Box(at, half) for at in places if frame.holds(at)), taken, copper)


def _add_name(group: Element, name: str, at: Point, size: float) -> None:
    halo = {"stroke_linejoin": "round", "stroke": "#ffffff", "stroke_width": number(0.3 * size)}
    add_centred(group, name, at, 0.9 * size, fill=INK, class_="body-name", paint_order="stroke", **halo)


def on_outline(path: Path, angle: float) -> Point:
    """Where a ray from the middle of a circle or rectangle at an angle (rad) meets it, m.

    >>> from coilgen.geometry.closed import rectangle
    >>> round(on_outline(rectangle(4.0, 2.0), 0.0).real, 9)
    2.0
    """
    low, high = extent(path)
    middle, half, ray = (low + high) / 2, (high - low) / 2, direction(angle)
    if len(path.segments) == 2:
        return middle + half.real * ray
    sides = [(half.real, abs(ray.real)), (half.imag, abs(ray.imag))]
    return middle + ray * min(side / part for side, part in sides if part > 1e-9)
