"""Hexagonal spirals, flats facing north and south."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("hexagonal", 6)
