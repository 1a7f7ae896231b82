"""Stiffeners and bends in the picture of the board."""

from coilgen.artwork.art import BendLine
from coilgen.exports.picture._svg import INK, Element, add, add_centred, add_path, number
from coilgen.geometry.path import Path, polyline
from coilgen.result.result import Result
from coilgen.units import in_mm

STIFFENER_INK, BEND_INK = "#2f6f4f", "#a03030"


def add_flexing(view: Element, result: Result, size: float) -> None:
    """Stiffeners in long dashes, bends as a shaded strip with its middle line; nothing on other boards."""
    art = result.art
    if art.stiffeners:
        group = add(view, "g", id="stiffeners", fill=STIFFENER_INK, stroke=STIFFENER_INK)
        group.set("fill-opacity", "0.1")
        group.set("stroke-width", number(0.12 * size))
        group.set("stroke-dasharray", f"{number(0.8 * size)} {number(0.4 * size)}")
        for sheet in art.stiffeners:
            drawn = add_path(group, sheet.path, data_side=sheet.side)
            add(drawn, "title", f"stiffener {sheet.side}: {sheet.material}, {in_mm(sheet.thickness)}")
    for bend in art.bends:
        _add_bend(view, bend, size)


def _add_bend(view: Element, bend: BendLine, size: float) -> None:
    group = add(view, "g", class_="bend", fill=BEND_INK, stroke=BEND_INK)
    add(group, "title", bend.says)
    corners = bend.corners
    strip = add_path(group, Path(polyline([*corners, corners[0]])), stroke="none")
    strip.set("fill-opacity", "0.15")
    line = add_path(group, bend.path, fill="none", stroke_width=number(0.12 * size))
    line.set(
        "stroke-dasharray",
        f"{number(0.8 * size)} {number(0.25 * size)} {number(0.2 * size)} {number(0.25 * size)}",
    )
    way = bend.path.end - bend.path.start
    name = add_centred(group, "bend", bend.path.end + way / abs(way) * 1.6 * size, 0.8 * size, fill=INK)
    name.set("stroke", "none")
