"""A panel as one piece: boards in their places, frame, scores or slots, coupons and key."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from os import PathLike
from pathlib import Path as FilePath

import numpy as np

from coilgen.artwork.art import Art, Hole, Opening, Stroke
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.legend import LINE_WIDTH
from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.design.paneling import PanelFile
from coilgen.exports.fab._fabrication import Ordered
from coilgen.frozen import dataclass
from coilgen.geometry.clearance import Strokes
from coilgen.geometry.distance import pieces, stacked
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path, polyline
from coilgen.geometry.point import Point, dot
from coilgen.layout.coil import Coil, TailStrip
from coilgen.study.compare import BASE
from coilgen.study.panel.coupons import Coupon, shop_of
from coilgen.study.panel.layout import Plan, plan
from coilgen.study.panel.meanders import meanders, via_chain
from coilgen.study.panel.plates import plates
from coilgen.study.panel.rails import block, fiducial_openings, fiducial_pads, fiducials, tooling_holes
from coilgen.study.panel.samples import Board, boards, read_panel
from coilgen.study.panel.tabs import Cut, cut
from coilgen.units import quantity

_EDGE = 1e-4
"""Past an edge, m, so that a path round it holds it."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedBoard:
    """A board where it lies on the panel, with its art and coil there."""

    board: Board
    place: Isometry
    turned: bool
    art: Art
    coil: Coil

    @property
    def middle(self) -> Point:
        """Of its outline, m."""
        assert self.art.outline is not None, "boards without one are refused"
        low, high = extent(self.art.outline)
        return (low + high) / 2


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Panel:
    """Everything of a panel before its files."""

    asked: PanelFile
    plan: Plan
    boards: tuple[PlacedBoard, ...]
    coupons: tuple[tuple[Coupon, Art], ...]
    cuts: tuple[Cut, ...]
    art: Art
    ordered: Ordered

    @property
    def name(self) -> str:
        """In file names."""
        return self.asked.name

    @property
    def first(self) -> Design:
        """A design whose stack-up and order are those of all."""
        return self.boards[0].board.design

    def __repr__(self) -> str:
        return f"<Panel {self.name}: {len(self.boards)} boards, {self.plan.separation}>"


def read(path: str | PathLike[str]) -> tuple[PanelFile, tuple[Design, ...]]:
    """A panel file, or a design as a panel of its variants; DesignError with every fault."""
    return read_panel(FilePath(path))


def drawn(asked: PanelFile, designs: Sequence[Design]) -> Panel:
    """The panel of a file. DesignError for boards that cannot stand on one panel together."""
    found = boards(asked, designs)
    coupons = coupons_of([board.design for board in found], _narrowest(found)) if asked.coupons else ()
    planned = plan(asked, found, [each.size for each in coupons], key_texts(asked, found))
    placed = tuple(
        PlacedBoard(
            board=board,
            place=place,
            turned=turned,
            art=board.art.moved(place),
            coil=board.coil.moved(place),
        )
        for board, place, turned in zip(found, planned.places, planned.turned, strict=True)
    )
    cuts = tuple(_cut(each) for each in placed) if planned.separation == "tabs" else ()
    stood = tuple(
        (each, each.art.moved(Isometry(shift=corner)))
        for each, corner in zip(coupons, planned.coupons, strict=True)
    )
    whole = _together(planned, placed, stood, cuts)
    return Panel(
        asked=asked,
        plan=planned,
        boards=placed,
        coupons=stood,
        cuts=cuts,
        art=whole,
        ordered=_ordered(asked, placed, stood, whole, planned),
    )


def _narrowest(found: Sequence[Board]) -> float:
    return min(trace.width for board in found for trace in board.art.traces)


def coupons_of(designs: Sequence[Design], narrow: float) -> tuple[Coupon, ...]:
    """Those that the stack-up of some designs can tell by. narrow: the narrowest trace of all, m."""
    shop = shop_of(designs, narrow)
    layers = shop.design.board.stackup.layers
    inner = meanders(shop, 2) if layers > 2 else ()
    return (*meanders(shop, 1), *((via_chain(shop), plates(shop)) if layers > 1 else ()), *inner)


def key_texts(asked: PanelFile, found: Sequence[Board]) -> list[str]:
    """What the frame's key says: each label with what it is, then the panel's name.

    Labels first: where the boards stand in one row, each then has its entry under it and no other's.
    """
    several = len({board.design.name for board in found}) > 1
    return [*(f"{board.label} {told(board, several=several)}" for board in found), asked.name]


def told(board: Board, *, several: bool) -> str:
    """Which variants a board serves, with the design's name where there are several designs."""
    names = "; ".join(name for name, _ in board.serves)
    only = names == BASE
    if several:
        return board.design.name if only else f"{board.design.name}: {names}"
    return names


def _cut(placed: PlacedBoard) -> Cut:
    outline = placed.art.outline
    assert outline is not None  # boards without one are refused
    return cut(outline, _solid(placed.art), placed.board.label, tuple(_kept_free(placed)))


def _kept_free(placed: PlacedBoard) -> Iterator[Path]:
    """What of a tail bears no tab: where terminals stand, which a connector takes, and bends."""
    tail = placed.coil.tail
    if tail is None:
        return
    half, beyond = tail.width / 2 + _EDGE, tail.length + _EDGE
    yield _rectangle(tail, tail.terminals_from, beyond, half)
    clear = quantity(rows("bends")["clearance"]["distance"], "length")
    for bend in placed.art.bends:
        at = dot((bend.path.start + bend.path.end) / 2 - tail.origin, tail.out)
        yield _rectangle(tail, at - abs(bend.along) - clear, at + abs(bend.along) + clear, half)


def _rectangle(tail: TailStrip, begin: float, end: float, half: float) -> Path:
    corners = [tail.at(begin, -half), tail.at(end, -half), tail.at(end, half), tail.at(begin, half)]
    return Path(polyline([*corners, corners[0]]))


def _solid(art: Art) -> Strokes:
    """Copper and holes: what a perforation keeps clear of."""
    strokes, holes = copper(art).strokes, art.holes
    return Strokes(
        pieces=stacked([strokes.pieces, pieces([hole.at for hole in holes])]),
        width=np.append(strokes.width, [hole.diameter for hole in holes]),
        sheet=np.append(strokes.sheet, np.zeros(len(holes), np.intp)),
    )


def _together(
    planned: Plan, placed: Sequence[PlacedBoard], coupons: Sequence[tuple[Coupon, Art]], cuts: Sequence[Cut]
) -> Art:
    first = placed[0].board.design
    parts = [*(each.art for each in placed), *(art for _, art in coupons)]
    marks = fiducials(planned.size, planned.frame, planned.cells)
    slots = [slot for each in cuts for slot in each.slots]
    return Art(
        copper_layers=first.board.stackup.layers,
        traces=tuple(trace for part in parts for trace in part.traces),
        pads=(
            *(pad for part in parts for pad in part.pads),
            *fiducial_pads(marks, first.board.stackup.layers),
        ),
        holes=(*(hole for part in parts for hole in part.holes), *_holes(planned, cuts)),
        openings=(*(each for part in parts for each in part.openings), *_marks(marks, first)),
        legend=(*(stroke for part in parts for stroke in part.legend), *_print(planned, placed)),
        outline=planned.outline,
        pockets=(*(pocket for part in parts for pocket in part.pockets), *slots),
        stiffeners=tuple(each for part in parts for each in part.stiffeners),
        bends=tuple(each for part in parts for each in part.bends),
    )


def _holes(planned: Plan, cuts: Iterable[Cut]) -> Iterator[Hole]:
    yield from tooling_holes(planned.size, planned.frame)
    for each in cuts:
        for row in each.perforations:
            yield from row


def _marks(at: Iterable[complex], first: Design) -> tuple[Opening, ...]:
    return fiducial_openings(at, first.board.stackup.masked_faces)


def _print(planned: Plan, placed: Iterable[PlacedBoard]) -> Iterator[Stroke]:
    """The key, and the edges of boards that nothing parts."""
    for lines, corner in planned.key:
        yield from block(lines, corner)
    if planned.separation == "none":
        for each in placed:
            if each.art.outline is not None:
                yield Stroke(path=each.art.outline, width=LINE_WIDTH)


def _ordered(
    asked: PanelFile,
    placed: Sequence[PlacedBoard],
    coupons: Sequence[tuple[Coupon, Art]],
    whole: Art,
    planned: Plan,
) -> Ordered:
    first = placed[0].board.design
    references = {net: each.board.label for each in placed for net in each.board.nets}
    moved = [
        (each, Isometry(shift=corner)) for (each, _), corner in zip(coupons, planned.coupons, strict=True)
    ]
    references |= {terminal.net: each.label for each, _ in moved for terminal in each.terminals}
    return Ordered(
        name=asked.name,
        revision=first.revision,
        part="Array",
        stackup=first.board.stackup,
        order=first.order,
        art=whole,
        vias=(
            *(via for each in placed for via in each.coil.vias),
            *(replace(via, at=place.point(via.at)) for each, place in moved for via in each.vias),
        ),
        terminals=(
            *(terminal for each in placed for terminal in each.coil.terminals),
            *(
                replace(terminal, at=place.point(terminal.at))
                for each, place in moved
                for terminal in each.terminals
            ),
        ),
        several=True,
        references=references,
        smallest_width=min(trace.width for trace in whole.traces),
        scores=planned.scores,
    )
