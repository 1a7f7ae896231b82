"""The cut through the board as a picture: layers at exaggerated heights, with names and thicknesses."""

from dataclasses import dataclass
from itertools import zip_longest

from coilgen.art import copper_extent
from coilgen.coil import BARREL_PLATING
from coilgen.exports._board_view import colour
from coilgen.exports._section import Interval, between, copper, holes, merged, without
from coilgen.exports._svg import INK, Element, add, add_text, number
from coilgen.result import Result
from coilgen.units import readable

EXAGGERATIONS = (1, 2, 5, 10, 20, 50, 100, 200)
DIELECTRIC_FILL, MASK_FILL, AIR = "#e6dcc0", "#7d9b8f", "#ffffff"
FLATNESS = 0.4
"""Height over width that the board is drawn with at most."""


@dataclass(frozen=True, kw_only=True)
class _View:
    """The ends of the board (m), how much heights are exaggerated, and the size of letters (m)."""

    west: float
    east: float
    exaggeration: int
    size: float


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
    view = _view(result)
    sheets = _sheets(result)
    top, bottom = (_up(view, end) for end in (sheets[0].top, sheets[-1].bottom))
    names = _name_places(view, sheets)
    width = view.east - view.west + 22 * view.size
    high, low = max(top, names[0]) + 2 * view.size, min(bottom, names[-1]) - 4 * view.size
    root = Element(
        "svg",
        {
            "class": "section",
            "width": f"{number(width)}mm",
            "height": f"{number(high - low)}mm",
            "viewBox": " ".join(number(each) for each in (view.west - view.size, -high, width, high - low)),
            "role": "img",
            "aria-labelledby": "section-title section-description",
            "font-family": "DejaVu Sans, Verdana, Arial, sans-serif",
        },
    )
    add(root, "title", f"Cut through {result.design.name}", id="section-title")
    add(root, "desc", _described(result, view), id="section-description")
    paper = {"x": number(view.west - view.size), "y": number(-high)}
    add(root, "rect", **paper, width=number(width), height=number(high - low), fill=AIR, class_="paper")
    _add_sheets(root, result, sheets, view)
    _add_names(root, sheets, names, view)
    add_text(
        root,
        f"west to east through the centre; heights × {view.exaggeration}",
        complex(view.west, low + 1.2 * view.size),
        view.size,
        fill=INK,
    )
    return root


def _view(result: Result) -> _View:
    west, east = _ends(result)
    stackup = result.design.board.stackup
    most = FLATNESS * (east - west) / (stackup.thickness + 2 * stackup.mask_thickness)
    exaggeration = max((times for times in EXAGGERATIONS if times <= most), default=1)
    return _View(west=west, east=east, exaggeration=exaggeration, size=(east - west) / 50)


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


def _described(result: Result, view: _View) -> str:
    stackup = result.design.board.stackup
    return (
        f"A cut from west to east through the coil's centre: {stackup.layers} in copper on "
        f"{stackup.material}, {readable(stackup.thickness, 'm')} thick, "
        f"heights {view.exaggeration} times larger than widths."
    )


def _up(view: _View, height: float) -> float:
    return height * view.exaggeration


def _add_sheets(root: Element, result: Result, sheets: list[_Sheet], view: _View) -> None:
    pocket = between(result.art.pocket) if result.art.pocket is not None else []
    drilled = holes(result.art)
    board = without((view.west, view.east), merged([*pocket, *drilled]))
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
            height=number(_up(view, sheet.top - sheet.bottom)),
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


def _name_places(view: _View, sheets: list[_Sheet]) -> list[float]:
    """Heights of the names, each at its sheet's middle or under the name before; pushed up as a whole."""
    wanted = [_up(view, (sheet.top + sheet.bottom) / 2) for sheet in sheets]
    line = 1.35 * view.size
    places = [wanted[0]]
    for place in wanted[1:]:
        places.append(min(place, places[-1] - line))
    over = (wanted[-1] - places[-1]) / 2
    return [place + over for place in places]


def _add_names(root: Element, sheets: list[_Sheet], places: list[float], view: _View) -> None:
    group = add(root, "g", class_="names", fill=INK)
    edge, size = view.east, view.size
    for sheet, place in zip(sheets, places, strict=True):
        middle = _up(view, (sheet.top + sheet.bottom) / 2)
        bend = (
            f"M{number(edge)} {number(-middle)} L{number(edge + 1.5 * size)} {number(-place)} h{number(size)}"
        )
        add(group, "path", d=bend, fill="none", stroke=INK, stroke_width=number(0.07 * size))
        at = complex(edge + 2.9 * size, place - 0.36 * size)
        add_text(group, sheet.says, at, size, font_weight="bold" if sheet.layer else "normal")
