"""Triangular spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("triangular", 3)
