"""Dodecagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("dodecagonal", 12)
