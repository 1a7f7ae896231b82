"""A winding seen from the top as a whole: the edges of its copper, and where its sizes are measured."""

import math
from collections.abc import Sequence

from coilgen.design.design import Design
from coilgen.design.placing import PlacedWinding
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.lengths import QUARTERS, Lengths
from coilgen.layout.outline import Anchor
from coilgen.layout.shape import shape_named

_WHOLE = 1e-9
"""Of a turn: less over a whole number is rounding."""


def copper_edges(design: Design) -> tuple[Path, Path]:
    """Closed curves along the outer and the inner edge of a winding's copper, without its leads."""
    lengths, turn = _lengths(design), _turn(design)
    outer, inner = (lengths.outline.closed(level) for level in lengths.edges)
    return (outer, inner) if lengths.outline.circular else (outer.moved(turn), inner.moved(turn))


def section_level(design: Design) -> float:
    """Where a board is cut from west to east, and mapped, m north of its origin: through the centre of a
    winding, and so through many.

    Through the origin where a body stands there and the cut meets a winding; of levels that cut as many,
    through the nearest to it.
    """
    placed = design.windings
    if not placed or design.mover is not None or (_has_body(design) and _cut(placed, 0.0)):
        return 0.0
    levels = {each.centre.imag for each in placed}
    return max(levels, key=lambda level: (_cut(placed, level), -abs(level), level))


def _has_body(design: Design) -> bool:
    """Whether one stands by itself, and not in each of several pockets."""
    apart = (design.magnet, design.target, design.mounting.base_plate)
    alone = (core.place != "pocket" or len(design.stand.pockets) < 2 for core in design.core)
    return any(alone) or any(each is not None for each in apart)


def _cut(placed: Sequence[PlacedWinding], level: float) -> int:
    """How many windings a level passes, m."""
    return sum(abs(each.centre.imag - level) < each.design.winding.span / 2 for each in placed)


def mean_turn_area(design: Design) -> float:
    """Area, m2, that a turn of the spiral sweeps about the centre on average; a part of one by its level."""
    lengths = _lengths(design)
    outline, whole = lengths.outline, math.floor(lengths.turns + _WHOLE)
    start, end = (
        Anchor(turns * outline.count, outline.place(0, 0.0, outline.level(turns * outline.count)))
        for turns in (0, whole)
    )
    swept = outline.spiral(start, end, lengths.corner).swept_area
    part = max(0.0, lengths.turns - whole)
    if part > _WHOLE:
        falls = part * lengths.pitch / 2 if outline.tangent else 0.0
        level = outline.level(whole * outline.count) - falls
        swept += part * outline.closed(level, lengths.corner).swept_area
    return swept / lengths.turns


def measured(design: Design) -> tuple[tuple[Point, Point, float], ...]:
    """Ends of a line over the copper for each outer size, and the size, m; of two sizes first that in x."""
    winding, lengths, lies = design.winding, _lengths(design), _lies(design)
    lines = _line_of_one(lengths) if isinstance(winding.outer_size, float) else _lines_of_two(lengths)
    told = [(lies.point(start), lies.point(end)) for start, end in lines]
    told.sort(key=lambda ends: abs((ends[1] - ends[0]).imag))
    return tuple((start, end, abs(end - start)) for start, end in told)


def _line_of_one(lengths: Lengths) -> tuple[tuple[Point, Point], ...]:
    """Level through the centre, or upright from the flat in the south; layout frame."""
    size, flat = lengths.design.winding.outer_size, lengths.first + lengths.width / 2
    assert isinstance(size, float)
    if lengths.outline.tangent:
        return ((complex(-size / 2), complex(size / 2)),)
    return ((-1j * flat, 1j * (size - flat)),)


def _lines_of_two(lengths: Lengths) -> tuple[tuple[Point, Point], ...]:
    """Level and upright; those of a spiral that falls evenly lie off the centre, where its first turn is."""
    across, up = lengths.outer
    ends = [complex(across / 2), 0.5j * up]
    if lengths.outline.tangent:
        half = lengths.width / 2
        ends = [
            lengths.outline.foot_of_first_turn(side) + along * half for side, along in ((1, 1.0), (2, 1j))
        ]
    return (ends[0] - across, ends[0]), (ends[1] - 1j * up, ends[1])


def _lengths(design: Design) -> Lengths:
    return Lengths(design, shape_named(design.winding.shape))


def _lies(design: Design) -> Isometry:
    """From the frame of the layout to the board's."""
    return Isometry(design.winding.direction == "clockwise", QUARTERS[design.terminals.side])


def _turn(design: Design) -> Isometry:
    return Isometry(quarters=QUARTERS[design.terminals.side])
