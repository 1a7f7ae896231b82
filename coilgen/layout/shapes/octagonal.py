"""Octagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("octagonal", 8)
