"""Resistance, inductance and quality against frequency."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart
from coilgen.exports.page._impedance_chart import SHOWN, impedance_chart
from coilgen.exports.page._plot import Plot, Rows, column


def charts(rows: Rows, design: Design) -> list[Chart]:
    """A plot for each of the three.

    Frequencies beyond resonance have no inductance and are left out.
    """
    return [
        impedance_chart(
            name,
            "of the bare coil",
            f"The bare coil's {name} between its terminals against frequency.",
            [curve],
        )
        for name in SHOWN
        if len((curve := column(_positive(rows, name), "frequency", name, name)).points) > 1
    ]


def _positive(rows: Rows, name: str) -> Rows:
    return [row for row in rows if row["frequency"] > 0 and (row[name] or 0) > 0]


PLOT = Plot(figure="impedance", charts=charts, pointed="self_resonance")
