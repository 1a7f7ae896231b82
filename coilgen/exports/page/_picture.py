"""The board's picture on the page, the switches of its layers, and what is under the pointer."""

from coilgen.exports.picture._board_view import (
    BOARD_FILL,
    add_dimensions,
    add_view,
    colour,
    layer_name,
)
from coilgen.exports.picture._bodies import bodies
from coilgen.exports.picture._mover_bodies import mover_bodies
from coilgen.exports.picture._sheet import Sheet, sheet_of, way_told
from coilgen.exports.picture._svg import Element, add, add_rectangle, number
from coilgen.result.result import Result

SWITCHES = (
    ("current", "current direction"),
    ("openings", "mask openings"),
    ("legend", "legend"),
    ("bodies", "bodies at the coil"),
    ("dimensions", "sizes"),
    ("finding-marks", "findings"),
)


def add_picture(main: Element, result: Result) -> None:
    """Picture and reading, switches to unfold."""
    section = add(main, "section", id="board-section", aria_labelledby="board-heading")
    add(section, "h2", "Board", id="board-heading", class_="unseen")
    frame = add(section, "div", class_="board")
    figure = add(frame, "figure")
    figure.append(picture(result))
    enters, leaves = ("odd terminals", "even ones") if result.windings else ("1", "2")
    array = result.design.array
    caption = "From the top, true to scale. " + (
        way_told(result.design)
        if array is not None and array.joined
        else f"A positive current enters at {enters}, follows the arrowheads, leaves at {leaves}."
    )
    add(figure, "figcaption", caption)
    says = "Point at the copper to read its net, layer and length."
    add(figure, "output", says, id="reading", aria_live="polite")
    folded = add(frame, "details", class_="controls")
    add(folded, "summary", "Layers, what is shown, and the way of the current")
    side = add(folded, "div")
    _add_layer_switches(side, result)
    _add_winding_switches(side, result)
    _add_other_switches(side, result)
    _add_follower(side)


def picture(result: Result) -> Element:
    """The board and its sizes as an SVG element in mm, without sheet and caption."""
    sheet = sheet_of(result)
    left, right, top, bottom = _edges(sheet)
    root = Element(
        "svg",
        {
            "id": "board-picture",
            "viewBox": " ".join(number(each) for each in (left, -top, right - left, top - bottom)),
            "role": "img",
            "aria-labelledby": "picture-title picture-description",
        },
    )
    root.set("style", f"--width: {number(right - left)}")
    add(root, "title", f"Board of {result.design.name}", id="picture-title")
    add(root, "desc", " ".join(sheet.caption), id="picture-description")
    if result.art.outline is None:
        _add_ground(root, sheet)
    add_view(root, result, sheet)
    add_dimensions(root, result, sheet)
    _add_locator(root, sheet)
    return root


def _edges(sheet: Sheet) -> tuple[float, float, float, float]:
    size = sheet.size
    left = sheet.low.real - sheet.beside
    return left, sheet.high.real + 6 * size, sheet.high.imag + 1.5 * size, sheet.board_width - 1.5 * size


def _add_ground(root: Element, sheet: Sheet) -> None:
    """Behind copper without a board, so that it shows on any page."""
    add_rectangle(root, sheet.low, sheet.high, fill=BOARD_FILL)


def _add_locator(root: Element, sheet: Sheet) -> None:
    """A ring that the script moves to the place that is read."""
    ring = add(root, "circle", id="locator", r=number(0.8 * sheet.size), cx="0", cy="0", fill="none")
    ring.set("visibility", "hidden")
    ring.set("stroke-width", number(0.3 * sheet.size))


def _add_layer_switches(side: Element, result: Result) -> None:
    layers = result.art.copper_layers
    group = add(side, "fieldset")
    add(group, "legend", "Copper")
    for layer in range(1, layers + 1):
        label = add(group, "label")
        add(label, "input", type="checkbox", checked="checked", data_shows=f"copper-{layer}")
        swatch = add(label, "span", class_="swatch", aria_hidden="true")
        swatch.set("style", f"background: {colour(layer, layers)}")
        swatch.tail = f" {layer_name(layer, layers).removeprefix('copper ')}"
    if layers > 1:
        add(group, "button", "all layers", type="button", id="all-layers")
        add(group, "button", "one at a time", type="button", id="next-layer")


def _add_winding_switches(side: Element, result: Result) -> None:
    if not result.windings:
        return
    group = add(side, "fieldset")
    add(group, "legend", "Windings")
    for each in result.windings:
        label = add(group, "label")
        box = add(label, "input", type="checkbox", checked="checked", data_shows=f"net {each.name}")
        box.tail = f" {each.name}"


def _add_other_switches(side: Element, result: Result) -> None:
    group = add(side, "fieldset")
    add(group, "legend", "Shown")
    absent = {
        name
        for name, there in (
            ("finding-marks", result.findings),
            ("bodies", (*bodies(result.design), *mover_bodies(result.design))),
        )
        if not there
    }
    for name, says in SWITCHES:
        if name in absent:
            continue
        label = add(group, "label")
        box = add(label, "input", type="checkbox", checked="checked", data_shows=name)
        box.tail = f" {says}"


def _add_follower(side: Element) -> None:
    """What pointing tells, as a slider for those who do not point."""
    group = add(side, "fieldset")
    add(group, "legend", "Way of the current")
    label = add(group, "label", class_="follow")
    label.text = "Follow the current from terminal 1"
    add(label, "input", type="range", id="follow", min="0", max="10000", step="1", value="0")
