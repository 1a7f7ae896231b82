"""Torque of the mover, its current and efficiency against its speed at the supply."""

from coilgen.exports.page._mover import against_speed
from coilgen.exports.page._plot import Plot

PLOT = Plot(figure="torque_against_speed", charts=against_speed("torque"))
