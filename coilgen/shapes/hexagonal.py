"""Hexagonal spirals, flats facing north and south."""

from coilgen.polygonal import polygonal

SHAPE = polygonal("hexagonal", 6)
