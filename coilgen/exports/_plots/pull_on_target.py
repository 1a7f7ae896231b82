"""Pull on the target."""

from coilgen.exports._plot import one_curve
from coilgen.exports._scale import Axis

PLOT = one_curve(
    figure="pull_against_gap",
    title="Pull on the target",
    says="Pull on the steel target against its gap to the coil.",
    across=Axis(says="gap", unit="m"),
    up=Axis(says="pull", unit="N"),
)
