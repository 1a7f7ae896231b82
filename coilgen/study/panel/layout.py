"""The panel's plan: where boards, rails and scores lie, within the largest size."""

from collections.abc import Sequence
from dataclasses import replace

from coilgen.artwork.copper_pieces import copper
from coilgen.design.paneling import PanelFile, Separation, fact
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.geometry.closed import rectangle
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.rules._boundary import holes, near_boundary
from coilgen.study.panel.packing import Packed, Place, grid, shared_sides, shelves
from coilgen.study.panel.rails import Cell, Stood, block_size, key_blocks, stand
from coilgen.study.panel.samples import Board
from coilgen.units import in_mm

SAW = 2e-3
"""Between boards that are sawn apart, m; common practice, no source."""
KEY_RISE = 0.5e-3
"""Of the key over the frame's outer band, m."""
_ATTEMPTS = 4


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Sizes in m from the panel's lower left corner, which is its origin.

    places: of the boards, in order. coupons: of their lower left corners. key: lines with their corner.
    """

    separation: Separation
    frame: float
    size: Point
    places: tuple[Isometry, ...]
    turned: tuple[bool, ...]
    coupons: tuple[Point, ...]
    key: tuple[tuple[tuple[str, ...], Point], ...]
    scores: tuple[Path, ...]
    cells: tuple[Cell, ...]

    @property
    def outline(self) -> Path:
        """The panel's edge; straight scores end at its straight sides."""
        return rectangle(self.size.real, self.size.imag, fact("frame", "corner_radius")).moved(
            Isometry(shift=self.size / 2)
        )


def plan(asked: PanelFile, boards: Sequence[Board], coupons: Sequence[Point], key: Sequence[str]) -> Plan:
    """The plan of a panel; DesignError where boards do not fit, or not the way they are to be parted.

    coupons: width and height of each. key: a text for each board, and what else is printed.
    """
    separation = _separation(asked, boards, coupons)
    frame = asked.frame or fact("frame", "width")
    gap = _gap(asked, separation)
    largest = _largest(asked, boards)
    _refuse_large(boards, largest - 2 * (1 + 1j) * (frame + _slot(separation)), largest)
    reserve = 0.0
    for _ in range(_ATTEMPTS):
        room = largest - 2 * (1 + 1j) * (frame + _slot(separation)) - 1j * reserve
        packed = _packed(separation, boards, gap, room)
        if packed is None:
            break
        found = _planned(separation, frame, packed, boards, coupons, key)
        if found.size.imag <= largest.imag + 1e-9:
            return found
        reserve += found.size.imag - largest.imag
    raise DesignError.at(
        "width",
        f"{len(boards)} boards with frame, coupons and key do not fit {in_mm(largest.real)} x "
        f"{in_mm(largest.imag)}; ask for fewer copies or variants, or allow more by width and height",
    )


def _separation(asked: PanelFile, boards: Sequence[Board], coupons: Sequence[Point]) -> Separation:
    """As asked, or a score where it can be; DesignError where what is asked cannot be."""
    why_not = _no_score(boards, coupons)
    if asked.separation is None:
        return "v-score" if why_not is None and all(map(_clear_of_scores, boards)) else "tabs"
    if asked.separation == "v-score" and why_not is not None:
        raise DesignError.at("separation", f'"v-score" cannot be: {why_not}; use "tabs"')
    return asked.separation


def _no_score(boards: Sequence[Board], coupons: Sequence[Point]) -> str | None:
    """Why straight cuts through the whole panel cannot part its boards."""
    stackup = boards[0].design.board.stackup
    if stackup.flexible:
        return "flexible boards are not scored"
    if stackup.thickness < fact("v_score", "least_thickness"):
        return f"boards of {in_mm(stackup.thickness)} are too thin to be scored"
    for board in boards:
        if not _sharp(board):
            return f"the outline of {board.label}, {board.design.name}, is no rectangle with sharp corners"
    sides = shared_sides([board.size for board in boards])
    if not sides:
        sizes = dict.fromkeys(f"{in_mm(each.size.real)} x {in_mm(each.size.imag)}" for each in boards)
        return f"scores run straight through, and boards of {', '.join(sizes)} share no side"
    widest = max((size.real for size in coupons), default=0.0) + 2e-3
    if max(sides) < widest:
        return f"a coupon is {in_mm(widest)} wide, wider than the boards between two scores"
    return None


def _clear_of_scores(board: Board) -> bool:
    """Whether copper and holes keep off the board's sides, as a score asks."""
    outline = board.art.outline
    assert outline is not None  # boards without one are refused
    return not any(
        len(near_boundary(strokes, outline, fact("v_score", rule), inside=True))
        for rule, strokes in (
            ("copper_to_score", copper(board.art).strokes),
            ("hole_to_score", holes(board.art)),
        )
    )


def _sharp(board: Board) -> bool:
    outline = board.art.outline
    return (
        outline is not None
        and len(outline.segments) == 4
        and all(isinstance(segment, Line) for segment in outline.segments)
    )


def _slot(separation: Separation) -> float:
    return fact("tab", "slot") if separation == "tabs" else 0.0


def _gap(asked: PanelFile, separation: Separation) -> float:
    least = {
        "v-score": 0.0,
        "tabs": 2 * fact("tab", "slot") + fact("tab", "rib"),
        "none": 0.0,
    }[separation]
    if asked.gap is None:
        return SAW if separation == "none" else least
    if asked.gap < least - 1e-9:
        raise DesignError.at(
            "gap",
            f"{in_mm(asked.gap)} is under the {in_mm(least)} of two slots and the rib between them; "
            "give that or more, or leave it out",
        )
    strip = fact("v_score", "least_strip")
    if separation == "v-score" and 0 < asked.gap < strip - 1e-9:
        raise DesignError.at(
            "gap",
            f"{in_mm(asked.gap)} leaves too narrow a strip between two scores; give 0 or {in_mm(strip)}",
        )
    return asked.gap


def _largest(asked: PanelFile, boards: Sequence[Board]) -> Point:
    shop = min(board.design.rules.limit("board_size") for board in boards)
    for name, given in (("width", asked.width), ("height", asked.height)):
        if given is not None and given > shop + 1e-9:
            raise DesignError.at(name, f"{in_mm(given)} is over the {in_mm(shop)} that the shop takes")
    return complex(asked.width or shop, asked.height or shop)


def _refuse_large(boards: Sequence[Board], room: Point, largest: Point) -> None:
    for board in boards:
        size = board.size
        if not any(
            way.real <= room.real + 1e-9 and way.imag <= room.imag + 1e-9
            for way in (size, complex(size.imag, size.real))
        ):
            raise DesignError.at(
                board.label,
                f"{board.design.name} is {in_mm(size.real)} x {in_mm(size.imag)}, and a panel of "
                f"{in_mm(largest.real)} x {in_mm(largest.imag)} has room for {in_mm(max(room.real, 0.0))} x "
                f"{in_mm(max(room.imag, 0.0))} inside its frame; make the board smaller or the panel larger",
            )


def _packed(separation: Separation, boards: Sequence[Board], gap: float, room: Point) -> Packed | None:
    sizes = [board.size for board in boards]
    return grid(sizes, gap, room) if separation == "v-score" else shelves(sizes, gap, room)


def _planned(
    separation: Separation,
    frame: float,
    packed: Packed,
    boards: Sequence[Board],
    coupons: Sequence[Point],
    key: Sequence[str],
) -> Plan:
    """Rails of the key below and of coupons above, each in the cells that scores leave."""
    side = frame + _slot(separation)
    width = max(packed.size.real + 2 * side, _least_width(coupons, frame))
    left = _whole((width - packed.size.real) / 2)
    cells = _cells(packed, left, frame, width)
    texts = key_blocks(key, min(cells, key=lambda cell: cell[1] - cell[0]))
    printed = _stood([block_size(lines) for lines in texts], cells, "key")
    above = _stood(coupons, cells, "coupons")
    below = _whole(side + printed.height)
    size = complex(width, _whole(below + packed.size.imag + side + above.height))
    shift = complex(left, below)
    floor = below + packed.size.imag + _slot(separation)
    return Plan(
        separation=separation,
        frame=frame,
        size=size,
        places=tuple(_placed(each, board, shift) for each, board in zip(packed.places, boards, strict=True)),
        turned=tuple(each.turned for each in packed.places),
        coupons=tuple(corner + 1j * _whole(floor + 1e-3) for corner in above.corners),
        key=tuple(
            (tuple(lines), corner + 1j * (frame + KEY_RISE))
            for lines, corner in zip(texts, printed.corners, strict=True)
        ),
        scores=tuple(_scores(packed, shift, size)) if separation == "v-score" else (),
        cells=tuple(cells),
    )


def _placed(place: Place, board: Board, shift: Point) -> Isometry:
    """Where the board's own origin goes: its outline's middle stands in its place, to whole micrometres."""
    turn = Isometry.placed(90.0 * place.turned, 0j)
    at = place.middle + shift - turn.point(board.middle)
    return replace(turn, shift=complex(_whole(at.real), _whole(at.imag)))


def _stood(sizes: Sequence[Point], cells: Sequence[Cell], what: str) -> Stood:
    found = stand(sizes, cells)
    if found is None:
        raise DesignError.at(
            what, f"do not fit the {in_mm(max(end - start for start, end in cells))} between two scores"
        )
    return found


def _least_width(coupons: Sequence[Point], frame: float) -> float:
    return max((size.real for size in coupons), default=0.0) + 2e-3 + 2 * frame


def _cells(packed: Packed, left: float, frame: float, width: float) -> list[Cell]:
    """Of a rail: between the scores across it, or all within the frame."""
    if not packed.columns:
        return [(frame, width - frame)]
    return [(left + start, left + end) for start, end in packed.columns]


def _scores(packed: Packed, shift: Point, size: Point) -> list[Path]:
    """Straight lines through the whole panel, each once: upright ones, then level ones."""
    across = sorted({round(shift.real + end, 9) for span in packed.columns for end in span})
    up = sorted({round(shift.imag + end, 9) for span in packed.rows for end in span})
    lines = [Line(complex(x, 0.0), complex(x, size.imag)) for x in across]
    lines += [Line(complex(0.0, y), complex(size.real, y)) for y in up]
    return [Path((line,)) for line in lines]


def _whole(length: float) -> float:
    return round(length * 1e6) / 1e6
