"""The cut through the board as a picture: layers at exaggerated heights, with names and thicknesses."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, zip_longest

from coilgen.art import copper_extent
from coilgen.coil import BARREL_PLATING
from coilgen.exports._board_view import colour
from coilgen.exports._bodies import Shown, bodies
from coilgen.exports._section import Interval, between, copper, holes, merged, without
from coilgen.exports._section_bodies import Part, add_hatches, add_part, named_inside, part_of
from coilgen.exports._section_heights import Heights, heights
from coilgen.exports._svg import INK, Element, add, add_text, number
from coilgen.geometry.extent import extent
from coilgen.result import Result
from coilgen.units import readable

DIELECTRIC_FILL, MASK_FILL, AIR = "#e6dcc0", "#7d9b8f", "#ffffff"
OVERHANG = 0.4
"""Of the board's width: how far past each of its ends the picture goes to show bodies."""

LINE = 1.35
"""Of the size of letters: from line to line."""

NAME_LENGTH = 38
"""Letters of a name before it goes on in a further line."""


@dataclass(frozen=True, kw_only=True)
class _View:
    """The ends of the board and of the picture (m), how heights are drawn, and the size of letters (m)."""

    board: Interval
    room: Interval
    heights: Heights
    size: float


@dataclass(frozen=True, kw_only=True)
class _Name:
    """What stands beside the picture: lines of text, the drawn height that they tell of, where it ends.

    edge: from which x a line leads to the name, None for no line.
    """

    lines: tuple[str, ...]
    height: float
    edge: float | None
    bold: bool


@dataclass(frozen=True, kw_only=True)
class _Sheet:
    """One sheet of the stack-up: its faces' heights (m), name for people and copper layer, 0 for none.

    masked: solder mask or coverlay, which also fills the gaps of the outer copper.
    """

    top: float
    bottom: float
    says: str
    layer: int
    masked: bool


def section_svg(result: Result) -> Element:
    """The picture, in mm across; heights are as many times larger as it says."""
    sheets, shown = _sheets(result), bodies(result.design)
    view = _view(result, sheets, shown)
    parts = [part_of(body, view.room) for body in shown]
    names = _names(sheets, parts, view)
    places = _name_places(names, view.size)
    left, width = view.room[0] - view.size, _width(view, parts)
    high, low = _reach(view, names, places)
    root = Element(
        "svg",
        {
            "class": "section",
            "width": f"{number(width)}mm",
            "height": f"{number(high - low)}mm",
            "viewBox": " ".join(number(each) for each in (left, -high, width, high - low)),
            "role": "img",
            "aria-labelledby": "section-title section-description",
            "font-family": "DejaVu Sans, Verdana, Arial, sans-serif",
        },
    )
    add(root, "title", f"Cut through {result.design.name}", id="section-title")
    add(root, "desc", _described(result, view, shown), id="section-description")
    paper = {"x": number(left), "y": number(-high), "width": number(width), "height": number(high - low)}
    add(root, "rect", **paper, fill=AIR, class_="paper")
    _add_sheets(root, result, sheets, view)
    _add_bodies(root, parts, view)
    _add_breaks(root, view)
    _add_names(root, names, places, view)
    foot = complex(view.room[0], low + 1.2 * view.size)
    add_text(root, _scale_text(view), foot, view.size, fill=INK)
    return root


def _view(result: Result, sheets: list[_Sheet], shown: Sequence[Shown]) -> _View:
    west, east = _ends(result)
    wide = OVERHANG * (east - west)
    ends = [extent(body.outline) for body in shown]
    room = (
        max(min(west, *(low.real - 1e-3 for low, _ in ends), west), west - wide),
        min(max(east, *(high.real + 1e-3 for _, high in ends), east), east + wide),
    )
    faces = [face for body in shown for face in (body.standing.bottom, body.standing.top)]
    drawn = heights(east - west, (sheets[-1].bottom, sheets[0].top), faces)
    return _View(board=(west, east), room=room, heights=drawn, size=(room[1] - room[0]) / 50)


def _width(view: _View, parts: Sequence[Part]) -> float:
    return view.room[1] - view.room[0] + (27 if parts else 22) * view.size


def _reach(view: _View, names: Sequence[_Name], places: Sequence[float]) -> tuple[float, float]:
    """Upper and lower edge of the picture."""
    top, bottom, size = view.heights.drawn[-1], view.heights.drawn[0], view.size
    last = places[-1] - LINE * size * (len(names[-1].lines) - 1)
    return max(top, places[0]) + 2 * size, min(bottom, last) - 4 * size


def _scale_text(view: _View) -> str:
    broken = "broken where marked, " if view.heights.breaks else ""
    return f"west to east through the centre; {broken}heights × {view.heights.exaggeration}"


def _ends(result: Result) -> Interval:
    """Of the board on the cut, or of a strip round the copper where it has no outline."""
    if result.art.outline is not None:
        inside = between(result.art.outline)
        return inside[0][0], inside[-1][1]
    low, high = copper_extent(result.art)
    return low.real - 1e-3, high.real + 1e-3


def _sheets(result: Result) -> list[_Sheet]:
    """From the top mask to the bottom one."""
    stackup = result.design.board.stackup
    mask = stackup.mask_thickness
    masks = f"{'coverlay' if stackup.flexible else 'solder mask'}, {readable(mask, 'm')}"
    top = _Sheet(top=mask, bottom=0.0, says=masks, layer=0, masked=True)
    sheets, height = [top] if mask else [], 0.0
    for count, (foil, dielectric) in enumerate(zip_longest(stackup.copper, stackup.dielectric), 1):
        outer = bool(mask) and count in (1, stackup.layers)
        for thickness, says, layer in ((foil, f"copper {count}", count), (dielectric, stackup.material, 0)):
            if thickness is not None:
                told = f"{says}, {readable(thickness, 'm')}"
                low, masked = height - thickness, bool(layer) and outer
                sheets.append(_Sheet(top=height, bottom=low, says=told, layer=layer, masked=masked))
                height = low
    if mask:
        sheets.append(_Sheet(top=height, bottom=height - mask, says=masks, layer=0, masked=True))
    return sheets


def _described(result: Result, view: _View, shown: Sequence[Shown]) -> str:
    stackup = result.design.board.stackup
    layers = "one copper layer" if stackup.layers == 1 else f"{stackup.layers} copper layers"
    told = "".join(f" {each.name.capitalize()}: {each.material}, {each.measures}." for each in shown)
    return (
        f"A cut from west to east through the coil's centre, seen from the south: {layers} on "
        f"{stackup.material}, {readable(stackup.thickness, 'm')} thick, "
        f"heights {view.heights.exaggeration} times larger than widths.{told}"
    )


def _up(view: _View, height: float) -> float:
    return view.heights.up(height)


def _add_sheets(root: Element, result: Result, sheets: list[_Sheet], view: _View) -> None:
    pocket = between(result.art.pocket) if result.art.pocket is not None else []
    drilled = holes(result.art)
    board = without(view.board, merged([*pocket, *drilled]))
    layers = result.art.copper_layers
    for sheet in sheets:
        group = add(root, "g", class_="sheet")
        group.set("shape-rendering", "crispEdges")
        add(group, "title", sheet.says)
        _add_boxes(group, board, sheet, view, MASK_FILL if sheet.masked else DIELECTRIC_FILL)
        if sheet.layer:
            cut = [part for piece in copper(result.art, sheet.layer) for part in without(piece, drilled)]
            group.set("id", f"section-copper-{sheet.layer}")
            _add_boxes(group, cut, sheet, view, colour(sheet.layer, layers))
    _add_barrels(root, drilled, sheets, view)


def _add_boxes(parent: Element, cut: list[Interval], sheet: _Sheet, view: _View, fill: str) -> None:
    for low, high in cut:
        add(
            parent,
            "rect",
            x=number(low),
            y=number(-_up(view, sheet.top)),
            width=number(high - low),
            height=number(_up(view, sheet.top) - _up(view, sheet.bottom)),
            fill=fill,
        )


def _add_barrels(root: Element, drilled: list[Interval], sheets: list[_Sheet], view: _View) -> None:
    """The plated walls of holes; drill sizes are finished ones, so the copper stands outside."""
    foils = [sheet for sheet in sheets if sheet.layer]
    wall = _Sheet(top=foils[0].top, bottom=foils[-1].bottom, says="", layer=0, masked=False)
    group = add(root, "g", class_="barrels")
    walls = [
        side for low, high in drilled for side in ((low - BARREL_PLATING, low), (high, high + BARREL_PLATING))
    ]
    _add_boxes(group, walls, wall, view, INK)


def _add_bodies(root: Element, parts: Sequence[Part], view: _View) -> None:
    if not parts:
        return
    add_hatches(root, view.size)
    for part in parts:
        add_part(root, part, view.room, view.heights, view.size)


def _add_breaks(root: Element, view: _View) -> None:
    """Two wavy lines across the picture where heights are left out, bare between them."""
    (west, east), size = view.room, view.size
    for height in view.heights.breaks:
        group = add(root, "g", class_="break")
        add(group, "title", "heights are left out here")
        upper = _wave(west, east, height + 0.45 * size, size)
        lower = _wave(west, east, height - 0.45 * size, size)
        band = f"M{' L'.join(upper)} L{' L'.join(reversed(lower))} Z"
        add(group, "path", d=band, fill=AIR, class_="paper")
        for line in (upper, lower):
            edge = f"M{' L'.join(line)}"
            add(group, "path", d=edge, fill="none", stroke=INK, stroke_width=number(0.07 * size))


def _wave(west: float, east: float, height: float, size: float) -> list[str]:
    count = 24
    step = (east - west) / count
    return [
        f"{number(west + k * step)} {number(-height + (0.25 if k % 2 else -0.25) * size)}"
        for k in range(count + 1)
    ]


def _names(sheets: list[_Sheet], parts: Sequence[Part], view: _View) -> list[_Name]:
    """Of sheets and bodies, from the highest to the lowest."""
    names = [
        _Name(
            lines=(sheet.says,),
            height=_up(view, (sheet.top + sheet.bottom) / 2),
            edge=view.board[1],
            bold=bool(sheet.layer),
        )
        for sheet in sheets
    ]
    return sorted([*names, *(_body_name(part, view) for part in parts)], key=lambda name: -name.height)


def _body_name(part: Part, view: _View) -> _Name:
    """A body in the pocket that bears its name needs no line across the board."""
    body, size = part.body, view.size
    low, high = _up(view, body.standing.bottom), _up(view, body.standing.top)
    says = _unbroken(f"{body.name}: {body.material}, {body.measures}{_where(part)}")
    bare = body.inside and named_inside(part, (low, high), size)
    edge = max((east for _, east in part.pieces), default=view.room[1])
    return _Name(
        lines=tuple(textwrap.wrap(says, NAME_LENGTH)),
        height=high + 1e-9 if bare else (low + high) / 2,
        edge=None if bare else edge,
        bold=False,
    )


def _unbroken(text: str) -> str:
    """Numbers stay with their units when lines are wrapped."""
    return text.replace(" mm", "\u00a0mm").replace(" × ", "\u00a0×\u00a0")


def _where(part: Part) -> str:
    if not part.pieces:
        return ", past the end of the picture"
    return ", beside the cut" if part.beside else ""


def _name_places(names: Sequence[_Name], size: float) -> list[float]:
    """Heights of the first lines, each at its own height or under the name before; pushed up as a whole."""
    places = [names[0].height]
    for before, name in pairwise(names):
        places.append(min(name.height, places[-1] - LINE * size * len(before.lines)))
    over = max((names[-1].height - places[-1]) / 2, 0.0)
    return [place + over for place in places]


def _add_names(root: Element, names: Sequence[_Name], places: Sequence[float], view: _View) -> None:
    group = add(root, "g", class_="names", fill=INK)
    edge, size = view.room[1], view.size
    for name, place in zip(names, places, strict=True):
        if name.edge is not None:
            way = f"M{number(name.edge)} {number(-name.height)} H{number(edge)}"
            bend = f"L{number(edge + 1.5 * size)} {number(-place)} h{number(size)}"
            add(group, "path", d=f"{way} {bend}", fill="none", stroke=INK, stroke_width=number(0.07 * size))
        for count, line in enumerate(name.lines):
            at = complex(edge + 2.9 * size, place - 0.36 * size - count * LINE * size)
            add_text(group, line, at, size, font_weight="bold" if name.bold else "normal")
