"""Thrust of the mover against its speed at the supply."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="force_against_speed",
    title="Thrust against speed",
    says="Thrust on the mover against its speed at the drive's supply, without friction.",
    across=Axis(says="speed", unit="m/s"),
    up=Axis(says="force", unit="N", from_zero=True),
    columns={"force": "at the supply"},
)
