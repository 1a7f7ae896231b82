"""Pull on the target against the current."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="pull_against_current",
    title="Pull on the target against the current",
    says="Pull on the steel target against the coil's current.",
    across=Axis(says="current", unit="A"),
    up=Axis(says="pull", unit="N", from_zero=True),
    columns={"pull": "pull"},
)
