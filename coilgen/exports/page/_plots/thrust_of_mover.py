"""Thrust on the mover of an array against its position."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="force_against_position",
    title="Thrust on the mover against its position",
    says="Thrust of the drive's currents on the mover over one period, two poles, about the array's middle.",
    across=Axis(says="position", unit="m"),
    up=Axis(says="force", unit="N", from_zero=True),
    columns={"force": "with the drive's current"},
)
