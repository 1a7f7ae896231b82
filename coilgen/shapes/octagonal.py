"""Octagonal spirals."""

from coilgen.polygonal import polygonal

SHAPE = polygonal("octagonal", 8)
