"""Resistance, inductance and quality against frequency."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart
from coilgen.exports.page._plot import Plot, Rows, column
from coilgen.exports.page._scale import Axis

_SHOWN = (("resistance", "ohm", True), ("inductance", "H", False), ("quality", "1", True))


def charts(rows: Rows, design: Design) -> list[Chart]:
    """A plot for each of the three.

    Frequencies beyond resonance have no inductance and are left out.
    """
    return [
        Chart(
            title=f"{name.capitalize()} of the bare coil against frequency",
            says=f"The bare coil's {name} between its terminals against frequency.",
            across=Axis(says="frequency", unit="Hz", logarithmic=True),
            up=Axis(says=name, unit=unit, logarithmic=logarithmic),
            curves=(curve,),
        )
        for name, unit, logarithmic in _SHOWN
        if len((curve := column(_positive(rows, name), "frequency", name, name)).points) > 1
    ]


def _positive(rows: Rows, name: str) -> Rows:
    return [row for row in rows if row["frequency"] > 0 and (row[name] or 0) > 0]


PLOT = Plot(figure="impedance", charts=charts)
