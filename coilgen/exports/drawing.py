"""SVG picture of the board, exact and true to scale: all layers, each layer alone, sizes, findings."""

from coilgen.art import Art
from coilgen.export import Export
from coilgen.exports._annotations import (
    add_dimension,
    add_finding_marks,
    add_scale_bar,
)
from coilgen.exports._sheet import LISTED_FINDINGS, PANEL_SCALE, Sheet, panel_count, sheet_of
from coilgen.exports._svg import INK, Element, add, add_centred, add_disc, add_path, add_text, number, written
from coilgen.geometry.extent import extent
from coilgen.geometry.path import LARGEST_GAP, Path
from coilgen.geometry.point import Point
from coilgen.result import Result
from coilgen.units import in_mm

BOARD_FILL = "#f1eee7"
COPPER_RAMP = ("#10204a", "#3a2b86", "#84307f", "#c04a62", "#de7746", "#eda63a")
"""Copper from the top layer to the bottom one. Every step is lighter than the one before, so that layers stay
apart in greyscale and for the colour blind: the principle of Nuñez, Anderton, Renslow, PLOS ONE, 2018."""


def files(result: Result) -> dict[str, bytes]:
    """One file, in groups: the view with its layers, dimensions, panels of single layers, caption."""
    sheet = sheet_of(result)
    root = _root(result, sheet)
    _add_view(root, result, sheet)
    _add_dimensions(root, result, sheet)
    _add_panels(root, result.art, sheet)
    _add_caption(root, result, sheet)
    return {f"{result.design.name}.svg": written(root)}


def colour(layer: int, layers: int) -> str:
    """Of a copper layer, 1 = top.

    >>> colour(1, 2), colour(2, 2)
    ('#10204a', '#eda63a')
    """
    place = (layer - 1) / max(layers - 1, 1) * (len(COPPER_RAMP) - 1)
    step = min(int(place), len(COPPER_RAMP) - 2)
    pairs = zip(_rgb(COPPER_RAMP[step]), _rgb(COPPER_RAMP[step + 1]), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * (place - step)):02x}" for a, b in pairs)


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour[1:]))


def _root(result: Result, sheet: Sheet) -> Element:
    width, height = sheet.right - sheet.left, sheet.top - sheet.bottom
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{number(width)}mm",
            "height": f"{number(height)}mm",
            "viewBox": f"{number(sheet.left)} {number(-sheet.top)} {number(width)} {number(height)}",
            "role": "img",
            "aria-labelledby": "drawing-title drawing-description",
            "font-family": "DejaVu Sans, Verdana, Arial, sans-serif",
        },
    )
    add(root, "title", f"Coil {result.design.name}", id="drawing-title")
    add(root, "desc", " ".join((*sheet.caption, *sheet.listed)), id="drawing-description")
    corner = {"x": number(sheet.left), "y": number(-sheet.top)}
    add(root, "rect", **corner, width=number(width), height=number(height), fill="#ffffff")
    return root


def _add_view(root: Element, result: Result, sheet: Sheet) -> None:
    view = add(root, "g", id="view")
    _add_board(view, result.art, sheet.size)
    for layer in range(result.art.copper_layers, 0, -1):
        _add_copper(view, result.art, layer)
    _add_openings(view, result.art)
    _add_holes(view, result.art)
    _add_legend(view, result.art)
    _add_terminals(view, result)
    add_finding_marks(view, result.findings[:LISTED_FINDINGS], sheet.size)


def _add_board(view: Element, art: Art, size: float) -> None:
    board = add(view, "g", id="board", fill=BOARD_FILL, stroke=INK, stroke_width=number(0.1 * size))
    if art.outline is not None:
        add_path(board, art.outline, id="board-profile")
    if art.pocket is not None:
        add_path(board, art.pocket, id="core-pocket", fill="#ffffff")


def _add_copper(view: Element, art: Art, layer: int) -> None:
    own = colour(layer, art.copper_layers)
    group = add(view, "g", id=f"copper-{layer}")
    add(group, "title", _layer_name(layer, art.copper_layers))
    traces = add(
        group, "g", class_="traces", fill="none", stroke=own, stroke_linecap="round", stroke_linejoin="round"
    )
    for trace in art.traces_on(layer):
        add_path(traces, trace.path, stroke_width=number(trace.width))
    pads = add(group, "g", class_="pads", fill=own)
    for pad in art.pads_on(layer):
        add_disc(pads, pad.at, pad.diameter)


def _layer_name(layer: int, layers: int) -> str:
    place = ", top" if layer == 1 else ", bottom" if layer == layers else ""
    return f"copper {layer} of {layers}{place}"


def _add_openings(view: Element, art: Art) -> None:
    """Rings: thin on the top, dashed on the bottom."""
    for side, dashes in (("bottom", "0.3 0.2"), ("top", "none")):
        group = add(view, "g", id=f"openings-{side}", fill="none", stroke="#7a7f87", stroke_width="0.05")
        group.set("stroke-dasharray", dashes)
        for opening in (opening for opening in art.openings if opening.side == side):
            add_disc(group, opening.at, opening.diameter)


def _add_holes(view: Element, art: Art) -> None:
    group = add(view, "g", id="holes", fill="#ffffff")
    for hole in art.holes:
        add_disc(group, hole.at, hole.diameter, class_="plated" if hole.plated else "unplated")


def _add_legend(view: Element, art: Art) -> None:
    group = add(view, "g", id="legend", fill="none", stroke="#5b6068")
    group.set("stroke-linecap", "round")
    group.set("stroke-linejoin", "round")
    for stroke in art.legend:
        add_path(group, stroke.path, stroke_width=number(stroke.width))


def _add_terminals(view: Element, result: Result) -> None:
    """The number stands in the hole, or white on a surface pad."""
    group = add(view, "g", id="terminals", font_weight="bold")
    for terminal in result.coil.terminals:
        room, ink = (terminal.drill, INK) if terminal.drill else (terminal.pad, "#ffffff")
        add_centred(group, str(terminal.number), terminal.at, 0.8 * room, fill=ink)


def _add_dimensions(root: Element, result: Result, sheet: Sheet) -> None:
    group = add(root, "g", id="dimensions")
    low, high, size = sheet.low, sheet.high, sheet.size
    _add_winding_size(group, result, sheet)
    if result.art.pocket is not None and result.design.pocket is not None:
        _add_pocket_size(group, result.art.pocket, result.design.pocket.size, size)
    if result.art.outline is None:
        return
    feet = complex(low.real, low.imag), complex(high.real, low.imag)
    down = complex(0, sheet.board_width - low.imag)
    add_dimension(group, feet[0] + down, feet[1] + down, in_mm(high.real - low.real), size, feet)
    if abs((high.real - low.real) - (high.imag - low.imag)) > LARGEST_GAP:
        feet = complex(high.real, low.imag), high
        add_dimension(group, feet[0] + 2 * size, feet[1] + 2 * size, in_mm(high.imag - low.imag), size, feet)


def _add_winding_size(group: Element, result: Result, sheet: Sheet) -> None:
    """Under the board when level, else left of it."""
    start, end = sheet.span
    if sheet.level:
        at = complex(0, sheet.low.imag - 2 * sheet.size)
        feet = sheet.span
    else:
        at = complex(sheet.low.real - 3 * sheet.size, 0)
        edge = _northwest(result.art)
        feet = start + edge, end + edge
    add_dimension(group, start + at, end + at, in_mm(result.design.winding.outer_size), sheet.size, feet)


def _add_pocket_size(group: Element, pocket: Path, across: float, size: float) -> None:
    """Inside the pocket, upright where it measures its size so, else level."""
    low, high = extent(pocket)
    half = (0.5j if abs(high.imag - low.imag - across) < LARGEST_GAP else 0.5) * across
    add_dimension(group, -half, half, in_mm(across), min(size, across / 6))


def _northwest(art: Art) -> float:
    """x of the west end of the traces' north edge, where what is measured begins."""
    tips = [
        piece.at(part) for trace in art.traces for piece in trace.path.segments for part in (0.0, 0.5, 1.0)
    ]
    north = max(tip.imag for tip in tips) - max(trace.width for trace in art.traces)
    return min(tip.real for tip in tips if tip.imag >= north)


def _add_panels(root: Element, art: Art, sheet: Sheet) -> None:
    """Each copper layer alone with its board, at a smaller scale; none where there is one layer only."""
    group = add(root, "g", id="panels")
    for index in range(panel_count(art)):
        layer = index + 1
        row, column = index % 2, index // 2
        corner = complex(
            sheet.panels_left + column * sheet.panel.real, sheet.high.imag - row * sheet.panel.imag
        )
        _add_panel(group, art, layer, corner, sheet)


def _add_panel(group: Element, art: Art, layer: int, corner: Point, sheet: Sheet) -> None:
    """corner: upper left of the panel, its heading included."""
    size = 0.8 * sheet.size
    heading = corner - 1.2j * sheet.size
    add_disc(group, heading + 0.5 * size + 0.36j * size, size, fill=colour(layer, art.copper_layers))
    add_text(group, _layer_name(layer, art.copper_layers), heading + 1.4 * size, size, fill=INK)
    upper_left = complex(sheet.low.real, sheet.high.imag)
    shift = corner - 2j * sheet.size - upper_left * PANEL_SCALE
    place = f"translate({number(shift.real)} {number(-shift.imag)}) scale({PANEL_SCALE})"
    panel = add(group, "g", transform=place)
    for part in ("board", f"copper-{layer}", "holes"):
        add(panel, "use", href=f"#{part}")


def _add_caption(root: Element, result: Result, sheet: Sheet) -> None:
    group = add(root, "g", id="caption", fill=INK)
    size = sheet.size
    heading = complex(sheet.left + 1.5 * size, sheet.top - 2.2 * size)
    add_text(group, result.design.name, heading, 1.5 * size, font_weight="bold")
    if result.design.note:
        add_text(group, result.design.note, heading - 1.6j * size, size)
    add_scale_bar(
        group,
        complex(sheet.low.real, sheet.board_width - 2.6 * size),
        (sheet.high.real - sheet.low.real) / 3,
        size,
    )
    for index, line in enumerate((*sheet.caption, *sheet.listed)):
        at = complex(sheet.left + 1.5 * size, sheet.caption_top - 1.5 * size * index)
        add_text(group, line, at, 0.9 * size)


EXPORT = Export(
    name="drawing", says="SVG: the board true to scale, layer by layer, with findings", files=files
)
