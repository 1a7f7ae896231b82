"""Pentagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("pentagonal", 5)
