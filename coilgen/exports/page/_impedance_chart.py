"""Plots of an impedance against frequency: resistance, inductance and quality, each by itself."""

from collections.abc import Sequence

from coilgen.exports.page._chart import Chart, Curve
from coilgen.exports.page._scale import Axis

SHOWN = {"resistance": ("ohm", True), "inductance": ("H", False), "quality": ("1", True)}
"""By column: its unit, and whether its scale is logarithmic."""


def impedance_chart(name: str, title: str, says: str, curves: Sequence[Curve]) -> Chart:
    """One of them, of a column's name."""
    unit, logarithmic = SHOWN[name]
    return Chart(
        title=f"{name.capitalize()} {title} against frequency",
        says=says,
        across=Axis(says="frequency", unit="Hz", logarithmic=True),
        up=Axis(says=name, unit=unit, logarithmic=logarithmic),
        curves=tuple(curves),
    )
