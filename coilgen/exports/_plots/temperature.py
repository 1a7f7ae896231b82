"""Temperature after switching on."""

from coilgen.exports._plot import one_curve
from coilgen.exports._scale import Axis

PLOT = one_curve(
    figure="temperature_against_time",
    title="Temperature after switching on",
    says="The coil's temperature against time from switching on.",
    across=Axis(says="time", unit="s"),
    up=Axis(says="temperature", unit="degC"),
)
