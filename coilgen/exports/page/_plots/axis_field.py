"""Flux density along the axis, above and below the board."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart
from coilgen.exports.page._plot import Plot, Rows, column
from coilgen.exports.page._scale import Axis


def charts(rows: Rows, design: Design) -> list[Chart]:
    """One plot with a curve for each side."""
    words = {"above": "above the top", "below": "below the bottom"}
    return [
        Chart(
            title="Flux density on the axis",
            says="Flux density along the coil's axis against distance from the outermost face of each side.",
            across=Axis(says="distance from the face", unit="m"),
            up=Axis(says="flux density", unit="T"),
            curves=tuple(column(rows, "height", side, says) for side, says in words.items()),
        )
    ]


PLOT = Plot(figure="axis_flux_density", charts=charts)
