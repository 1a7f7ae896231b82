"""Decagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("decagonal", 10)
