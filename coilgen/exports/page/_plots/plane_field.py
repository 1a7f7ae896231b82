"""Size of the flux density over a plane."""

from collections.abc import Iterator

from coilgen.design.design import Design
from coilgen.design.stacking import Standing
from coilgen.exports.page._colour_map import ColourMap
from coilgen.exports.page._contours import Line
from coilgen.exports.page._map_lines import MapLines
from coilgen.exports.page._plot import Plot, Rows
from coilgen.exports.page._scale import Axis
from coilgen.exports.picture._bodies import bodies
from coilgen.exports.picture._section_bodies import solid_of
from coilgen.layout.seen import section_level
from coilgen.units import in_mm

SPAN = 300.0
"""Least value told apart, as a share of the largest: beyond it a field is small in any use."""
_CUT = {"core": "core", "magnet": "magnet, its field left out"}
"""Kinds of bodies that are shown, with their words."""


def charts(rows: Rows, design: Design) -> list[ColourMap]:
    """One map; the second axis is y for a plane along the board, z for one through the axis.

    The field next to the copper and in iron is many times that where it is used: so the scale is logarithmic.
    """
    up = "y" if "y" in rows[0] else "z"
    sizes = [abs(float(row["flux_density"])) for row in rows]
    least = max(sizes) / SPAN
    places = [(float(row["x"]), float(row[up])) for row in rows]
    return [
        ColourMap(
            title=f"Flux density in {_plane(design, up)}",
            says="Size of the flux density over a plane, on a logarithmic scale; lighter is more; with the "
            "outlines of winding, cores and magnet.",
            across=Axis(says="x", unit="m"),
            up=Axis(says=up, unit="m"),
            shown=Axis(says="|B|", unit="T", logarithmic=least > 0),
            cells=tuple((x, y, max(size, least)) for (x, y), size in zip(places, sizes, strict=True)),
            lines=tuple(_outlines(design)) if up == "z" else (),
        )
    ]


def _plane(design: Design, up: str) -> str:
    return f"the plane y = {in_mm(section_level(design))}" if up == "z" else "a plane"


def _outlines(design: Design) -> Iterator[MapLines]:
    """Of what the plane cuts: the board where it is wound, cores, the magnet."""
    level = section_level(design)
    wound = [(each.centre, each.design.winding.span / 2) for each in design.windings]
    wound = wound or [(0j, design.winding.span / 2)]
    board = Standing(bottom=-design.board.stackup.thickness, top=0.0)
    yield MapLines(
        kind="winding",
        says="board where it is wound",
        lines=tuple(
            _box(at.real - half, at.real + half, board) for at, half in wound if abs(at.imag - level) < half
        ),
    )
    for kind, says in _CUT.items():
        cut = [
            _box(*ends, body.standing)
            for body in bodies(design)
            if body.kind == kind
            for ends in solid_of(body, level)
        ]
        if cut:
            yield MapLines(kind=kind, says=says, lines=tuple(cut))


def _box(left: float, right: float, standing: Standing) -> Line:
    low, high = standing.bottom, standing.top
    return ((left, low), (right, low), (right, high), (left, high), (left, low))


PLOT = Plot(figure="flux_density_map", charts=charts)
