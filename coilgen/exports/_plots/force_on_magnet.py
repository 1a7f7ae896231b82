"""Force on the magnet."""

from coilgen.exports._plot import one_curve
from coilgen.exports._scale import Axis

PLOT = one_curve(
    figure="force_against_gap",
    title="Force on the magnet",
    says="Force on the magnet against its gap to the coil.",
    across=Axis(says="gap", unit="m"),
    up=Axis(says="force", unit="N"),
)
