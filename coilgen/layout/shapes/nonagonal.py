"""Nonagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("nonagonal", 9)
