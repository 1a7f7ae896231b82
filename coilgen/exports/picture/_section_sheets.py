"""What the cut shows and at which scale: the stack-up's sheets, the ends of board and picture, heights."""

from collections.abc import Sequence
from itertools import zip_longest

from coilgen.artwork.art import copper_extent
from coilgen.exports.picture._bodies import Shown
from coilgen.exports.picture._section import Interval, between
from coilgen.exports.picture._section_heights import Heights, heights
from coilgen.frozen import dataclass
from coilgen.geometry.extent import extent
from coilgen.result.result import Result
from coilgen.units import readable

OVERHANG = 0.4
"""Of the board's width: how far past each of its ends the picture goes to show bodies."""


@dataclass(frozen=True, kw_only=True)
class View:
    """The ends of the board and of the picture (m), how heights are drawn, and the size of letters (m)."""

    board: Interval
    room: Interval
    heights: Heights
    size: float


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One sheet of the stack-up: its faces' heights (m), name for people and copper layer, 0 for none.

    masked: solder mask or coverlay, which also fills the gaps of the outer copper. parts: where it lies; None
    for all over the board.
    """

    top: float
    bottom: float
    says: str
    layer: int
    masked: bool
    parts: tuple[Interval, ...] | None = None


def sheets_of(result: Result) -> list[Sheet]:
    """From the top to the bottom, stiffeners that the cut meets outside the masks."""
    board = _board_sheets(result)
    return [
        *_stiffeners(result, "top", board[0].top)[::-1],
        *board,
        *_stiffeners(result, "bottom", board[-1].bottom),
    ]


def _stiffeners(result: Result, side: str, face: float) -> list[Sheet]:
    """From a face of the board outward; adhesive included."""
    found: list[Sheet] = []
    for sheet in result.art.stiffeners:
        parts = between(sheet.path)
        if sheet.side != side or not parts:
            continue
        height = sheet.thickness + sheet.adhesive
        top, bottom = (face + height, face) if side == "top" else (face, face - height)
        says = f"stiffener, {sheet.material}, {readable(sheet.thickness, 'm')}"
        found.append(Sheet(top=top, bottom=bottom, says=says, layer=0, masked=False, parts=tuple(parts)))
        face += height if side == "top" else -height
    return found


def _board_sheets(result: Result) -> list[Sheet]:
    """From the top mask to the bottom one."""
    stackup = result.design.board.stackup
    mask = stackup.mask_thickness
    masks = f"{'coverlay' if stackup.flexible else 'solder mask'}, {readable(mask, 'm')}"
    top = Sheet(top=mask, bottom=0.0, says=masks, layer=0, masked=True)
    sheets, height = [top] if mask else [], 0.0
    for count, (foil, dielectric) in enumerate(zip_longest(stackup.copper, stackup.dielectric), 1):
        outer = bool(mask) and count in (1, stackup.layers)
        foil_says = f"copper {count}{_whose(result, count)}"
        for thickness, says, layer in ((foil, foil_says, count), (dielectric, stackup.material, 0)):
            if thickness is not None:
                told = f"{says}, {readable(thickness, 'm')}"
                low, masked = height - thickness, bool(layer) and outer
                sheets.append(Sheet(top=height, bottom=low, says=told, layer=layer, masked=masked))
                height = low
    if mask and "bottom" in stackup.masked_faces:
        sheets.append(Sheet(top=height, bottom=height - mask, says=masks, layer=0, masked=True))
    return sheets


def _whose(result: Result, layer: int) -> str:
    """Of several windings on different layers the one that winds a layer, or how many do."""
    placed = result.design.windings
    if len({each.copper_layers for each in placed}) < 2:
        return ""
    here = [each.name for each in placed if layer in each.copper_layers]
    return "" if not here else f" of {here[0]}" if len(here) == 1 else f" of {len(here)} windings"


def view_of(result: Result, sheets: list[Sheet], shown: Sequence[Shown]) -> View:
    """The picture's scale and ends: all bodies, as far as they do not reach far past the board."""
    west, east = _ends(result)
    wide = OVERHANG * (east - west)
    ends = [extent(body.outline) for body in shown]
    room = (
        max(min(west, *(low.real - 1e-3 for low, _ in ends), west), west - wide),
        min(max(east, *(high.real + 1e-3 for _, high in ends), east), east + wide),
    )
    faces = [face for body in shown for face in (body.standing.bottom, body.standing.top)]
    drawn = heights(east - west, (sheets[-1].bottom, sheets[0].top), faces)
    return View(board=(west, east), room=room, heights=drawn, size=(room[1] - room[0]) / 50)


def _ends(result: Result) -> Interval:
    """Of the board on the cut, or of a strip round the copper where it has no outline."""
    if result.art.outline is not None:
        inside = between(result.art.outline)
        return inside[0][0], inside[-1][1]
    low, high = copper_extent(result.art)
    return low.real - 1e-3, high.real + 1e-3


def up(view: View, height: float) -> float:
    """Where a height is drawn, m."""
    return view.heights.up(height)
