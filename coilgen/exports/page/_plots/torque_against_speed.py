"""Torque of the mover against its speed at the supply."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="torque_against_speed",
    title="Torque against speed",
    says="Torque on the mover against its speed at the drive's supply, without friction.",
    across=Axis(says="speed", unit="rad/s"),
    up=Axis(says="torque", unit="N m", from_zero=True),
    columns={"torque": "at the supply"},
)
