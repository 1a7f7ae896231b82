"""Current after switching on."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="current_against_time",
    title="Current after switching on",
    says="The hot coil's current against time from switching on.",
    across=Axis(says="time", unit="s"),
    up=Axis(says="current", unit="A", from_zero=True),
    columns={"current": "current"},
)
