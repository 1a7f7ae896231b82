"""Resistance, inductance and quality against frequency, bare and with all that stands at the coil."""

from dataclasses import replace

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart, Curve
from coilgen.exports.page._impedance_chart import SHOWN, impedance_chart
from coilgen.exports.page._plot import Plot, Rows, column

_CURVES = {"": "in place", "_bare": "bare"}


def charts(rows: Rows, design: Design) -> list[Chart]:
    """A plot for each of the three."""
    return [
        impedance_chart(
            name,
            "in place",
            f"The {name} of the bare coil and with all that stands at it against frequency.",
            [_curve(rows, name + end, says) for end, says in _CURVES.items() if name + end in rows[0]],
        )
        for name in SHOWN
    ]


def _curve(rows: Rows, up: str, says: str) -> Curve:
    """Where a band reaches to 0 or below it ends at the curve's least value, as logarithms have no 0."""
    curve = column([row for row in rows if row[up] > 0], "frequency", up, says)
    least = min((value for _, value in curve.points), default=0.0)
    return replace(curve, band=tuple((x, low if low > 0 else least, high) for x, low, high in curve.band))


PLOT = Plot(figure="impedance_in_place", charts=charts)
