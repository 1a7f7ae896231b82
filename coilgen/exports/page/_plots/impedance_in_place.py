"""Resistance, inductance and quality against frequency, bare and with all that stands at the coil."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart, Curve
from coilgen.exports.page._plot import Plot, Rows, column
from coilgen.exports.page._scale import Axis

_SHOWN = (("resistance", "ohm", True), ("inductance", "H", False), ("quality", "1", True))
_CURVES = {"": "in place", "_bare": "bare"}


def charts(rows: Rows, design: Design) -> list[Chart]:
    """A plot for each of the three."""
    return [
        Chart(
            title=f"{name.capitalize()} in place against frequency",
            says=f"The {name} of the bare coil and with all that stands at it against frequency.",
            across=Axis(says="frequency", unit="Hz", logarithmic=True),
            up=Axis(says=name, unit=unit, logarithmic=logarithmic),
            curves=tuple(
                _curve(rows, name + end, says) for end, says in _CURVES.items() if name + end in rows[0]
            ),
        )
        for name, unit, logarithmic in _SHOWN
    ]


def _curve(rows: Rows, up: str, says: str) -> Curve:
    return column([row for row in rows if row[up] > 0], "frequency", up, says)


PLOT = Plot(figure="impedance_in_place", charts=charts)
