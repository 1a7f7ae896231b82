"""Size of the flux density over a plane."""

from coilgen.design.design import Design
from coilgen.exports.page._colour_map import ColourMap
from coilgen.exports.page._plot import Plot, Rows
from coilgen.exports.page._scale import Axis

SPAN = 300.0
"""Least value told apart, as a share of the largest: beyond it a field is small in any use."""


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
            title="Flux density in a plane",
            says="Size of the flux density over a plane, on a logarithmic scale; lighter is more.",
            across=Axis(says="x", unit="m"),
            up=Axis(says=up, unit="m"),
            shown=Axis(says="|B|", unit="T", logarithmic=least > 0),
            cells=tuple((x, y, max(size, least)) for (x, y), size in zip(places, sizes, strict=True)),
        )
    ]


PLOT = Plot(figure="flux_density_map", charts=charts)
