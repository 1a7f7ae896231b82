"""Temperature after switching on."""

from collections.abc import Sequence
from dataclasses import replace

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart, Curve
from coilgen.exports.page._plot import Plot, Rows, column
from coilgen.exports.page._scale import Axis

_SPAN = 10.0
"""Of the scale at least, K: a coil that warms by a tenth of a kelvin is not drawn as one that gets hot."""
_NEAR = 0.6
"""Of a limit in degC, from which on it is drawn."""


def charts(rows: Rows, design: Design) -> list[Chart]:
    """One plot, with the limit of the board's material, or the user's own, once the coil comes near it."""
    warming = column(rows, "time", "temperature", "hottest copper")
    drawn = Chart(
        title="Temperature after switching on",
        says="The hottest copper's temperature against time from switching on.",
        across=Axis(says="time", unit="s"),
        up=Axis(says="temperature", unit="degC", least_span=_SPAN),
        curves=(warming,),
    )
    limit, whose = _limit(design)
    points = warming.points
    if max(temperature for _, temperature in points) < _NEAR * limit:
        return [drawn]
    return [replace(drawn, level=_level(points, limit, f"{whose}, {limit:g} °C"))]


def _limit(design: Design) -> tuple[float, str]:
    stackup, own = design.board.stackup, design.mounting.limit_temperature
    lasting = stackup.laminate.limit_temperature, f"lasting use of {stackup.material}"
    return min(lasting, (own, "your limit")) if own is not None else lasting


def _level(points: Sequence[tuple[float, float]], limit: float, says: str) -> Curve:
    return Curve(says=says, points=((points[0][0], limit), (points[-1][0], limit)))


PLOT = Plot(figure="temperature_against_time", charts=charts)
