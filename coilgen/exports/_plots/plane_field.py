"""Size of the flux density over a plane."""

from coilgen.design import Design
from coilgen.exports._colour_map import ColourMap
from coilgen.exports._plot import Plot, Rows
from coilgen.exports._scale import Axis


def charts(rows: Rows, design: Design) -> list[ColourMap]:
    """One map; the second axis is y for a plane along the board, z for one through the axis."""
    up = "y" if "y" in rows[0] else "z"
    return [
        ColourMap(
            title="Flux density in a plane",
            says="Size of the flux density over a plane; lighter is more.",
            across=Axis(says="x", unit="m"),
            up=Axis(says=up, unit="m"),
            shown=Axis(says="|B|", unit="T"),
            cells=tuple((float(row["x"]), float(row[up]), abs(float(row["flux_density"]))) for row in rows),
        )
    ]


PLOT = Plot(figure="flux_density_map", charts=charts)
