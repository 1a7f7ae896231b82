"""The page of a panel: its picture, its key, what is found, and what its coupons should read."""

from collections.abc import Mapping, Sequence

from coilgen import __version__
from coilgen.exports.page._table import add_rows, add_table
from coilgen.exports.page._words import typeset, words
from coilgen.exports.page.page import add_count, document
from coilgen.exports.picture._board_view import BOARD_FILL, colour
from coilgen.exports.picture._svg import INK, Element, add, add_centred, add_disc, add_path, number, written
from coilgen.job import ESTIMATE
from coilgen.result.figure import Figure
from coilgen.result.figure_text import band_text, value_text
from coilgen.result.result import Result
from coilgen.result.rule import Finding
from coilgen.study.panel.coupon_text import READ, read_rows, readings
from coilgen.study.panel.expected import EXPECTED, by_winding
from coilgen.study.panel.panel import Panel, PlacedBoard, told

_MARGIN = 2e-3
_SCORE = "#d21f3c"


def picture(panel: Panel) -> Element:
    """The panel from the top, true to scale: copper, holes, cuts, print, scores; labels over the boards."""
    size = panel.plan.size
    box = (-_MARGIN, -size.imag - _MARGIN, size.real + 2 * _MARGIN, size.imag + 2 * _MARGIN)
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": " ".join(number(each) for each in box),
            "width": f"{number(box[2])}mm",
            "height": f"{number(box[3])}mm",
            "font-family": "DejaVu Sans, Verdana, Arial, sans-serif",
            "role": "img",
        },
    )
    add(root, "title", f"Panel {panel.name}, from the top")
    _add_board(root, panel)
    _add_copper(root, panel)
    _add_print(root, panel)
    _add_labels(root, panel)
    return root


def picture_file(panel: Panel) -> bytes:
    """The same as a file."""
    return written(picture(panel))


def _add_board(root: Element, panel: Panel) -> None:
    group = add(root, "g", id="panel", fill=BOARD_FILL, stroke=INK, stroke_width="0.1")
    add_path(group, panel.plan.outline, id="panel-edge")
    for pocket in panel.art.pockets:
        add_path(group, pocket, fill="#ffffff")


def _add_copper(root: Element, panel: Panel) -> None:
    layers = panel.art.copper_layers
    for layer in range(layers, 0, -1):
        own = colour(layer, layers)
        group = add(root, "g", id=f"copper-{layer}", fill="none", stroke=own)
        group.set("stroke-linecap", "round")
        group.set("stroke-linejoin", "round")
        for trace in panel.art.traces_on(layer):
            add_path(group, trace.path, stroke_width=number(trace.width))
        for pad in panel.art.pads_on(layer):
            if pad.span:
                add_path(group, pad.path, fill=own, stroke="none")
            else:
                add_disc(group, pad.at, pad.diameter, fill=own, stroke="none")
    holes = add(root, "g", id="holes", fill="#ffffff")
    for hole in panel.art.holes:
        add_disc(holes, hole.at, hole.diameter)


def _add_print(root: Element, panel: Panel) -> None:
    group = add(root, "g", id="legend", fill="none", stroke="#5b6068")
    group.set("stroke-linecap", "round")
    for stroke in panel.art.legend:
        add_path(group, stroke.path, stroke_width=number(stroke.width))
    scores = add(root, "g", id="scores", stroke=_SCORE, stroke_width="0.25", stroke_dasharray="2 1")
    for line in panel.plan.scores:
        add_path(scores, line)


def _add_labels(root: Element, panel: Panel) -> None:
    group = add(root, "g", id="labels", font_weight="bold", fill=INK)
    for each in panel.boards:
        label = add_centred(group, each.board.label, each.middle, 4e-3)
        label.set("stroke", BOARD_FILL)
        label.set("stroke-width", "1")
        label.set("paint-order", "stroke")


def page(panel: Panel, results: Mapping[str, Result], findings: Sequence[Finding]) -> bytes:
    """One self-contained HTML file."""
    main = Element("main", {"id": "coil"})
    header = add(main, "header")
    add(header, "h1", panel.name)
    if panel.asked.note:
        add(header, "p", panel.asked.note, class_="note")
    add_count(header, len(findings))
    add(main, "p", f"{_counted(panel)} {ESTIMATE}")
    drawn = picture(panel)
    drawn.set("style", "display: block; width: 100%; height: auto; max-height: 80vh")
    add(add(main, "div", class_="board"), "figure").append(drawn)
    _add_key(main, panel, results)
    _add_findings(main, findings)
    _add_coupons(main, panel)
    add(
        main,
        "footer",
        f"coilgen {__version__}. Lengths in mm, seen from the top, from the lower left corner.",
    )
    return document(panel.name, [main])


def _counted(panel: Panel) -> str:
    size = panel.plan.size * 1e3
    ways = {
        "v-score": f"{len(panel.plan.scores)} scores (dashed)",
        "tabs": f"{sum(len(each.perforations) for each in panel.cuts)} tabs",
        "none": "nothing cut: saw them apart along the printed edges",
    }
    return (
        f"{len(panel.boards)} boards on {size.real:.1f} × {size.imag:.1f} mm, {ways[panel.plan.separation]}."
    )


def _add_key(main: Element, panel: Panel, results: Mapping[str, Result]) -> None:
    section = add(main, "section")
    add(section, "h2", "Which board is what")
    add(section, "p", "Expected of the bare board at 20 °C, with the range that holds 95 %.")
    several = len({each.board.design.name for each in panel.boards}) > 1
    heads = ("label", "variants", "middle x, y", *(words(name) for name in EXPECTED))
    rows = [
        (
            each.board.label if not winding else f"{each.board.label}, {winding}",
            told(each.board, several=several),
            _where(each),
            *(_value(figures.get(name)) for name in EXPECTED),
        )
        for each in panel.boards
        for winding, figures in by_winding(results[each.board.label])
    ]
    add_rows(add_table(section, heads, "boards"), rows)


def _where(placed: PlacedBoard) -> str:
    middle = placed.middle * 1e3
    return f"{middle.real:.2f}, {middle.imag:.2f}{', turned' if placed.turned else ''}"


def _value(figure: Figure | None) -> str:
    return "" if figure is None else typeset(f"{value_text(figure)} ({band_text(figure)})")


def _add_findings(main: Element, findings: Sequence[Finding]) -> None:
    if not findings:
        return
    section = add(main, "section", id="findings-section")
    add(section, "h2", "Findings")
    rows = [(words(finding.rule), finding.says) for finding in findings]
    add_rows(add_table(section, ("rule", "what"), "findings"), rows)


def _add_coupons(main: Element, panel: Panel) -> None:
    if not panel.coupons:
        return
    section = add(main, "section")
    add(section, "h2", "Coupons")
    for text in readings(panel.coupons):
        add(section, "p", typeset(text))
    rows = [tuple(map(typeset, row)) for row in read_rows(panel.coupons)]
    add_rows(add_table(section, READ, "coupons"), rows)
