"""Normal flux density over the board, seen from the top, with what a viewing film shows of it."""

from collections.abc import Sequence
from itertools import chain, pairwise

from coilgen.design.design import Design
from coilgen.exports.page._colour_map import ColourMap, map_scale
from coilgen.exports.page._contours import Line, contours
from coilgen.exports.page._map_lines import MapLines
from coilgen.exports.page._plot import Plot, Rows
from coilgen.exports.page._scale import Axis
from coilgen.exports.picture._bodies import bodies
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.region import chords
from coilgen.layout.seen import copper_edges
from coilgen.result.viewing_film import film_shows, off_magnet, through_magnet, viewing_film
from coilgen.units import in_mm, readable, shown_in

_SHOWN = Axis(says="Bz", unit="T")
_CHORDS = 0.002
"""Of a map's width: how far a drawn arc's chords may stand off it."""
_EDGE = 1e-6
"""The same of an edge at which values jump: points of the grid may stand close to it."""
_KINDS = ("core", "magnet")


def charts(rows: Rows, design: Design) -> list[ColourMap]:
    """One map, zero pale, with contours at the marks of its scale and half-way between them."""
    xs, ys = (sorted({float(row[axis]) for row in rows}) for axis in "xy")
    values = {(float(row["x"]), float(row["y"])): float(row["flux_density"]) for row in rows}
    near = off_magnet(design) < xs[1] - xs[0]
    jumps = _outline(design, "magnet", _EDGE * (xs[-1] - xs[0])) if near else ()
    grid = Grid(xs, ys, values, jumps)
    return [
        ColourMap(
            title=_title(design),
            says="Flux density out of the board, seen from the top, with contours, the outlines of winding, "
            "cores and magnet, and the edge of what a magnetic viewing film turns dark over.",
            across=Axis(says="x", unit="m"),
            up=Axis(says="y", unit="m"),
            shown=_SHOWN,
            signed=True,
            cells=tuple((x, y, values[x, y]) for y in ys for x in xs),
            lines=(*_contours(grid), *_outlines(design, xs[-1] - xs[0]), *_film(grid, design)),
        )
    ]


def _title(design: Design) -> str:
    where = ", through the magnet" if through_magnet(design) else ""
    return f"Field from above, {in_mm(design.probe.heights[0])} over the top's outermost face{where}"


class Grid:
    """Values at the points of a grid; jumps: lines at which they jump, as at a near magnet's edge."""

    def __init__(
        self,
        xs: Sequence[float],
        ys: Sequence[float],
        values: dict[tuple[float, float], float],
        jumps: Sequence[Line],
    ) -> None:
        self.xs, self.ys, self.values, self.jumps = xs, ys, values, jumps

    def at(self, level: float) -> tuple[Line, ...]:
        """The contour of a level."""
        return contours(self.xs, self.ys, self.values, level, self.jumps)


def _contours(grid: Grid) -> list[MapLines]:
    ticks = map_scale(_SHOWN, list(grid.values.values()), signed=True).ticks
    half_way = [(low + high) / 2 for low, high in pairwise(ticks)]
    levels = [level for level in (*ticks, *half_way) if abs(level) > 1e-9 * ticks[-1]]
    factor, unit = shown_in(ticks[-1], "T")
    lines = tuple(chain.from_iterable(grid.at(level) for level in levels))
    return [
        MapLines(
            kind="contour",
            says=f"contours, {(ticks[1] - ticks[0]) / 2 * factor:.3g} {unit} apart",
            lines=lines,
        ),
        MapLines(kind="zero", says="no field up or down", lines=grid.at(0.0)),
    ]


def _film(grid: Grid, design: Design) -> list[MapLines]:
    """The edge of what a film shows, where there is one."""
    level = viewing_film().threshold
    lines = (*grid.at(level), *grid.at(-level)) if film_shows(design) else ()
    says = f"film: dark where over {readable(level, 'T', 1)}"
    return [MapLines(kind="film", says=says, lines=lines)] if lines else []


def _outlines(design: Design, width: float) -> list[MapLines]:
    """Of the winding's copper without its leads, of cores and magnet; those of a kind together."""
    tolerance = _CHORDS * width
    shown = {"winding": tuple(_line(path, tolerance) for path in _edges(design))}
    shown |= {kind: _outline(design, kind, tolerance) for kind in _KINDS}
    return [MapLines(kind=kind, says=kind, lines=lines) for kind, lines in shown.items() if lines]


def _outline(design: Design, kind: str, tolerance: float) -> tuple[Line, ...]:
    """Of all bodies of a kind, holes too."""
    paths = [
        path for body in bodies(design) if body.kind == kind for path in (body.outline, body.hole) if path
    ]
    return tuple(_line(path, tolerance) for path in paths)


def _edges(design: Design) -> list[Path]:
    if not design.windings:
        return list(copper_edges(design))
    return [
        edge.moved(Isometry.placed(each.rotation, each.centre))
        for each in design.windings
        for edge in _edges(each.design)
    ]


def _line(path: Path, tolerance: float) -> Line:
    return tuple((float(x), float(y)) for x, y in chords(path, tolerance))


PLOT = Plot(figure="flux_density_over_board", charts=charts)
