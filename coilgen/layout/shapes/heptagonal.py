"""Heptagonal spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("heptagonal", 7)
