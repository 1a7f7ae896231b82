"""Outlines of cores, magnet, target and base plate over the board, seen from the top."""

import math

from coilgen.design import Design
from coilgen.exports._bodies import Shown, bodies
from coilgen.exports._sheet import Sheet
from coilgen.exports._svg import INK, Element, add, add_centred, add_path, number
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point, direction

_DASHES = {"core": "1.2 0.5", "base-plate": "2.4 0.5", "magnet": "1.2 0.4 0.2 0.4", "target": "0.3 0.4"}
"""Of the letters' size: dash and gap."""


def add_body_outlines(view: Element, design: Design, sheet: Sheet) -> None:
    """A dashed line round each body with its name on it; none without bodies. Cut off past the board."""
    shown = bodies(design)
    if not shown:
        return
    margin = complex(sheet.size, sheet.size)
    low, high = sheet.low - margin, sheet.high + margin
    frame = add(add(view, "defs"), "clipPath", id="bodies-frame")
    add(
        frame,
        "rect",
        x=number(low.real),
        y=number(-high.imag),
        width=number(high.real - low.real),
        height=number(high.imag - low.imag),
    )
    group = add(view, "g", id="bodies", clip_path="url(#bodies-frame)", fill="none")
    for body in shown:
        _add_outline(group, body, sheet.size)
    for count, body in enumerate(shown):
        _add_name(group, body, count, sheet)


def _add_outline(group: Element, body: Shown, size: float) -> None:
    own = add(group, "g", class_=f"body {body.kind}")
    add(own, "title", f"{body.name}: {body.material}, {body.measures}")
    for path in [body.outline, *([body.hole] if body.hole else [])]:
        add_path(own, path, stroke="#ffffff", stroke_width=number(0.32 * size), stroke_opacity="0.85")
        line = add_path(own, path, stroke=INK, stroke_width=number(0.14 * size), class_="outline")
        dashes = [float(part) * size for part in _DASHES[body.kind].split()]
        line.set("stroke-dasharray", " ".join(number(dash) for dash in dashes))


def _add_name(group: Element, body: Shown, count: int, sheet: Sheet) -> None:
    """On the outline, each body's in a direction of its own; at the board's edge where that is nearer."""
    size, inset = sheet.size, complex(2.5 * sheet.size, sheet.size)
    at = on_outline(body.outline, math.pi / 3 - count * math.pi / 5)
    at = complex(
        min(max(at.real, (sheet.low + inset).real), (sheet.high - inset).real),
        min(max(at.imag, (sheet.low + inset).imag), (sheet.high - inset).imag),
    )
    name = add_centred(group, body.name, at, 0.9 * size, fill=INK, class_="body-name")
    name.set("paint-order", "stroke")
    name.set("stroke-linejoin", "round")
    for key, value in (("stroke", "#ffffff"), ("stroke-width", number(0.3 * size))):
        name.set(key, value)


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
