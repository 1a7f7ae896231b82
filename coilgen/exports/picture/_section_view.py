"""The cut through the board as a picture: layers at exaggerated heights, with names and thicknesses."""

from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import replace

from coilgen.artwork.last_asked import for_last
from coilgen.exports.picture._board_view import colour
from coilgen.exports.picture._bodies import Shown, bodies
from coilgen.exports.picture._mover_bodies import cut_mover_bodies
from coilgen.exports.picture._section import Interval, between, copper, holes, merged, without
from coilgen.exports.picture._section_bodies import Part, add_hatches, add_part, part_of
from coilgen.exports.picture._section_names import LINE, Name, add_names, name_places, names_of
from coilgen.exports.picture._section_sheets import Sheet, View, sheets_of, up, view_of
from coilgen.exports.picture._svg import INK, Element, add, add_text, number
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import BARREL_PLATING
from coilgen.layout.seen import section_level
from coilgen.result.result import Result
from coilgen.units import in_mm, readable

DIELECTRIC_FILL, MASK_FILL, AIR = "#e6dcc0", "#7d9b8f", "#ffffff"
STIFFENER_FILL = "#b9a66b"


def section_svg(result: Result) -> Element:
    """The picture, in mm across; heights are as many times larger as it says."""
    return deepcopy(_section(result))


@for_last  # asked for by its file and by the page
def _section(result: Result) -> Element:
    level = section_level(result.design)
    if level:
        result = replace(result, art=result.art.moved(Isometry(shift=-1j * level)))
    sheets = sheets_of(result)
    shown = (*_at_level(bodies(result.design), level), *cut_mover_bodies(result.design))
    view = view_of(result, sheets, shown)
    parts = [part_of(body, view.room) for body in shown]
    names = names_of(sheets, parts, view)
    places = name_places(names, view.size)
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
    add(root, "desc", _described(result, view, shown, level), id="section-description")
    paper = {"x": number(left), "y": number(-high), "width": number(width), "height": number(high - low)}
    add(root, "rect", **paper, fill=AIR, class_="paper")
    _add_sheets(root, result, sheets, view)
    _add_bodies(root, parts, view)
    _add_breaks(root, view)
    add_names(root, names, places, view)
    foot = complex(view.room[0], low + 1.2 * view.size)
    add_text(root, _scale_text(view, level), foot, view.size, fill=INK, class_="scale")
    return root


def _at_level(shown: Sequence[Shown], level: float) -> Iterator[Shown]:
    """Bodies where a cut at a level north of the centre, m, finds them.

    Of a core in every coil those that it cuts, or where it cuts none the first; the easternmost is named.
    """
    moved = [_north(body, -level) for body in shown]
    for name in dict.fromkeys(body.name for body in moved):
        alike = [body for body in moved if body.name == name]
        if not alike[0].repeated:
            yield from alike
            continue
        cut = [body for body in alike if between(body.outline)] or alike[:1]
        last = max(cut, key=lambda body: extent(body.outline)[1].real)
        yield from (replace(body, named=body is last) for body in cut)


def _north(body: Shown, by: float) -> Shown:
    if not by:
        return body
    lies = Isometry(shift=1j * by)
    hole = None if body.hole is None else body.hole.moved(lies)
    return replace(body, outline=body.outline.moved(lies), hole=hole)


def _width(view: View, parts: Sequence[Part]) -> float:
    return view.room[1] - view.room[0] + (27 if parts else 22) * view.size


def _reach(view: View, names: Sequence[Name], places: Sequence[float]) -> tuple[float, float]:
    """Upper and lower edge of the picture."""
    top, bottom, size = view.heights.drawn[-1], view.heights.drawn[0], view.size
    last = places[-1] - LINE * size * (len(names[-1].lines) - 1)
    return max(top, places[0]) + 2 * size, min(bottom, last) - 4 * size


def _scale_text(view: View, level: float) -> str:
    broken = "broken where marked, " if view.heights.breaks else ""
    return f"{_way(level)}; {broken}heights × {view.heights.exaggeration}"


def _way(level: float) -> str:
    return f"west to east at y = {in_mm(level)}" if level else "west to east through the centre"


def _described(result: Result, view: View, shown: Sequence[Shown], level: float) -> str:
    stackup = result.design.board.stackup
    layers = "one copper layer" if stackup.layers == 1 else f"{stackup.layers} copper layers"
    lines = (f" {each.name.capitalize()}: {each.material}, {each.measures}." for each in shown)
    told = "".join(dict.fromkeys(lines))
    return (
        f"A cut from {_way(level)}, seen from the south: {layers} on "
        f"{stackup.material}, {readable(stackup.thickness, 'm')} thick, "
        f"heights {view.heights.exaggeration} times larger than widths.{told}"
    )


def _add_sheets(root: Element, result: Result, sheets: list[Sheet], view: View) -> None:
    pockets = [part for pocket in result.art.pockets for part in between(pocket)]
    drilled = holes(result.art)
    cut_out = merged([*pockets, *drilled])
    board = without(view.board, cut_out)
    layers = result.art.copper_layers
    for sheet in sheets:
        group = add(root, "g", class_="sheet")
        group.set("shape-rendering", "crispEdges")
        add(group, "title", sheet.says)
        lies = (
            board
            if sheet.parts is None
            else [part for each in sheet.parts for part in without(each, cut_out)]
        )
        _add_boxes(group, lies, sheet, view, _fill(sheet))
        if sheet.layer:
            cut = [part for piece in copper(result.art, sheet.layer) for part in without(piece, drilled)]
            group.set("id", f"section-copper-{sheet.layer}")
            _add_boxes(group, cut, sheet, view, colour(sheet.layer, layers))
            _add_hairlines(group, cut, sheet, view, colour(sheet.layer, layers))
    _add_barrels(root, drilled, sheets, view)


def _fill(sheet: Sheet) -> str:
    if sheet.parts is not None:
        return STIFFENER_FILL
    return MASK_FILL if sheet.masked else DIELECTRIC_FILL


def _add_boxes(parent: Element, cut: list[Interval], sheet: Sheet, view: View, fill: str) -> None:
    for low, high in cut:
        add(
            parent,
            "rect",
            x=number(low),
            y=number(-up(view, sheet.top)),
            width=number(high - low),
            height=number(up(view, sheet.top) - up(view, sheet.bottom)),
            fill=fill,
        )


def _add_hairlines(parent: Element, cut: list[Interval], sheet: Sheet, view: View, stroke: str) -> None:
    """Along the middle of copper, so that thin foil does not vanish between the dots of a screen."""
    height = number(-up(view, (sheet.top + sheet.bottom) / 2))
    line = " ".join(f"M{number(low)} {height} H{number(high)}" for low, high in cut)
    if line:
        drawn = add(parent, "path", d=line, fill="none", stroke=stroke, stroke_width=number(0.11 * view.size))
        drawn.set("shape-rendering", "geometricPrecision")


def _add_barrels(root: Element, drilled: list[Interval], sheets: list[Sheet], view: View) -> None:
    """The plated walls of holes; drill sizes are finished ones, so the copper stands outside."""
    foils = [sheet for sheet in sheets if sheet.layer]
    wall = Sheet(top=foils[0].top, bottom=foils[-1].bottom, says="", layer=0, masked=False)
    group = add(root, "g", class_="barrels")
    walls = [
        side for low, high in drilled for side in ((low - BARREL_PLATING, low), (high, high + BARREL_PLATING))
    ]
    _add_boxes(group, walls, wall, view, INK)


def _add_bodies(root: Element, parts: Sequence[Part], view: View) -> None:
    if not parts:
        return
    add_hatches(root, view.size)
    for part in parts:
        add_part(root, part, view.room, view.heights, view.size)


def _add_breaks(root: Element, view: View) -> None:
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
