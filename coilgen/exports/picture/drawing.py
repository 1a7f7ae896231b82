"""SVG picture of the board, exact and true to scale: all layers, each layer alone, sizes, findings."""

from coilgen.artwork.art import Art
from coilgen.exports.picture._annotations import add_scale_bar
from coilgen.exports.picture._board_view import add_dimensions, add_view, colour, layer_name
from coilgen.exports.picture._sheet import PANEL_SCALE, Sheet, panel_count, sheet_of
from coilgen.exports.picture._svg import INK, Element, add, add_disc, add_text, fit_screen, number, written
from coilgen.geometry.point import Point
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file, in groups: the view with its layers, dimensions, panels of single layers, caption."""
    sheet = sheet_of(result)
    root = _root(result, sheet)
    add_view(root, result, sheet)
    add_dimensions(root, result, sheet)
    _add_panels(root, result.art, sheet)
    _add_caption(root, result, sheet)
    return {f"{result.design.name}.svg": written(root)}


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
    fit_screen(root)
    add(root, "title", f"Coil {result.design.name}", id="drawing-title")
    add(root, "desc", " ".join((*sheet.caption, *sheet.listed)), id="drawing-description")
    corner = {"x": number(sheet.left), "y": number(-sheet.top)}
    add(root, "rect", **corner, width=number(width), height=number(height), fill="#ffffff")
    return root


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
    add_text(group, layer_name(layer, art.copper_layers), heading + 1.4 * size, size, fill=INK)
    upper_left = complex(sheet.low.real, sheet.high.imag)
    shift = corner - 2j * sheet.size - upper_left * PANEL_SCALE
    place = f"translate({number(shift.real)} {number(-shift.imag)}) scale({PANEL_SCALE})"
    panel = add(group, "g", transform=place)
    for part in ("board", f"copper-{layer}", f"current-{layer}", "holes"):
        add(panel, "use", href=f"#{part}")


def _add_caption(root: Element, result: Result, sheet: Sheet) -> None:
    group = add(root, "g", id="caption", fill=INK)
    size = sheet.size
    heading = complex(sheet.left + 1.5 * size, sheet.top - 2.2 * size)
    room = sheet.right - sheet.left - 3 * size
    letters = min(1.5 * size, room / (0.72 * len(result.design.name)))
    add_text(group, result.design.name, heading, letters, font_weight="bold")
    for index, line in enumerate(sheet.note):
        add_text(group, line, heading - (1.6 + 1.5 * index) * 1j * size, size)
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
    name="drawing",
    says="SVG: the board true to scale, layer by layer, with findings",
    reader="eye",
    paths=(
        "<name>.svg",
        "<name>.png",
    ),
    files=files,
    drawn=True,
)
