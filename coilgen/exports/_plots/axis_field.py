"""Flux density on the axis, above and below the board."""

from coilgen.exports._chart import Chart
from coilgen.exports._plot import Plot, Rows, column
from coilgen.exports._scale import Axis


def charts(rows: Rows) -> list[Chart]:
    """One plot with a curve for each side."""
    sides = list(dict.fromkeys(str(row["side"]) for row in rows))
    words = {"top": "above the top face", "bottom": "below the bottom face"}
    return [
        Chart(
            title="Flux density on the axis",
            says="Flux density on the coil's axis against distance from the board's faces.",
            across=Axis(says="distance from the face", unit="m"),
            up=Axis(says="flux density", unit="T"),
            curves=tuple(
                column(
                    [row for row in rows if row["side"] == side],
                    "height",
                    "flux_density",
                    words.get(side, side),
                )
                for side in sides
            ),
        )
    ]


PLOT = Plot(figure="flux_density", charts=charts)
