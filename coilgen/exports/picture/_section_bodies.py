"""Cores, magnet, target and base plate in the cut: hatched, with poles, broken off where too wide."""

from coilgen.exports.picture._bodies import Shown
from coilgen.exports.picture._section import Interval, between, without
from coilgen.exports.picture._section_heights import Heights
from coilgen.exports.picture._svg import INK, Element, add, add_centred, add_disc, number, text_width
from coilgen.frozen import dataclass
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry

FILLS = {"core": "#aab4c2", "target": "#c9ced4", "base-plate": "#dedfe0", "magnet": "#ffffff"}
NORTH_FILL, SOUTH_FILL = "#4b3b63", "#efe3f4"
"""Halves of a magnet; in grey they differ as dark and light."""

_HATCHES = {"core": "M0 1L1 0", "target": "M0 0L1 1"}


@dataclass(frozen=True, kw_only=True)
class Part:
    """A body as the cut shows it: pieces between the ends of the picture, and which of them are broken off.

    beside: the cut misses the body, which is shown by its outline.
    """

    body: Shown
    pieces: tuple[Interval, ...]
    beside: bool


def part_of(body: Shown, room: Interval) -> Part:
    """The part of a body in the picture; a body that lies past its end has no pieces."""
    solid = solid_of(body)
    low, high = extent(body.outline)
    cut = solid or [(low.real, high.real)]
    pieces = tuple(
        (max(a, room[0]), min(b, room[1])) for a, b in cut if min(b, room[1]) - max(a, room[0]) > 0
    )
    return Part(body=body, pieces=pieces, beside=not solid)


def solid_of(body: Shown, level: float = 0.0) -> list[Interval]:
    """Where a cut from west to east, `level` (m) north of the centre, meets a body."""
    raised = Isometry.placed(0.0, -1j * level)
    gaps = between(body.hole.moved(raised)) if body.hole else []
    return [piece for whole in between(body.outline.moved(raised)) for piece in without(whole, gaps)]


def add_hatches(root: Element, size: float) -> None:
    """Patterns of the hatches, lines a letter's half apart."""
    patterns = add(root, "defs")
    for kind, line in _HATCHES.items():
        pattern = add(patterns, "pattern", id=f"hatch-{kind}", width="1", height="1")
        pattern.set("patternUnits", "userSpaceOnUse")
        pattern.set("patternTransform", f"scale({number(0.55 * size)})")
        add(pattern, "rect", width="1", height="1", fill=FILLS[kind])
        add(pattern, "path", d=line, stroke=INK, stroke_width="0.07", stroke_opacity="0.55")


def add_part(root: Element, part: Part, room: Interval, heights: Heights, size: float) -> None:
    """One body: its pieces, its poles, its name where there is room."""
    body = part.body
    group = add(root, "g", class_=f"body {body.kind}{' beside' if part.beside else ''}")
    add(group, "title", f"{body.name}: {body.material}, {body.measures}")
    low, high = heights.up(body.standing.bottom), heights.up(body.standing.top)
    for piece in part.pieces:
        edge = _outline(piece, (low, high), room, size)
        if part.beside:
            line = add(group, "path", d=edge, fill="none", stroke=INK, stroke_width=number(0.09 * size))
            line.set("stroke-dasharray", number(0.6 * size))
            continue
        _add_fill(group, body, piece, (low, high), edge)
        add(group, "path", d=edge, fill="none", stroke=INK, stroke_width=number(0.09 * size))
    if part.beside or not part.pieces:
        return
    if body.kind == "magnet":
        _add_poles(group, body.pole, _widest(part), (low, high), size)
    elif named_inside(part, (low, high), size):
        broken = any(low < height < high for height in heights.breaks)
        _add_name(group, part, (low + 0.55 * (high - low), high) if broken else (low, high), size)


def _widest(part: Part) -> Interval:
    return max(part.pieces, key=lambda each: each[1] - each[0])


def _add_fill(group: Element, body: Shown, piece: Interval, ends: Interval, edge: str) -> None:
    if body.kind == "magnet":
        for fill, (west, east), (low, high) in _halves(body.pole, piece, ends):
            _add_box(group, (west, east), (low, high), fill)
        return
    add(group, "path", d=edge, fill=f"url(#hatch-{body.kind})" if body.kind in _HATCHES else FILLS[body.kind])


def _halves(pole: str, piece: Interval, ends: Interval) -> list[tuple[str, Interval, Interval]]:
    """Fill and place of a magnet's two halves; of one that points along the view, the half that is seen."""
    (west, east), (low, high) = piece, ends
    across, middle = (west + east) / 2, (low + high) / 2
    if pole in ("up", "down"):
        upper, lower = (NORTH_FILL, SOUTH_FILL) if pole == "up" else (SOUTH_FILL, NORTH_FILL)
        return [(upper, piece, (middle, high)), (lower, piece, (low, middle))]
    if pole in ("east", "west"):
        right, left = (NORTH_FILL, SOUTH_FILL) if pole == "east" else (SOUTH_FILL, NORTH_FILL)
        return [(left, (west, across), ends), (right, (across, east), ends)]
    return [(NORTH_FILL if pole == "south" else SOUTH_FILL, piece, ends)]


def _add_box(parent: Element, across: Interval, ends: Interval, fill: str) -> None:
    (west, east), (low, high) = across, ends
    box = {"x": number(west), "y": number(-high), "width": number(east - west), "height": number(high - low)}
    add(parent, "rect", **box, fill=fill)


def _outline(piece: Interval, ends: Interval, room: Interval, size: float) -> str:
    """Round a piece; an end at the picture's edge is jagged: the body goes on."""
    (west, east), (low, high) = piece, ends
    right = _end(east, (low, high), 0.6 * size if east == room[1] else 0.0)
    left = _end(west, (high, low), 0.6 * size if west == room[0] else 0.0)
    return f"M{' L'.join([*right, *left])} Z"


def _end(x: float, ends: Interval, depth: float) -> list[str]:
    """Points from one height to another."""
    start, end = ends
    shares = [(0.0, 0.0), (0.35, 0.0), (0.45, -0.6), (0.55, 0.6), (0.65, 0.0), (1.0, 0.0)]
    if not depth:
        shares = [shares[0], shares[-1]]
    return [f"{number(x + out * depth)} {number(-(start + share * (end - start)))}" for share, out in shares]


def _add_name(group: Element, part: Part, ends: Interval, size: float) -> None:
    """In the widest piece, between heights that no break crosses."""
    at = complex(sum(_widest(part)) / 2, sum(ends) / 2)
    width = text_width(part.body.name, size)
    ground = (at.real - width / 2, at.real + width / 2), (at.imag - 0.7 * size, at.imag + 0.7 * size)
    _add_box(group, *ground, FILLS[part.body.kind])
    add_centred(group, part.body.name, at, size, fill=INK)


def named_inside(part: Part, ends: Interval, size: float) -> bool:
    """Whether a body's name has room in the body."""
    widest = max((high - low for low, high in part.pieces), default=0.0)
    room = widest > text_width(part.body.name, size) + size and ends[1] - ends[0] > 1.6 * size
    return room and not part.beside and part.body.kind != "magnet"


def _add_poles(group: Element, pole: str, piece: Interval, ends: Interval, size: float) -> None:
    halves = _halves(pole, piece, ends)
    for fill, across, (low, high) in halves:
        letters = min(size, 0.8 * (high - low), 0.8 * (across[1] - across[0]))
        north = fill == NORTH_FILL
        at, ink = complex(sum(across) / 2, (low + high) / 2), "#ffffff" if north else INK
        add_centred(group, "N" if north else "S", at, letters, fill=ink, font_weight="bold")
    if len(halves) == 1:
        _add_axis_mark(group, complex(piece[0] + 1.2 * size, sum(ends) / 2), size, pole == "south")


def _add_axis_mark(group: Element, at: complex, size: float, near: bool) -> None:
    """The magnetisation's arrow along the view: its tip as a dot, its tail as a cross."""
    ink = "#ffffff" if near else INK
    add_disc(group, at, size, fill="none", stroke=ink, stroke_width=number(0.1 * size))
    if near:
        add_disc(group, at, 0.3 * size, fill=ink)
        return
    reach = 0.35 * size
    for turn in (1 + 1j, 1 - 1j):
        ends = (at - reach * turn, at + reach * turn)
        line = " L".join(f"{number(end.real)} {number(-end.imag)}" for end in ends)
        add(group, "path", d=f"M{line}", stroke=ink, stroke_width=number(0.1 * size))
