"""Stiffeners and bends in the picture of the board."""

from collections.abc import Iterator

from coilgen.artwork.art import BendLine
from coilgen.exports.picture._free_place import Box, freest, text_box
from coilgen.exports.picture._svg import INK, Element, add, add_centred, add_path, number
from coilgen.geometry.path import Path, polyline
from coilgen.geometry.point import Point
from coilgen.result.result import Result
from coilgen.units import in_mm

_BEND = "bend"
STIFFENER_INK, BEND_INK = "#2f6f4f", "#a03030"


def add_flexing(view: Element, result: Result, size: float, taken: list[Box]) -> None:
    """Stiffeners in long dashes, bends as a shaded strip with its middle line; nothing on other boards.

    taken: what their names keep clear of; theirs join it.
    """
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
        _add_bend(view, bend, size, taken)


def _add_bend(view: Element, bend: BendLine, size: float, taken: list[Box]) -> None:
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
    clear = complex(0.2, 0.2) * size
    boxes = (text_box(_BEND, at, 0.8 * size) for at in _beyond(bend, size))
    box = freest((Box(each.middle, each.half + clear) for each in boxes), taken)
    assert box is not None
    add_centred(group, _BEND, box.middle, 0.8 * size, fill=INK).set("stroke", "none")
    taken.append(box)


def _beyond(bend: BendLine, size: float) -> Iterator[Point]:
    """Places for its name past either end of its line, near ones first."""
    way = bend.path.end - bend.path.start
    ahead = way / abs(way) * size
    for far in (1.6, 2.4, 3.2, 4.0):
        yield bend.path.end + far * ahead
        yield bend.path.start - far * ahead
