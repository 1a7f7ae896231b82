"""Thrust on the mover of an array against its position, with the drive's current and per ampere."""

from coilgen.exports.page._mover import against_place
from coilgen.exports.page._plot import Plot

PLOT = Plot(figure="force_against_position", charts=against_place("force", "position"))
