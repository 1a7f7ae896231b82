"""Torque on the mover of an array against its angle."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="torque_against_angle",
    title="Torque on the mover against its angle",
    says="Torque of the drive's currents on the mover over one period, two poles.",
    across=Axis(says="angle", unit="rad"),
    up=Axis(says="torque", unit="N m", from_zero=True),
    columns={"torque": "with the drive's current"},
)
