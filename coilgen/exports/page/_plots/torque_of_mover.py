"""Torque on the mover of an array against its angle, with the drive's current and per ampere."""

from coilgen.exports.page._mover import against_place
from coilgen.exports.page._plot import Plot

PLOT = Plot(figure="torque_against_angle", charts=against_place("torque", "angle"))
