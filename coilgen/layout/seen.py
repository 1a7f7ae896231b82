"""A winding seen from the top as a whole: the edges of its copper, and where its sizes are measured."""

from coilgen.design.design import Design
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.lengths import QUARTERS, Lengths
from coilgen.layout.shape import shape_named


def copper_edges(design: Design) -> tuple[Path, Path]:
    """Closed curves along the outer and the inner edge of a winding's copper, without its leads."""
    lengths, turn = _lengths(design), _turn(design)
    outer, inner = (lengths.outline.closed(level) for level in lengths.edges)
    return (outer, inner) if lengths.outline.circular else (outer.moved(turn), inner.moved(turn))


def measured(design: Design) -> tuple[tuple[Point, Point, float], ...]:
    """Ends of a line over the copper for each outer size, and the size, m; of two sizes first that in x."""
    winding = design.winding
    if not isinstance(winding.outer_size, float):
        across, up = winding.outer
        return (complex(-across / 2), complex(across / 2), across), (-0.5j * up, 0.5j * up, up)
    lengths, turn, size = _lengths(design), _turn(design), winding.outer_size
    flat = lengths.first + lengths.width / 2
    ends = (
        (complex(-size / 2), complex(size / 2))
        if lengths.outline.tangent
        else (-1j * flat, 1j * (size - flat))
    )
    return ((turn.point(ends[0]), turn.point(ends[1]), size),)


def _lengths(design: Design) -> Lengths:
    return Lengths(design, shape_named(design.winding.shape))


def _turn(design: Design) -> Isometry:
    return Isometry(quarters=QUARTERS[design.terminals.side])
