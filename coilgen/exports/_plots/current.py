"""Current after switching on."""

from coilgen.exports._plot import one_curve
from coilgen.exports._scale import Axis

PLOT = one_curve(
    figure="current_against_time",
    title="Current after switching on",
    says="The coil's current against time from switching on.",
    across=Axis(says="time", unit="s"),
    up=Axis(says="current", unit="A"),
)
