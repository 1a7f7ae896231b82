"""The board as one looks at it from the top: its parts in groups with names, and its sizes."""

from itertools import accumulate

from coilgen.artwork.art import Art, Pad
from coilgen.artwork.last_asked import for_last
from coilgen.artwork.legend import is_printed
from coilgen.design.board import Pocket
from coilgen.design.design import Design
from coilgen.exports.picture._annotations import add_dimension, add_finding_marks
from coilgen.exports.picture._body_outlines import add_body_outlines
from coilgen.exports.picture._current_marks import add_current_marks
from coilgen.exports.picture._flexing import add_flexing
from coilgen.exports.picture._free_place import Box, drawn_boxes, pad_boxes, path_box
from coilgen.exports.picture._sheet import LISTED_FINDINGS, Sheet
from coilgen.exports.picture._svg import (
    INK,
    Element,
    add,
    add_centred,
    add_disc,
    add_path,
    number,
)
from coilgen.geometry.extent import extent
from coilgen.geometry.path import LARGEST_GAP, Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import NET, Coil, Trace
from coilgen.result.result import Result
from coilgen.units import in_mm

BOARD_FILL = "#f1eee7"
COPPER_RAMP = ("#10204a", "#3a2b86", "#84307f", "#c04a62", "#de7746", "#eda63a")
"""Copper from the top layer to the bottom one. Every step is lighter than the one before, so that layers stay
apart in greyscale and for the colour blind: the principle of Nuñez, Anderton, Renslow, PLOS ONE, 2018."""


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


def add_view(root: Element, result: Result, sheet: Sheet) -> None:
    """Everything of the board in one group, true to scale, top copper in front."""
    _add_current_marks(root, result.art, sheet.size)
    view = add(root, "g", id="view", data_net=NET)
    _add_board(view, result.art, sheet.size)
    for layer in range(result.art.copper_layers, 0, -1):
        _add_copper(view, result, layer)
    _add_openings(view, result.art)
    taken = _taken(result, sheet)
    add_flexing(view, result, sheet.size, taken)
    _add_holes(view, result.art)
    _add_legend(view, result.art)
    add(add(view, "g", id="current"), "use", href="#current-1")
    _add_terminals(view, result)
    add_body_outlines(view, result.design, result.art, sheet, taken)
    _add_names(view, result, sheet.size)
    add_finding_marks(view, result.findings[:LISTED_FINDINGS], taken, sheet.size)


def _taken(result: Result, sheet: Sheet) -> list[Box]:
    """What names and numbers on the board keep clear of: sizes, windings' names, print, pads, holes."""
    aside = Element("g")
    add_dimensions(aside, result, sheet)
    _add_names(aside, result, sheet.size)
    printed = [path_box(stroke.path, stroke.width / 2) for stroke in result.art.legend]
    holes = [Box(hole.at, complex(hole.diameter, hole.diameter) / 2) for hole in result.art.holes]
    return [*drawn_boxes(aside), *printed, *pad_boxes(result.art.pads), *holes]


def _add_board(view: Element, art: Art, size: float) -> None:
    board = add(view, "g", id="board", fill=BOARD_FILL, stroke=INK, stroke_width=number(0.1 * size))
    if art.outline is not None:
        add_path(board, art.outline, id="board-profile")
    for which, pocket in enumerate(art.pockets, start=1):
        name = "core-pocket" if len(art.pockets) == 1 else f"core-pocket-{which}"
        add_path(board, pocket, id=name, fill="#ffffff")


def _add_current_marks(root: Element, art: Art, size: float) -> None:
    """Kept aside: the view uses those of one layer, each panel those of its own."""
    aside = add(root, "defs")
    for layer in range(1, art.copper_layers + 1):
        add_current_marks(aside, art, layer, size)


def _add_copper(view: Element, result: Result, layer: int) -> None:
    art = result.art
    own = colour(layer, art.copper_layers)
    group = add(view, "g", id=f"copper-{layer}", class_="copper", data_layer=str(layer))
    add(group, "title", layer_name(layer, art.copper_layers))
    traces = add(
        group, "g", class_="traces", fill="none", stroke=own, stroke_linecap="round", stroke_linejoin="round"
    )
    for coil in result.coils:
        for trace, start in along_current(coil):
            if trace.layer == layer:
                more = _of_several(result, trace.net, own, "stroke")
                add_path(
                    traces, trace.path, stroke_width=number(trace.width), data_start=number(start), **more
                )
    for trace in result.joints:
        if trace.layer == layer:
            add_path(traces, trace.path, stroke_width=number(trace.width), data_part="joint")
    pads = add(group, "g", class_="pads", fill=own)
    for pad in art.pads_on(layer):
        more = _of_several(result, pad.net, own, "fill")
        if pad.span:
            add_path(pads, pad.path, data_part=_part(pad, result.coil), **more)
        else:
            add_disc(pads, pad.at, pad.diameter, data_part=_part(pad, result.coil), **more)


_TONES = (0.0, 0.3, 0.15, 0.45)
"""How much lighter the copper of one winding is than that of another: of the way to white."""
_LIGHTEST_PHASE = 0.5
"""So much for the last phase of an array: the top layer's tones of three phases are twice as light each."""


def _of_several(result: Result, net: str, own: str, ink: str) -> dict[str, str]:
    """What tells the copper of several windings apart: its net, the terminal it begins at, its tone."""
    nets = [each.name for each in result.windings]
    if net not in nets:
        return {}
    which = nets.index(net)
    array = result.design.array
    lighter = _TONES[which % len(_TONES)] if array is None else _phase_tone(result.design, which)
    tone = "#" + "".join(f"{round(part + (255 - part) * lighter):02x}" for part in _rgb(own))
    return {"data_net": net, "data_terminal": str(2 * which + 1), ink: tone}


def _phase_tone(design: Design, which: int) -> float:
    """Phases in even steps, A the darkest; names tell them too."""
    assert design.array is not None
    return _LIGHTEST_PHASE * design.windings[which].phase / max(1, design.array.phase_count - 1)


def _add_names(view: Element, result: Result, size: float) -> None:
    """Each of several windings by its name, at its centre; under what is printed there."""
    if not result.windings:
        return
    group = add(view, "g", id="winding-names", font_weight="bold")
    below: dict[Point, int] = {}
    for placed in result.design.windings:
        lines = below[placed.centre] = below.get(placed.centre, -1) + 1
        at = placed.centre - 1j * (_under_print(result.art, placed.centre, size) + 1.6 * lines * size)
        name = add_centred(group, placed.name, at, size, fill=INK, data_net=placed.name)
        # Legible over copper and print.
        name.set("stroke", BOARD_FILL)
        name.set("stroke-width", number(0.3 * size))
        name.set("paint-order", "stroke")


def _under_print(art: Art, centre: Point, size: float) -> float:
    """How far below a centre its first name stands: clear of letters printed over it."""
    ends = [end - centre for stroke in art.legend for end in (stroke.path.start, stroke.path.end)]
    depths = [-end.imag for end in ends if abs(end.real) < 4 * size and abs(end.imag) < 2 * size]
    return max(depths) + size if depths else 0.0


def along_current(coil: Coil) -> list[tuple[Trace, float]]:
    """The traces in current order, each with the length that the current has travelled before it, m.

    Parallel traces begin at the same length, and the longest of them counts for what follows.
    """
    lengths = [trace.path.length for trace in coil.traces]
    side_by_side = max((lengths[index] for index in coil.parallel), default=0.0)
    first = min(coil.parallel, default=-1)
    steps = [
        length if index not in coil.parallel else side_by_side if index == first else 0.0
        for index, length in enumerate(lengths)
    ]
    starts = [0.0, *accumulate(steps)]
    return [
        (trace, starts[first] if index in coil.parallel else starts[index])
        for index, trace in enumerate(coil.traces)
    ]


def _part(pad: Pad, coil: Coil) -> str:
    """What a pad belongs to."""
    if pad.terminal is not None:
        return f"terminal {pad.terminal}"
    if pad.span:
        return "contact finger, joined to nothing"
    joined = next((via.joins for via in coil.vias if abs(via.at - pad.at) < LARGEST_GAP), ())
    return "via between copper " + " and ".join(str(layer) for layer in joined)


def layer_name(layer: int, layers: int) -> str:
    """For people: number and place of a copper layer."""
    place = ", top" if layer == 1 else ", bottom" if layer == layers else ""
    return f"copper {layer} of {layers}{place}"


def _add_openings(view: Element, art: Art) -> None:
    """Rings: thin on the top, dashed on the bottom."""
    for side, dashes in (("bottom", "0.3 0.2"), ("top", "none")):
        group = add(view, "g", id=f"openings-{side}", fill="none", stroke="#7a7f87", stroke_width="0.05")
        group.set("stroke-dasharray", dashes)
        for opening in (opening for opening in art.openings if opening.side == side):
            if opening.window is not None:
                add_path(group, opening.window)
            else:
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
    """Numbers that are not printed beside: in the hole, or white on a surface pad."""
    group = add(view, "g", id="terminals", font_weight="bold")
    terminals = result.coil.terminals
    for terminal in terminals:
        if is_printed(terminal, terminals, result.art.legend):
            continue
        for finger in terminal.fingers:
            add_centred(group, str(terminal.number), finger.at, 0.8 * finger.width, fill="#ffffff")
        if terminal.fingers:
            continue
        room, ink = (terminal.drill, INK) if terminal.drill else (terminal.pad, "#ffffff")
        add_centred(group, str(terminal.number), terminal.at, 0.8 * room, fill=ink)


def add_dimensions(root: Element, result: Result, sheet: Sheet) -> None:
    """Sizes of winding, pocket and board."""
    group = add(root, "g", id="dimensions")
    low, high, size = sheet.low, sheet.high, sheet.size
    for start, end, across in sheet.spans:
        _add_winding_size(group, result, sheet, (start, end), across)
    told = result.design.pocket
    if told is not None and told.ring is None and not result.windings:
        for pocket in result.art.pockets:
            _add_pocket_size(group, pocket, told, size)
    if result.art.outline is None:
        return
    feet = complex(low.real, low.imag), complex(high.real, low.imag)
    down = complex(0, sheet.board_width - low.imag)
    add_dimension(group, feet[0] + down, feet[1] + down, in_mm(high.real - low.real), size, feet)
    if abs((high.real - low.real) - (high.imag - low.imag)) > LARGEST_GAP:
        feet = complex(high.real, low.imag), high
        add_dimension(
            group, feet[0] + sheet.aside, feet[1] + sheet.aside, in_mm(high.imag - low.imag), size, feet
        )


def _add_winding_size(
    group: Element, result: Result, sheet: Sheet, span: tuple[Point, Point], across: float
) -> None:
    """Under the board when level, else left of it."""
    start, end = span
    if start.imag == end.imag:
        at = complex(0, sheet.low.imag - 2 * sheet.size)
        feet = span
    else:
        at = complex(sheet.low.real - 3 * sheet.size, 0)
        edge = _northwest(result.art)
        feet = start + edge, end + edge
    add_dimension(group, start + at, end + at, in_mm(across), sheet.size, feet)


def _add_pocket_size(group: Element, path: Path, pocket: Pocket, size: float) -> None:
    """Inside the pocket, upright where it measures its size so, else level; of two sizes both as one text."""
    low, high = extent(path)
    across = pocket.sizes[0]
    upright = isinstance(pocket.size, float) and abs(high.imag - low.imag - across) < LARGEST_GAP
    half = (0.5j if upright else 0.5) * across
    add_dimension(group, -half, half, pocket.told, min(size, across / 6))


@for_last
def _northwest(art: Art) -> float:
    """x of the west end of the traces' north edge, where what is measured begins."""
    tips = [
        piece.at(part) for trace in art.traces for piece in trace.path.segments for part in (0.0, 0.5, 1.0)
    ]
    north = max(tip.imag for tip in tips) - max(trace.width for trace in art.traces)
    return min(tip.real for tip in tips if tip.imag >= north)
